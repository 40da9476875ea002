#pragma once

#include <initializer_list>
#include <vector>

#include "core/read/reader.h"

namespace rackside::core {

/// One live account of an animal, without its text.
struct AccountFact {
  Instant at = 0;
  Kind kind = Kind::unknown;
  EventRow row = 0;
};

/// An animal's accounts of these kinds, oldest first; of all kinds where none is named.
std::vector<AccountFact> accounts_of(Reader& reader, Thing animal, std::initializer_list<Kind> kinds = {});

}  // namespace rackside::core
