// Random facts of animals and what the program says is due: one JSON line each, for the page's twin to say the same.
//   due_cases COUNT SEED
#include <cstdio>
#include <cstdlib>

#include "core/entry/aisle.h"
#include "core/husbandry/plan.h"
#include "tests/vectors/made_up.h"

using namespace rackside::core;

namespace {

constexpr DayNumber kTonight = rackside::test::kMadeUpNight;

class Cases {
 public:
  explicit Cases(unsigned seed) : made_up_(seed) {}

  std::string next() {
    const AnimalFacts facts = made_up_.facts();
    const Limits limits = made_up_.limits();
    const DayNumber today = kTonight + made_up_.below(2);
    const Moment moment{kTonight, today, kTonight * kDay + made_up_.below(48) * kHour};
    Value animal = Value::Object{};
    add_facts_to(facts, animal);
    Value lines = Value::Array{};
    for (const DueLine& line : due_for(facts, limits, moment))
      lines.as_array()->push_back(Value::Array{std::string(word_of(line.due)), line.days});
    const MealState meal = meal_state(facts, limits, moment);
    return write_compact(Value::Object{
        {"animal", std::move(animal)},
        {"limits", value_of(limits)},
        {"tonight", moment.tonight},
        {"today", moment.today},
        {"now", *moment.now},
        {"lines", std::move(lines)},
        {"meal", Value::Array{static_cast<int>(meal.state), meal.days}},
        {"rests", rests_after_meal(facts, limits, moment)},
        {"treated", under_treatment(facts, limits, moment.today)},
    });
  }

 private:
  rackside::test::MadeUp made_up_;
};

}  // namespace

int main(int argc, char** argv) {
  if (argc != 3) return 2;
  Cases cases(static_cast<unsigned>(std::atoi(argv[2])));
  for (int i = std::atoi(argv[1]); i > 0; --i) std::puts(cases.next().c_str());
}
