// Random worlds: helpers who record everything there is, with wrong clocks and partial syncs. What must hold of any of
// them: one set of events is one state, in whatever order it came; nothing is lost.
#include <random>
#include <sstream>

#include "core/book/fold_all.h"
#include "core/read/due_board.h"
#include "core/read/rack_map.h"
#include "tests/support/catch.h"
#include "tests/support/property.h"
#include "tests/support/world.h"

using namespace rackside::core;
using namespace rackside::tests;

namespace {

/// One thing that happens. Plain numbers, so that a failing list of steps shrinks and can be typed in again.
struct Deed {
  int what = 0;
  int who = 0;
  int thing = 0;
  int target = 0;
  int detail = 0;
};

std::ostream& operator<<(std::ostream& out, const Deed& step) {
  return out << "{" << step.what << "," << step.who << "," << step.thing << "," << step.target << "," << step.detail
             << "}";
}

constexpr int kWhats = 20;

/// Plays steps on a world of a hub, a second keeper and three helpers.
class Play {
 public:
  Play() {
    for (const char* name : {"a", "b", "c"}) everybody_.push_back(&world.device(name));
    everybody_.push_back(&world.device("keeper", Role::keeper));
    everybody_.push_back(&world.hub());
  }

  /// The hub looks at the day's list now and then, so that rows of it are there for the fold to throw away.
  void run(const std::vector<Deed>& steps) {
    for (std::size_t i = 0; i < steps.size(); ++i) {
      play(steps[i]);
      if (i % 4 != 0) continue;
      Reader reader(world.hub().book());
      due_board(reader, care_settings(reader), world.now, 1);
      const RackMap racks(reader, 1);
    }
  }

  World world;
  std::vector<Device*> everybody() { return everybody_; }
  static std::string place(int i) { return World::place("place " + std::to_string(i % 3)); }
  std::size_t recorded() const { return events_.size(); }
  const std::vector<EventRef>& events() const { return events_; }

 private:
  static std::string animal(int i) { return World::animal("animal " + std::to_string(i % 3)); }
  Device& who(const Deed& step) { return *everybody_[static_cast<std::size_t>(step.who) % everybody_.size()]; }

  std::vector<Answer> answers(const Deed& step) {
    if (events_.empty() || step.target % 2 == 0) return {};
    return {{recent(step.target), static_cast<Relation>(1 + step.detail % 4)}};
  }
  EventRef recent(int back) {
    return events_[events_.size() - 1 - static_cast<std::size_t>(back / 2) % std::min<std::size_t>(events_.size(), 8)];
  }

  void keep(const Deed& step, Kind kind, const std::vector<std::string>& of, Entry entry) {
    events_.push_back(world.record(who(step), kind, of, std::move(entry)));
  }

  void seen(const Deed& step) {
    static constexpr std::array kKinds = {
        Kind::fed,     Kind::refused, Kind::shed,   Kind::laid,         Kind::offered, Kind::leftover,
        Kind::ate,     Kind::treated, Kind::opaque, Kind::regurgitated, Kind::cleared, Kind::sold,
        Kind::hatched, Kind::gravid,  Kind::says,   Kind::weighed,      Kind::ill,     Kind::well};
    const Kind kind = kKinds[static_cast<std::size_t>(step.detail) % kKinds.size()];
    Entry entry{.re = answers(step)};
    if (kind == Kind::weighed) entry.own = Value::Object{{"grams_tenths", 1000 + 10 * step.target}};
    if (kind == Kind::laid) entry.own = Value::Object{{"good", step.detail}, {"slugs", step.target % 2}};
    if (kind == Kind::hatched) entry.own = Value::Object{{step.detail % 2 ? "egg" : "count", 1 + step.target % 3}};
    if (kind == Kind::says)
      entry.own = Value::Object{
          {"basis", "seller"}, {"parent", step.detail % 3 ? "sire" : "dam"}, {"animal", animal(step.target)}};
    if (kind == Kind::shed && step.target % 3 == 0) entry.own = Value::Object{{"stuck", "tail"}};
    if (step.detail % 7 == 3) entry.said = SaidTime{.minutes_ago = step.target * 13};
    const bool scan = step.target % 3 == 1 && info_of(kind).rebinding != Rebinding::never;
    if (!scan) return keep(step, kind, {animal(step.thing)}, entry);
    entry.place = place(step.thing);
    if (step.detail % 2 == 0) entry.shown = {animal(step.target)};
    keep(step, kind, {}, entry);
  }

