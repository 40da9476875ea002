#include "core/husbandry/hatchling.h"

#include <algorithm>
#include <array>

namespace rackside::core {
namespace {

constexpr int kAfterRepeat = 7;
constexpr int kLeastTreatment = 14;

std::string counted(int count, const char* word) {
  return std::to_string(count) + " more " + word + (count == 1 ? "" : "s");
}

bool is_meal(Kind kind) {
  return kind == Kind::fed || kind == Kind::ate;
}
bool is_refusal(Kind kind) {
  return kind == Kind::refused || kind == Kind::leftover;
}

class Start {
 public:
  explicit Start(DayNumber today) : today_(today) {}

  void take(const YoungFact& fact) {
    switch (fact.kind) {
      case Kind::shed:
        if (!state_.first_shed) state_.first_shed = fact.day;
        break;
      case Kind::sexed:
        state_.sexed = true;
        break;
      case Kind::regurgitated:
        state_.meals = 0;
        break;
      case Kind::treated:
        treated_since_ = treated_until_ >= fact.day && treated_since_ ? treated_since_ : std::optional(fact.day);
        treated_until_ =
            std::max(treated_until_,
                     fact.day + std::max(kLeastTreatment, fact.repeat_days > 0 ? fact.repeat_days + kAfterRepeat : 0));
        break;
      case Kind::held:
        held_ = fact.day;
        break;
      case Kind::reserved:
      case Kind::sold:
        held_.reset();
        break;
      default:
        take_food(fact);
    }
  }

  YoungState end(bool sex_known, const ReadyRules& rules) {
    state_.sexed = state_.sexed || sex_known;
    if (rules.shed && !state_.first_shed) state_.missing.emplace_back("first shed");
    if (rules.sexed && !state_.sexed) state_.missing.emplace_back("sexing");
    if (state_.meals < rules.meals)
      state_.missing.push_back(counted(rules.meals - state_.meals, "meal") + " without help");
    if (treated_since_ && treated_until_ >= today_)
      state_.kept_for.push_back("under treatment since " + date_text(*treated_since_));
    if (held_) state_.kept_for.push_back("held back since " + date_text(*held_));
    std::stable_sort(state_.tried.begin(), state_.tried.end(),
                     [](const Tried& a, const Tried& b) { return a.times > b.times; });
    state_.stage = stage();
    return std::move(state_);
  }

 private:
  void take_food(const YoungFact& fact) {
    const bool assisted = fact.how == "assisted";
    if (is_meal(fact.kind)) {
      (assisted ? state_.assisted : state_.meals) += 1;
      ever_ate_ = ever_ate_ || !assisted;
      if (assisted) state_.meals = 0;  // it has stopped eating by itself
      return;
    }
    if (!is_refusal(fact.kind) && fact.kind != Kind::offered) return;
    offered_ = true;
    if (!is_refusal(fact.kind) || ever_ate_) return;
    const auto known = std::find_if(state_.tried.begin(), state_.tried.end(),
                                    [&](const Tried& one) { return one.prey == fact.prey && one.how == fact.how; });
    if (known == state_.tried.end()) {
      state_.tried.push_back({fact.prey, fact.how, 1, fact.day});
    } else if (known->last != fact.day) {  // two accounts of one night are one try
      ++known->times;
      known->last = fact.day;
    }
  }

  YoungState::Stage stage() const {
    using Stage = YoungState::Stage;
    if (!ever_ate_) return offered_ || state_.assisted > 0 || state_.first_shed ? Stage::not_begun : Stage::before_shed;
    if (!state_.missing.empty()) return Stage::begun;
    return state_.kept_for.empty() ? Stage::ready : Stage::kept;
  }

  DayNumber today_;
  YoungState state_;
  bool ever_ate_ = false;
  bool offered_ = false;
  std::optional<DayNumber> treated_since_, held_;
  DayNumber treated_until_ = INT32_MIN;
};

}  // namespace

std::string_view word_of(YoungState::Stage stage) {
  constexpr std::array<std::string_view, 5> kWords = {"before its first shed", "has not begun to eat", "begun", "ready",
                                                      "kept back"};
  return kWords[static_cast<std::size_t>(stage)];
}

YoungState young_state(std::span<const YoungFact> facts, bool sex_known, const ReadyRules& rules, DayNumber today) {
  Start start(today);
  for (const YoungFact& fact : facts)
    if (fact.day <= today) start.take(fact);
  return start.end(sex_known, rules);
}

}  // namespace rackside::core
