#include "core/read/resting.h"

#include <algorithm>

#include "core/husbandry/plan.h"
#include "core/read/due_board.h"
#include "core/read/today.h"
#include "core/read/whereabouts.h"

namespace rackside::core {

std::vector<Named> resting_animals(Reader& reader, Instant now) {
  const CareSettings settings = care_settings(reader);
  const Moment moment = moment_of(reader.settings(), now);
  const Whereabouts whereabouts(reader, now);
  std::vector<Named> out;
  for (const BoardRow& row : due_board(reader, settings, now)) {
    if (!rests_after_meal(facts_on(row, settings, moment.today), settings.limits, moment)) continue;
    if (whereabouts.of(row.animal).empty() && !reader.lives_here(row.animal)) continue;
    out.push_back(reader.named(row.animal));
  }
  std::sort(out.begin(), out.end(), [](const Named& a, const Named& b) {
    const int order = compare_naturally(a.label, b.label);
    return order != 0 ? order < 0 : a.code < b.code;
  });
  return out;
}

}  // namespace rackside::core