  void moves(const Deed& step) {
    static constexpr std::array kKinds = {Kind::moved,   Kind::moved, Kind::paired, Kind::separated,
                                          Kind::swapped, Kind::died,  Kind::left};
    const Kind kind = kKinds[static_cast<std::size_t>(step.detail) % kKinds.size()];
    Entry entry{.re = answers(step)};
    std::vector<std::string> of{animal(step.thing)};
    if (kind == Kind::moved || kind == Kind::paired) entry.place = place(step.target);
    if (kind == Kind::paired || kind == Kind::swapped) of.push_back(animal(step.thing + 1));
    if (kind == Kind::swapped)
      entry.own = Value::Object{{"to", Value::Array{place(step.target), place(step.target + 1)}}};
    keep(step, kind, of, entry);
  }

  void edits_place(const Deed& step) {
    Value::Object set;
    if (step.target % 3 == 0) set = {{"rack", place(step.target / 3)}};
    if (step.target % 3 == 1) set = {{"position", step.target}};
    if (step.target % 3 == 2) set = {{"short", "A-" + std::to_string(step.target)}};
    keep(step, Kind::edited, {place(step.thing)}, {.re = answers(step), .own = Value::Object{{"set", set}}});
  }

  void edits(const Deed& step) {
    if (step.detail % 2 == 1) return edits_place(step);
    static constexpr std::array kFields = {"sex", "prey", "name"};
    const char* field = kFields[static_cast<std::size_t>(step.target) % 3];
    const Value value = step.target % 3 == 0 ? Value(step.detail % 3 ? "male" : "female") : Value(step.detail % 3);
    Entry entry{.re = answers(step), .own = Value::Object{{"set", Value::Object{{field, value}}}}};
    keep(step, step.detail % 5 == 0 ? Kind::animal : Kind::edited, {animal(step.thing)}, entry);
  }

  void administers(const Deed& step) {
    Device& keeper = *everybody_[step.who % 2 == 0 ? 3 : 4];
    const auto name = [&](int i) { return to_hex(everybody_[static_cast<std::size_t>(i) % 3]->book().device()); };
    switch (step.detail % 5) {
      case 0:
        world.record(
            keeper, Kind::set, {},
            {.own = Value::Object{{"key", "night_start"}, {"value", 600 + step.target * 30}, {"from", step.thing}}});
        break;
      case 1:
        world.record(keeper, Kind::coded, {animal(step.thing)}, {.own = Value::Object{{"code", animal(step.target)}}});
        break;
      case 2: {
        Entry entry{.own = Value::Object{{"device", name(step.target)}}};
        if (!events_.empty()) entry.re = {{recent(step.target), Relation::saw}};
        world.record(world.hub(), Kind::retired, {}, entry);
        break;
      }
      case 3:
        world.record(world.hub(), Kind::admitted, {},
                     {.own = Value::Object{{"device", name(step.target)},
                                           {"role", step.thing % 2 ? "helper" : "viewer"},
                                           {"from", step.thing * 2}}});
        break;
      default:
        world.record(keeper, Kind::coded, {place(step.thing)}, {.own = Value::Object{{"code", place(step.target)}}});
    }
  }

