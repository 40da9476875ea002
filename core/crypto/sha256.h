#pragma once

#include <initializer_list>

#include "core/base/bytes.h"

namespace rackside::core {

/// SHA-256 of the parts in order, as if they were one text. Source: FIPS 180-4.
Hash sha256(std::initializer_list<ByteSpan> parts);
inline Hash sha256(ByteSpan bytes) {
  return sha256({bytes});
}

}  // namespace rackside::core
