#pragma once

#include <optional>
#include <string>
#include <vector>

#include "core/husbandry/rotation.h"
#include "core/read/reader.h"

// Who is with whom, and what each male's plan wants today.
namespace rackside::core {

/// Two that are together now.
struct PairNow {
  Named visitor, host;
  std::optional<Named> place;
  DayNumber since = 0;
  int days = 0;
  int locks = 0;          ///< seen in this visit
  bool separate = false;  ///< longer than the setting, and no plan says otherwise
};

struct RotationLine {
  Named male;
  std::optional<Named> home;
  RotationPlan plan;
  RotationAdvice advice;
  std::optional<Named> out_place, into_place;  ///< where `out_of` and `into` are
  /// "out of B-07, into C-12"; "stays at B-07"; empty where he stays at home.
  std::string errand;
};

/// The setting of one male's plan, by his code: "rotation/AXXXXXXXXX".
std::string rotation_setting(const std::string& male_code);
/// How the plan is kept in it, and back. Females by code.
Value plan_value(Reader& reader, const RotationPlan& plan);
std::optional<RotationPlan> rotation_plan(Reader& reader, Thing male);

/// Days after which a pair without a plan should be separated. Common practice, no source.
constexpr const char* kDaysTogetherSetting = "rotation-days";
constexpr int kUsualDaysTogether = 4;
int days_together(Reader& reader);
/// The least weight at which females of a species are paired, tenths of a gram; nothing where none was set.
std::string least_weight_setting(std::string_view species);

/// All that are together, longest first.
std::vector<PairNow> pairs_now(Reader& reader, Instant now);
/// One line a male with a plan who lives here, by label.
std::vector<RotationLine> rotation_list(Reader& reader, Instant now);

}  // namespace rackside::core