  void settles(const Deed& step) {
    static constexpr std::array kRules = {"feeding",    "feeding",  "withdrawal", "whose",    "whereabouts", "field",
                                          "two-in-tub", "hatching", "gone",       "ancestry", "male-eggs",   "unread"};
    static constexpr std::array kAnswers = {"once", "twice", "ate", "gone", "stands", "open", "nobody"};
    if (events_.empty()) return;
    std::vector<EventRef> members;
    for (int i = 0; i <= step.thing % 3; ++i) members.push_back(recent(step.target + 2 * i));
    events_.push_back(world.settles(who(step), kRules[static_cast<std::size_t>(step.detail) % kRules.size()], members,
                                    kAnswers[static_cast<std::size_t>(step.detail + step.target) % 7]));
  }

  void judges(const Deed& step, Kind kind) {
    if (!events_.empty()) keep(step, kind, {}, {.re = {{recent(step.target), Relation::saw}}});
  }

  void play(const Deed& step) {
    switch (step.what % kWhats) {
      case 0:
      case 1:
      case 2:
      case 3:
      case 4:
      case 5:
        return seen(step);
      case 6:
      case 7:
      case 8:
        return moves(step);
      case 9:
        return edits(step);
      case 10:
      case 11:
        return judges(step, Kind::voided);
      case 12:
        return judges(step, Kind::restored);
      case 13:
      case 14:
        return settles(step);
      case 15:
        return administers(step);
      case 16:
        world.pass(step.detail * 7 * kMinute);
        return;
      case 17:
        world.pass(step.detail * 11 * kHour);
        return;
      case 18:
        who(step).clock_error_ms = (step.detail - 4) * 9 * kHour * (step.who % 5 != 4);
        who(step).run += static_cast<std::uint64_t>(step.target % 2);
        return;
      default:
        world.sync(who(step), *everybody_[static_cast<std::size_t>(step.who + 1 + step.target % 4) % 5]);
    }
  }

