#include "tests/simulation/season.h"

#include <algorithm>
#include <numeric>

#include "core/read/reader.h"

namespace rackside::simulation {

using namespace core;

namespace {

constexpr int kHourMinutes = 60;
constexpr int kDayMinutes = 24 * kHourMinutes;
constexpr int kDays = 35;
constexpr int kRacks = 3;
constexpr int kAnimals = 36;
constexpr int kTubs = kAnimals + 4;
constexpr int kHelpers = 3;  // devices 2, 3 and 4
/// Answers as the player reads them: "again", or none where entry asks nothing.
constexpr int kAgain = 2;
constexpr int kPlain = 1;

struct Planned {
  int minute = 0;
  Action action;
};

/// Minutes count from 18:00 UTC of the first day, which is evening in the room.
class Season {
 public:
  explicit Season(std::uint64_t seed) : dice_(seed) {}

  Script run() {
    script_.setup = {{Sort::hub, Sort::laptop, Sort::phone, Sort::phone, Sort::phone}, kAnimals, kTubs, kRacks, false};
    for (int animal = 0; animal < kAnimals; ++animal) in_tub_[animal] = animal;
    for (int day = 0; day < kDays; ++day) {
      const int evening = day * kDayMinutes;
      for (int helper = 0; helper < kHelpers; ++helper) shift(2 + helper, evening + below(60), day);
      breed(2 + below(kHelpers), evening + 150, day);
      morning(2 + below(kHelpers), evening + 14 * kHourMinutes);
      if (day % 7 == 3) desk(evening + 16 * kHourMinutes);
    }
    std::stable_sort(plan_.begin(), plan_.end(),
                     [](const Planned& a, const Planned& b) { return a.minute < b.minute; });
    int now = 0;
    for (const Planned& planned : plan_) {
      if (planned.minute > now) script_.actions.push_back({.what = What::pass, .a = planned.minute - now});
      now = std::max(now, planned.minute);
      script_.actions.push_back(planned.action);
    }
    return std::move(script_);
  }

 private:
  int below(int n) { return dice_.below(n); }
  bool percent(int chance) { return dice_.percent(chance); }
  void at(int minute, Action action) { plan_.push_back({minute, std::move(action)}); }
  void entry(int minute, int who, int thing, bool by_place, const std::string& text, int manner = kPlain) {
    at(minute, {What::entry, who, thing, by_place ? 1 : 0, manner, text});
  }
  void sync(int minute, int who, int roughness) { at(minute, {What::sync, who, 0, roughness, below(1 << 20), ""}); }

  /// One helper's evening in one rack. He syncs at the desk before and after; on the way the Wi-Fi mostly fails.
  void shift(int who, int minute, int day) {
    sync(minute - 10, who, 5);
    const int rack = who - 2;
    const bool feeding = day % 4 == 0;
    for (int tub = rack; tub < kTubs; tub += kRacks) {
      if (!in_tub_.contains(tub)) continue;
      const int animal = in_tub_.at(tub);
      minute += 1 + below(2);
      const bool in_company = pair_ && (animal == pair_->first || animal == pair_->second);
      if (feeding && !in_company) feed(who, tub, minute);
      if (percent(30)) entry(minute + 1, who, tub, true, percent(50) ? "cleaned" : "watered");
      if (percent(3)) entry(minute + 1, who, animal, false, percent(15) ? "shed stuck tail" : "shed");
      if (percent(3)) entry(minute + 1, who, animal, false, "opaque");
      if (day % 28 == rack) entry(minute + 1, who, animal, false, "weighed " + std::to_string(300 + below(400)));
      if (!in_company && percent(1)) move(who, animal, tub, minute + 1);
      if (tub % (5 * kRacks) == rack) sync(minute, who, 60);
    }
    // Where two walks meet, a tub is served by both now and then.
    if (feeding && percent(35)) feed_again_unawares(who, minute + 3);
    if (percent(85)) sync(minute + 30, who, 10);
    if (percent(85)) sync(minute + 45, who, 10);
  }

  void feed_again_unawares(int who, int minute) {
    const int tub = below(kTubs);
    const bool visited =
        pair_ && in_tub_.contains(tub) && (in_tub_.at(tub) == pair_->first || in_tub_.at(tub) == pair_->second);
    if (in_tub_.contains(tub) && !visited) entry(minute, who, tub, true, "fed small-rat");
  }

