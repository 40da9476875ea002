#pragma once

#include <string>
#include <vector>

#include "core/base/bytes.h"
#include "core/codes/code.h"
#include "labels/image/image.h"
#include "labels/read/decoder.h"
#include "labels/read/unread.h"

namespace rackside::labels {

enum class ReadScope {
  codes,  ///< our codes only, bare or in a link
  any,    ///< foreign QR symbols too
};

struct ReadOptions {
  ReadScope scope = ReadScope::codes;
};

struct ReadSymbol {
  std::string text;
  Corners corners;            ///< in pixels of the upright picture
  core::CodeReading reading;  ///< what the text is as a code
};

struct UnreadSpot {
  Corners corners;  ///< about, in pixels of the upright picture
  Unread why = Unread::damaged;
};

struct PictureReading {
  int width = 0;  ///< of the upright picture, pixels
  int height = 0;
  std::vector<ReadSymbol> symbols;  ///< by row from the top, then from the left
  std::size_t foreign = 0;          ///< symbols seen that are none of our codes (not listed in ReadScope::codes)
  std::vector<UnreadSpot> unread;   ///< what looks like a symbol and gave nothing, likewise by row
};

/// Finds every QR symbol of a picture: finder patterns are looked for at all scales; each likely three (or two, where
/// one is lost) are cut out upright, their modules measured and decoded, with more and more effort for those that look
/// most like a symbol; last the decoder sees the whole. Two labels with one text at two places are two symbols. The
/// effort is bounded in steps of work, not by a clock: a picture always gives the same. Pure; any thread. A picture
/// without symbols is an empty list.
PictureReading read_symbols(const GrayImage& picture, const ReadOptions& options = {});

/// The same from a file's bytes; `name` is what messages call it.
/// Errors: unreadable_image (see read_picture).
PictureReading read_image(core::ByteSpan bytes, const std::string& name, const ReadOptions& options = {});

/// The same from a file.
/// Errors: as load_picture_file and read_picture.
PictureReading read_image_file(const std::string& path, const ReadOptions& options = {});

}  // namespace rackside::labels