  std::vector<Device*> everybody_;
  std::vector<EventRef> events_;
};

struct NumberWriter {
  std::ostream& out;
  void operator()(const char* name, const std::optional<int>& number) const {
    out << " " << name << " " << (number ? std::to_string(*number) : "-");
  }
  void operator()(const char* name, int number) const { out << " " << name << " " << number; }
};

std::string text_of(const BoardRow& row) {
  std::ostringstream out;
  out << row.animal << " " << packed_texts(row);
  visit_numbers(row.facts, NumberWriter{out});
  return out.str();
}

/// What the day's list kept must be what it would read now.
std::string stale_board(Book& book, Instant now) {
  Reader reader(book);
  const CareSettings care = care_settings(reader);
  std::ostringstream out;
  for (const BoardRow& kept : due_board(reader, care, now, 1)) {
    const std::string fresh = text_of(work_out(reader, care, kept.animal, now));
    if (text_of(kept) != fresh) out << "the day's list kept " << text_of(kept) << ", but now it is " << fresh << "\n";
  }
  return out.str();
}

/// So must the map of all places.
std::string stale_places(Book& book) {
  Reader reader(book);
  const RackMap kept(reader, 1);
  std::ostringstream out;
  for (int i = 0; i < 3; ++i) {
    const auto place = reader.thing_of(Play::place(i));
    if (!place) continue;
    const auto rack = reader.rack_of(*place);
    const std::int64_t position = std::atoll(reader.field(*place, "position").c_str());
    const RackMap::Spot spot = kept.spot_of(*place);
    if (kept.rack_of(*place) != rack || spot.position != position || spot.label != reader.label(*place))
      out << "the map kept place " << *place << " at " << spot.position << " as " << spot.label << ", but it is at "
          << position << " as " << reader.label(*place) << ", or in another rack\n";
  }
  return out.str();
}

/// A fold from nothing that is cut off every few events, and goes on from what it wrote of itself, comes to the state
/// that the book had.
std::string folded_in_steps(Book& book, std::size_t events) {
  const Digest before = book.digest();
  std::optional<FoldMark> mark;
  while (!mark || mark->pass != FoldMark::Pass::done) {
    book.write([&] {
      FoldAll fold(book.log(), mark);
      fold.go_on(events);
      mark = parse_fold_mark(to_text(fold.mark()));
      if (!mark || *mark != fold.mark()) throw Error(Fault::internal, "a mark reads back otherwise");
    });
  }
  return book.digest() == before ? "" : "folded " + std::to_string(events) + " events at a time it differs\n";
}

std::vector<Deed> random_steps(std::mt19937& random, std::size_t count) {
  std::vector<Deed> steps(count);
  for (Deed& step : steps) {
    const auto below = [&](unsigned n) { return static_cast<int>(random() % n); };
    step = {below(kWhats), below(10), below(6), below(12), below(12)};
  }
  return steps;
}

/// What is wrong with a world after these steps; empty when nothing is.
std::string trouble(const std::vector<Deed>& steps, unsigned seed) {
  Play play;
  play.run(steps);
  std::ostringstream out;
  for (Device* device : play.everybody()) {
    for (const std::string& problem : device->book().check().problems)
      out << device->name() << " alone: " << problem << "\n";
  }
  out << stale_board(play.world.hub().book(), play.world.now) << stale_places(play.world.hub().book());
  out << play.world.arrivals_differ(play.everybody(), 3, seed);
  play.world.sync_all();
  const Digest hub = play.world.hub().book().digest();
  for (Device* device : play.everybody()) {
    if (device->book().digest() != hub) out << device->name() << " differs from the hub after they synced\n";
    if (const auto problems = device->book().check().problems; !problems.empty())
      out << device->name() << " synced: " << problems.front() << "\n";
    out << folded_in_steps(device->book(), 1 + seed % 9);
  }
  out << stale_board(play.world.hub().book(), play.world.now) << stale_places(play.world.hub().book());
  for (const EventRef& ref : play.events()) {
    const Account kept = account(play.world.hub().book(), ref);
    const bool judged = info_of(kept.kind).kind_class == KindClass::judgement || is_void(play.world.hub().book(), ref);
    const bool shown = judged || !is_read(play.world.hub().book(), ref) || !kept.event->place.empty() ||
                       !subjects(play.world.hub().book(), ref).empty();
    if (!shown) out << "lost: " << to_text(ref) << " is live and belongs to nobody\n";
  }
  return out.str();
}

/// Leaves out whatever can be left out while the trouble stays: halves, quarters, then single steps.
std::vector<Deed> shrunk(std::vector<Deed> steps, unsigned seed) {
  for (std::size_t piece = steps.size() / 2; piece >= 1; piece /= 2) {
    for (std::size_t at = 0; at + piece <= steps.size();) {
      std::vector<Deed> fewer = steps;
      fewer.erase(fewer.begin() + static_cast<std::ptrdiff_t>(at),
                  fewer.begin() + static_cast<std::ptrdiff_t>(at + piece));
      if (trouble(fewer, seed).empty()) {
        at += piece;
      } else {
        steps = std::move(fewer);
      }
    }
  }
  return steps;
}

}  // namespace

TEST_CASE("any order, duplication and split of arrival gives the state of a fold from nothing") {
  const char* chosen = std::getenv("RACKSIDE_SEED");
  const char* count = std::getenv("RACKSIDE_WORLDS");
  const unsigned first = chosen ? static_cast<unsigned>(std::stoul(chosen)) : 1;
  const unsigned worlds = count ? static_cast<unsigned>(std::stoul(count)) : 60;
  std::cout << "random worlds, seeds " << first << " to " << first + worlds - 1 << std::endl;
  for (unsigned seed = first; seed < first + worlds; ++seed) {
    std::mt19937 random(seed);
    const std::vector<Deed> steps = random_steps(random, 10 + seed % 50);
    if (trouble(steps, seed).empty()) continue;
    const std::vector<Deed> fewer = shrunk(steps, seed);
    std::ostringstream script;
    for (const Deed& step : fewer) script << step << ", ";
    FAIL("RACKSIDE_SEED=" << seed << " RACKSIDE_WORLDS=1 repeats it; the least script: {" << script.str() << "}\n"
                          << trouble(fewer, seed));
  }
}
