#include "core/read/whereabouts.h"

#include <algorithm>
#include <utility>

namespace rackside::core {

Whereabouts::Whereabouts(Reader& reader, Instant now, std::size_t expected) {
  constexpr std::size_t kVisitorsOf = 16;  // one of so many is on a visit as well
  all_.reserve(expected + expected / kVisitorsOf);
  for (const char* sql : {"SELECT animal, role, place, since, partner FROM stay WHERE until IS NULL AND since <= ?",
                          "SELECT animal, role, place, since, partner FROM stay WHERE until > ? AND since <= ?1"}) {
    auto query = reader.book().database().prepare(sql);
    query.bind(now);
    while (query.step()) {
      Place one{.animal = query.integer(0), .place = query.integer(2)};
      one.role = static_cast<Stay::Role>(query.integer(1));
      one.since = query.integer(3);
      if (!query.null(4)) one.partner = query.integer(4);
      all_.push_back(one);
    }
  }
  sort_places();
  count_lodgers();
}

/// By animal; a visit before its home, as Reader::lodgings_of has it. Things are numbered without gaps, so they are
/// counted out rather than compared.
void Whereabouts::sort_places() {
  for (const Place& one : all_) ++spans_[one.animal].count;
  std::uint32_t first = 0;
  for (Thing animal = 0; animal < spans_.end(); ++animal) {
    Span& span = spans_[animal];
    span.first = first;
    first += std::exchange(span.count, 0);
  }
  std::vector<Place> sorted(all_.size());
  for (const Place& one : all_) {
    Span& span = spans_[one.animal];
    sorted[span.first + span.count++] = one;
  }
  all_ = std::move(sorted);
  for (Thing animal = 0; animal < spans_.end(); ++animal) {
    const Span span = spans_.of(animal);
    if (span.count < 2) continue;
    std::sort(all_.begin() + span.first, all_.begin() + span.first + span.count,
              [](const Place& a, const Place& b) { return std::pair(a.role, a.since) > std::pair(b.role, b.since); });
  }
}

void Whereabouts::count_lodgers() {
  for (std::size_t first = 0; first < all_.size();) {
    std::size_t end = first + 1;
    while (end < all_.size() && all_[end].animal == all_[first].animal) ++end;
    const auto lodgings = of(all_[first].animal);
    for (const Place& one : lodgings) ++(one.role == Stay::Role::visiting ? visitors_ : homes_)[one.place];
    // Away on a visit: its home is empty of it.
    if (lodgings.front().role == Stay::Role::visiting) {
      for (const Place& one : lodgings) {
        if (one.role == Stay::Role::home && one.place != lodgings.front().place) --homes_[one.place];
      }
    }
    first = end;
  }
}

std::span<const Whereabouts::Place> Whereabouts::of(Thing animal) const {
  const Span span = spans_.of(animal);
  return std::span(all_).subspan(span.first, span.count);
}

bool Whereabouts::is_crowded(Thing place) const {
  return homes_.of(place) > 1 && visitors_.of(place) == 0;
}

void Whereabouts::sort_found() const {
  found_.reserve(all_.size());
  for (std::size_t i = 0; i < all_.size(); ++i) {
    if (i == 0 || all_[i - 1].animal != all_[i].animal) found_.emplace_back(all_[i].place, all_[i].animal);
  }
  std::sort(found_.begin(), found_.end());
}

std::vector<Thing> Whereabouts::found_at(Thing place) const {
  if (found_.empty()) sort_found();
  std::vector<Thing> out;
  for (auto one = std::lower_bound(found_.begin(), found_.end(), std::pair(place, Thing{0}));
       one != found_.end() && one->first == place; ++one)
    out.push_back(one->second);
  return out;
}

}  // namespace rackside::core
