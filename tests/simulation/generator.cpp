#include "tests/simulation/generator.h"

#include <algorithm>
#include <array>

#include "tests/simulation/fleet.h"

namespace rackside::simulation {
namespace {

constexpr int kHourMinutes = 60;
constexpr int kDayMinutes = 24 * kHourMinutes;
/// The story begins at 18:00 UTC; times below are minutes since then.
constexpr int kOddStatement = 24;  ///< the player's odd kind of a statement about a parent
constexpr int kMorning = 13 * kHourMinutes;

/// One thing and when it happens. What is planned for one minute keeps its order.
struct Planned {
  int minute = 0;
  Action action;
};

class Generator {
 public:
  Generator(std::uint64_t seed, const Weather& weather) : dice_(seed), weather_(weather) {}

  Script run() {
    draw_setup();
    static constexpr std::array kDays = {1, 1, 2, 2, 4, 8, 20, 60, 150};
    const int days = kDays[static_cast<std::size_t>(below(9))];
    const int sessions = 3 + below(10);
    for (int i = 0; i < sessions; ++i) session(below(days) * kDayMinutes);
    plan_disasters(days * kDayMinutes);
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
  int device() { return below(static_cast<int>(script_.setup.devices.size())); }
  int any_number() { return below(1 << 20); }
  void at(int minute, Action action) { plan_.push_back({minute, std::move(action)}); }

  void draw_setup() {
    Setup& setup = script_.setup;
    setup.devices = {Sort::hub, Sort::laptop};
    for (int more = 1 + below(below(4) == 0 ? 10 : 4); more > 0; --more)
      setup.devices.push_back(below(3) == 0 ? Sort::laptop : Sort::phone);
    setup.animals = 3 + below(10);
    setup.racks = 1 + below(3);
    setup.places = setup.animals + 1 + below(4);
    setup.clocks_change = below(3) == 0;
  }

  /// One or two helpers at work on one evening or morning, and the exchanges around it.
  void session(int day) {
    const int helpers = 1 + below(3);
    const int evening = day + below(4 * kHourMinutes);
    for (int helper = 0; helper < helpers; ++helper) {
      const int who = device();
      if (below(3) != 0) exchange(evening - 5, who);
      work(who, evening + below(40));
      if (below(3) != 0) exchange(evening + 90 + below(300), who);
    }
    if (below(2) == 0) morning(day + kMorning + below(120));
  }

  void work(int who, int minute) {
    switch (below(7)) {
      case 0:
      case 1:
      case 2:
        return feeding_round(who, minute);
      case 3:
        return cleaning_round(who, minute);
      case 4:
        return breeding(who, minute);
      case 5:
        return moving(who, minute);
      default:
        return desk(who, minute);
    }
  }

  void exchange(int minute, int who) {
    const bool with_hub = below(4) != 0;
    static constexpr std::array kRoughness = {0, 0, 5, 15, 40};
    const int roughness = weather_.poor_network ? kRoughness[static_cast<std::size_t>(below(5))] : 0;
    at(minute, {What::sync, who, with_hub ? 0 : device(), roughness, any_number(), ""});
    if (below(4) == 0) at(minute + below(500), {What::late, 0, any_number(), 0, 0, ""});
  }

  /// `manner` as core/simulation's player reads it: usually plainly, sometimes with an answer or a said time.
  int manner() { return below(4) == 0 ? any_number() : below(5) + 60 * below(20); }

  void entry(int minute, int who, int thing, bool by_place, const std::string& text) {
    at(minute, {What::entry, who, thing, by_place ? 1 : 0, manner(), text});
  }

  void feeding_round(int who, int minute) {
    static constexpr std::array kMeals = {"fed small-rat",     "fed",    "fed mouse x2 thawed", "refused",
                                          "offered small-rat", "offered"};
    const int usual = below(6);
    const bool by_place = below(3) != 0;
    for (int i = below(3); i < script_.setup.animals; i += 1 + below(2)) {
      const int meal = below(4) == 0 ? below(6) : usual;
      entry(minute, who, i, by_place, kMeals[static_cast<std::size_t>(meal)]);
      if (below(8) == 0) at(minute + below(2), {What::undo, who, 0, 0, 0, ""});
      if (below(5) == 0) entry(minute + 20 + below(30), who, i, by_place, kMeals[static_cast<std::size_t>(below(6))]);
      minute += below(3);
    }
    if (below(3) == 0) at(minute + below(60), {What::rest, who, any_number(), 0, 0, ""});
  }

  void morning(int minute) {
    const int who = device();
    exchange(minute, who);
    for (int i = 0; i < script_.setup.animals; i += 1 + below(4)) {
      entry(minute + i, who, i, below(2) == 0, below(3) == 0 ? "ate" : "leftover");
    }
    if (below(2) == 0) at(minute + 30, {What::rest, who, any_number(), 0, 0, ""});
  }

  void cleaning_round(int who, int minute) {
    static constexpr std::array kWork = {"cleaned",     "watered",         "weighed 412", "treated mite-spray repeat 7",
                                         "shed",        "shed stuck tail", "opaque",      "cleared",
                                         "regurgitated"};
    const int usual = below(9);
    for (int i = below(4); i < script_.setup.animals; i += 1 + below(3)) {
      const auto work = static_cast<std::size_t>(below(3) == 0 ? below(9) : usual);
      entry(minute, who, i, below(3) != 0, kWork[work]);
      minute += below(4);
    }
  }

  void breeding(int who, int minute) {
    static constexpr std::array kWork = {"paired @A",     "separated",     "locked",     "ovulated",
                                         "gravid",        "laid 7+1",      "laid 5",     "hatched 3",
                                         "hatched egg 2", "treated salve", "candled 6+1"};
    const int usual = below(script_.setup.animals);
    for (int i = 1 + below(6); i > 0; --i) {
      const auto work = static_cast<std::size_t>(below(3) == 0 ? 0 : below(11));
      std::string text = kWork[work];
      if (work == 0) text += std::to_string(below(script_.setup.animals));
      entry(minute, who, below(2) == 0 ? usual : below(script_.setup.animals), below(3) == 0, text);
      minute += below(30);
    }
  }

  void moving(int who, int minute) {
    for (int i = 1 + below(4); i > 0; --i) {
      const int animal = below(script_.setup.animals);
      if (below(4) == 0) {
        at(minute, {What::swap, who, animal, below(script_.setup.animals), below(9), ""});
      } else {
        entry(minute, who, animal, below(3) == 0, "moved @T" + std::to_string(below(script_.setup.places)));
      }
      if (below(3) == 0) entry(minute + below(20), device(), animal, true, "fed");
      minute += below(25);
    }
    static constexpr std::array kFates = {"sold", "died", "left", "reserved"};
    if (below(4) == 0)
      entry(minute, who, below(script_.setup.animals), false, kFates[static_cast<std::size_t>(below(4))]);
  }

  /// Corrections, answers and the register.
  void desk(int who, int minute) {
    for (int i = 2 + below(5); i > 0; --i) {
      const int animal = below(script_.setup.animals + 1);
      switch (below(10)) {
        case 0:
          at(minute, {What::withdraw, who, animal, below(6), 0, ""});
          break;
        case 1:
          at(minute, {What::restore, who, animal, below(3), 0, ""});
          break;
        case 2:
        case 3:
        case 4:
          at(minute, {What::settle, who, any_number(), below(6), below(35), ""});
          break;
        case 5:
        case 6:
          at(minute, {What::edit, who, animal, below(5), below(40), ""});
          break;
        case 7:
          if (weather_.oddities) at(minute, {What::enlist, who, below(2 * script_.setup.animals), 0, below(2), ""});
          break;
        default:
          if (weather_.oddities) at(minute, {What::odd, who, below(29), below(9), any_number(), ""});
      }
      minute += below(40);
    }
  }

  void plan_disasters(int minutes) {
    const auto some_time = [&] { return below(minutes); };
    const auto times = [&](int most) { return below(most + 1); };
    if (weather_.oddities) {
      for (int i = times(12); i > 0; --i)
        at(some_time(), {What::odd, device(), below(29), below(script_.setup.animals), any_number(), ""});
      for (int i = times(1); i > 0; --i) at(some_time(), {What::setting, device(), below(9), below(8), below(9), ""});
      for (int i = times(2); i > 0; --i)
        at(some_time(), {What::code, device(), below(9), below(2 * script_.setup.animals), below(9), ""});
    }
    if (weather_.oddities && below(4) == 0) {
      for (int i = 3 + below(8); i > 0; --i)
        at(some_time(), {What::odd, device(), kOddStatement, below(6), any_number(), ""});
    }
    if (minutes > 15 * kDayMinutes) long_chain(minutes);
    for (int i = times(4); i > 0; --i) exchange(some_time(), device());
    for (int i = times(2); i > 0; --i) at(some_time(), {What::restart, device(), 0, 0, 0, ""});
    if (weather_.wrong_clocks) {
      for (int i = times(6); i > 0; --i) at(some_time(), {What::clock, device(), below(12), 0, 0, ""});
    }
    if (weather_.forks) plan_forks(some_time, times);
    if (!weather_.disk_faults) return;
    for (int i = times(10); i > 0; --i) {
      const int fault = below(2) ? 1 : below(kDiskFaults);
      at(some_time(), {What::fault, device(), below(below(3) ? 12 : 120), fault, any_number(), ""});
    }
    for (int i = times(3); i > 0; --i) at(some_time(), {What::tidy, device(), 0, 0, 0, ""});
  }

  /// Accounts of one animal's rarer matters, days apart, many of them written down late: windows that begin elsewhere
  /// when one of them comes.
  void long_chain(int minutes) {
    static constexpr std::array kWords = {"shed", "shed stuck tail", "cleared", "laid 4", "treated salve", "hatched 2"};
    constexpr int kWithDateGiven = 5 * 11;
    const int animal = below(script_.setup.animals);
    const int usual = below(6);
    for (int i = 4 + below(10); i > 0; --i) {
      const auto word = static_cast<std::size_t>(below(4) == 0 ? below(6) : usual);
      const int minute = below(minutes);
      at(minute, {What::entry, device(), animal, 0, kWithDateGiven * below(2) + 60 * below(500), kWords[word]});
      if (below(2) == 0) exchange(minute + below(2 * kDayMinutes), device());
    }
  }

  template <typename Time, typename Times>
  void plan_forks(const Time& some_time, const Times& times) {
    for (int i = times(2); i > 0; --i) {
      const int who = device();
      const int minute = some_time();
      at(minute, {What::backup, who, 0, 0, 0, ""});
      const int second = minute + below(2 * kDayMinutes);
      at(second, {below(2) ? What::revert : What::fork, who, 0, 0, 0, ""});
      // Both are used: the copy is the newest machine then.
      const int copy = static_cast<int>(script_.setup.devices.size()) + below(2);
      for (const int one : {who, copy}) {
        for (int entries = below(4); entries > 0; --entries)
          entry(second + below(300), one, below(script_.setup.animals), below(2) == 0, "fed");
        if (below(2) == 0) exchange(second + below(kDayMinutes), one);
      }
      if (below(3) == 0) at(second + below(60), {What::retire, 0, who, below(12), below(3), ""});
    }
    for (int i = times(1); i > 0; --i) at(some_time(), {What::join, device(), below(2), 0, 0, ""});
    for (int i = times(1); i > 0; --i)
      at(some_time(), {What::role, device(), 1 + device(), below(4), any_number(), ""});
    for (int i = times(1); i > 0; --i) at(some_time(), {What::retire, device(), 1 + device(), below(6), below(3), ""});
    if (below(6) == 0) at(some_time(), {What::lose, device(), 0, 0, 0, ""});
  }

  Dice dice_;
  Weather weather_;
  Script script_;
  std::vector<Planned> plan_;
};

}  // namespace

Script generate(std::uint64_t seed, const Weather& weather) {
  return Generator(seed, weather).run();
}

}  // namespace rackside::simulation
