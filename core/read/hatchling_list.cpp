#include "core/read/hatchling_list.h"

#include <algorithm>

#include "core/codes/code.h"
#include "core/read/accounts.h"
#include "core/read/inspection.h"

namespace rackside::core {
namespace {

bool tells_of_start(Kind kind) {
  switch (kind) {
    case Kind::fed:
    case Kind::ate:
    case Kind::refused:
    case Kind::leftover:
    case Kind::offered:
    case Kind::regurgitated:
    case Kind::shed:
    case Kind::treated:
    case Kind::sexed:
    case Kind::held:
    case Kind::reserved:
    case Kind::sold:
      return true;
    default:
      return false;
  }
}

std::vector<YoungFact> facts_of(Reader& reader, Thing animal) {
  std::vector<YoungFact> out;
  for (const auto& [at, kind, row] : accounts_of(reader, animal)) {
    if (!tells_of_start(kind)) continue;
    const auto event = reader.book().log().event_of(row);
    const Value& own = event->own;
    YoungFact fact{.day = night_of(reader.settings().zone, reader.settings().night_start_minute, at).number,
                   .kind = kind};
    const Value* items = own.find("items");
    if (items && items->as_array() && !items->as_array()->empty()) {
      fact.prey = items->as_array()->front().text("prey");
      fact.how = items->as_array()->front().text("how");
    }
    fact.repeat_days = static_cast<int>(std::clamp<std::int64_t>(own.number("repeat_days"), 0, 3650));
    out.push_back(std::move(fact));
  }
  return out;
}

}  // namespace

ReadyRules ready_rules(Reader& reader) {
  ReadyRules out;
  const Value meals = parse_strict(reader.setting(kReadyMealsSetting)).value;
  if (meals.as_int() && *meals.as_int() >= 0 && *meals.as_int() <= 100) out.meals = static_cast<int>(*meals.as_int());
  return out;
}

std::vector<HatchlingLine> hatchling_list(Reader& reader, Instant now, DayNumber days) {
  const DayNumber today = reader.settings().zone.day_of(now);
  const ReadyRules rules = ready_rules(reader);
  std::vector<HatchlingLine> out;
  for (const auto& [thing, date] : reader.field_of_all("hatched")) {
    const auto hatched = first_day_of(date);
    if (!hatched || *hatched > today || today - *hatched > days) continue;
    HatchlingLine line{.animal = reader.named(thing), .hatched = *hatched};
    if (line.animal.kind != "animal" || !reader.lives_here(thing)) continue;
    const auto code = read_code(line.animal.code).code;
    line.is_group = code && code->kind() == CodeKind::group;
    line.sex = reader.field(thing, "sex");
    const auto lodgings = reader.lodgings_of(thing, now);
    if (!lodgings.empty()) line.place = reader.named(lodgings.front().place);
    line.state = young_state(facts_of(reader, thing), line.sex == "male" || line.sex == "female", rules, today);
    out.push_back(std::move(line));
  }
  std::sort(out.begin(), out.end(), [](const HatchlingLine& a, const HatchlingLine& b) {
    if (a.hatched != b.hatched) return a.hatched < b.hatched;
    return compare_naturally(a.animal.label, b.animal.label) < 0;
  });
  return out;
}

}  // namespace rackside::core
