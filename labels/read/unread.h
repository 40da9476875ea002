#pragma once

namespace rackside::labels {

/// Why a label that was seen could not be read, as far as the picture tells.
enum class Unread {
  too_small,    ///< its modules are hardly two pixels
  blurred,      ///< out of focus, or moved
  glare,        ///< part of it is bleached by a reflection
  too_dark,     ///< hardly any contrast
  too_slanted,  ///< seen from too far aside
  damaged,      ///< sharp and well lit: dirt, scratches, water
};

}  // namespace rackside::labels