  /// To an empty tub.
  void move(int who, int animal, int from, int minute) {
    for (int tub = below(kTubs);; tub = (tub + 1) % kTubs) {
      if (in_tub_.contains(tub)) continue;
      entry(minute, who, animal, false, "moved @T" + std::to_string(tub));
      in_tub_.erase(from);
      in_tub_[tub] = animal;
      return;
    }
  }

  void feed(int who, int tub, int minute) {
    const int course = below(100);
    if (course < 68) {
      entry(minute, who, tub, true, "fed small-rat");
      if (percent(8)) entry(minute + 20, who, tub, true, "fed mouse", kAgain);  // a second serving, said so
    } else if (course < 80) {
      entry(minute, who, tub, true, "refused");
      if (percent(30)) entry(minute + 45, who, tub, true, "fed small-rat");  // took it on the second offer
    } else {
      entry(minute, who, tub, true, "offered small-rat");
      offered_.push_back(tub);
    }
  }

  /// What was left is told one by one, and may be offered to the same animal once more; the rest ate.
  void morning(int who, int minute) {
    sync(minute - 10, who, 5);
    for (const int tub : offered_) {
      if (percent(35)) {
        entry(minute, who, tub, true, "leftover");
        if (percent(15)) entry(minute + 60, who, tub, true, "offered small-rat");
      }
      minute += 1;
    }
    if (!offered_.empty()) {
      for (int rack = 0; rack < kRacks; ++rack) at(minute + 5, {What::rest, who, rack, 0, 0, ""});
    }
    offered_.clear();
    sync(minute + 20, who, 10);
  }

  /// A male (every third animal) visits a female and is fetched by whoever works there some evening after.
  void breed(int who, int minute, int day) {
    if (day < 7 || (pair_ && percent(40))) return;
    if (pair_) {
      entry(minute, who, pair_->first, false, "separated");
      pair_.reset();
    } else if (percent(50)) {
      pair_ = {3 * below(kAnimals / 3), 3 * below(kAnimals / 3) + 1};
      entry(minute, who, pair_->first, false, "paired @A" + std::to_string(pair_->second));
      if (percent(30)) entry(minute + 30, who, pair_->first, false, "locked");
    }
    if (percent(10)) entry(minute + 40, who, 3 * below(kAnimals / 3) + 2, false, "laid 7+1");
    sync(minute + 60, who, 10);
  }

  /// The keeper corrects a record and takes an entry back.
  void desk(int minute) {
    sync(minute - 5, 1, 5);
    at(minute, {What::edit, 1, below(kAnimals), 1, 4 * below(8), ""});
    if (percent(50)) at(minute + 5, {What::withdraw, 1, below(kAnimals), 0, 0, ""});
    sync(minute + 10, 1, 5);
  }

  Dice dice_;
  Script script_;
  std::vector<Planned> plan_;
  std::vector<int> offered_;                 ///< tubs with food left in them
  std::map<int, int> in_tub_;                ///< tub to who lives there, as it truly is
  std::optional<std::pair<int, int>> pair_;  ///< visitor and host
};

/// The rack of an animal's home, or of a place.
Thing rack_of(Reader& reader, const Question& question) {
  if (const auto rack = reader.rack_of(question.subject)) return *rack;
  for (const Lodging& lodging : reader.lodgings_of(question.subject, question.at)) {
    if (lodging.role != Stay::Role::home) continue;
    if (const auto rack = reader.rack_of(lodging.place)) return *rack;
  }
  return 0;
}

}  // namespace

Script ordinary_season(std::uint64_t seed) {
  return Season(seed).run();
}

std::size_t QuestionRate::questions() const {
  return std::accumulate(by_rule.begin(), by_rule.end(), std::size_t{0},
                         [](std::size_t sum, const auto& rule) { return sum + rule.second; });
}

double QuestionRate::per_hundred() const {
  return events == 0 ? 0 : 100.0 * static_cast<double>(questions()) / static_cast<double>(events);
}

QuestionRate questions_of(Book& book, std::size_t events) {
  QuestionRate rate{.events = events, .by_rule = {}};
  Reader reader(book);
  const FoldSettings settings = load_settings(book.database());
  std::set<std::tuple<RuleId, Thing, DayNumber>> seen;
  for (const Question& question : reader.questions(false)) {
    const Night night = night_of(settings.zone, settings.night_start_minute, question.at);
    if (seen.emplace(question.rule, rack_of(reader, question), night.number).second)
      ++rate.by_rule[std::string(rule_of(question.rule).name)];
  }
  return rate;
}

}  // namespace rackside::simulation
