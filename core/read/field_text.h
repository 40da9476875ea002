#pragma once

#include <string>
#include <string_view>

namespace rackside::core {

/// A field's value, as the book keeps it in JSON, for people: what another device wrote does not begin a line of its
/// own.
std::string field_text(std::string_view json);

}  // namespace rackside::core
