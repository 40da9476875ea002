#pragma once

#include <string>
#include <string_view>

#include "core/husbandry/diet.h"
#include "core/read/reader.h"

// The keeper's settings of care as the book holds them.
namespace rackside::core {

std::string limit_setting(Limit limit);              ///< "care/meal-rest-hours"
std::string plan_setting(std::string_view plan);     ///< "feeding/corn snake"
std::string prey_setting(std::string_view prey);     ///< "prey/small-rat"
std::string fast_setting(std::string_view species);  ///< "fast/corn snake", "fast/corn snake/male"

/// All of them at once. What a newer program wrote in another form is left out.
CareSettings care_settings(Reader& reader);

/// The edit of one setting. An empty value takes it back.
Draft setting_draft(const std::string& key, Value value, Instant now);

}  // namespace rackside::core
