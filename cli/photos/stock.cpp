#include "cli/photos/stock.h"

#include <algorithm>
#include <set>

namespace rackside::cli {
namespace {

using core::Lodging;
using core::Named;
using core::Reader;
using core::Thing;

class Taker {
 public:
  Taker(Reader& reader, core::Instant now) : reader_(reader), now_(now) {}

  StockTake run(const std::vector<Walk::Seen>& seen) {
    for (const Walk::Seen& one : seen) sort_in(one);
    for (const Thing rack : racks_) compare(rack);
    return std::move(out_);
  }

 private:
  void sort_in(const Walk::Seen& one) {
    const auto thing = reader_.thing_of(one.code);
    if (!thing) {
      out_.unknown.push_back(one.code);
      return;
    }
    seen_.insert(*thing);
    const Named named = reader_.named(*thing);
    if (named.kind == "place") walked(*thing);
    if (named.kind == "animal") judge_card(named, one);
  }

  void walked(Thing place) {
    const auto rack = reader_.rack_of(place);
    if (rack && std::find(racks_.begin(), racks_.end(), *rack) == racks_.end()) racks_.push_back(*rack);
  }

  /// The place label that hung beside the card most often; alone, a card says only that it was there.
  void judge_card(const Named& animal, const Walk::Seen& one) {
    const auto lodgings = reader_.lodgings_of(animal.thing, now_);
    for (const Lodging& lodging : lodgings) {
      if (const auto rack = reader_.rack_of(lodging.place)) with_cards_.insert(*rack);
    }
    const auto most = std::max_element(one.beside.begin(), one.beside.end(),
                                       [](const auto& a, const auto& b) { return a.second < b.second; });
    const auto place = most == one.beside.end() ? std::nullopt : reader_.thing_of(most->first);
    const bool there = !place || std::any_of(lodgings.begin(), lodgings.end(),
                                             [&](const Lodging& lodging) { return lodging.place == *place; });
    if (there) {
      for (const Lodging& lodging : lodgings) walked(lodging.place);
      out_.found.push_back(animal);
      return;
    }
    StockTake::Misplaced misplaced{animal, reader_.named(*place), {}};
    for (const Lodging& lodging : lodgings) misplaced.book.push_back(reader_.named(lodging.place));
    out_.misplaced.push_back(std::move(misplaced));
  }

  void compare(Thing rack) {
    out_.racks.push_back(reader_.named(rack));
    const bool cards = with_cards_.contains(rack);
    if (!cards) out_.without_cards.push_back(reader_.named(rack));
    for (const Thing place : reader_.places_of(rack)) {
      if (!seen_.contains(place)) out_.unseen_places.push_back(reader_.named(place));
      for (const Lodging& lodging : reader_.found_at(place, now_)) {
        if (cards && !seen_.contains(lodging.animal))
          out_.missing.push_back({reader_.named(lodging.animal), reader_.named(place)});
      }
    }
  }

  Reader& reader_;
  core::Instant now_;
  StockTake out_;
  std::set<Thing> seen_;
  std::set<Thing> with_cards_;
  std::vector<Thing> racks_;
};

}  // namespace

StockTake take_stock(Reader& reader, const std::vector<Walk::Seen>& seen, core::Instant now) {
  return Taker(reader, now).run(seen);
}

}  // namespace rackside::cli
