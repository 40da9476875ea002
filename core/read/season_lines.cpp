#include "core/read/season_lines.h"

#include "core/read/rotation_list.h"

namespace rackside::core {

std::vector<SourcedLine> lines_of_rotation(const TodayView& view) {
  std::vector<SourcedLine> out;
  for (const RotationLine& line : rotation_list(view.reader, view.now)) {
    if (!line.advice.out_of && !line.advice.into) continue;
    std::string why = line.errand;
    if (line.advice.into) why += " with " + view.reader.label(*line.advice.into);
    if (!line.advice.why.empty()) why += ": " + line.advice.why;
    out.push_back({line.male.thing, {Due::rotate, 0, std::move(why)}});
  }
  return out;
}

}  // namespace rackside::core
