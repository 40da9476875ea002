#pragma once

#include <string>
#include <vector>

#include "core/base/bytes.h"
#include "core/codes/code.h"
#include "labels/image/image.h"
#include "labels/read/decoder.h"

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

struct PictureReading {
  int width = 0;  ///< of the upright picture, pixels
  int height = 0;
  std::vector<ReadSymbol> symbols;  ///< by row from the top, then from the left
  std::size_t foreign = 0;          ///< symbols seen that are none of our codes (not listed in ReadScope::codes)
};

/// Finds every QR symbol of a picture: the whole, then overlapping tiles, then an enlargement where the picture is
/// small, merged by position. Two labels with one text at two places are two symbols.
/// Pure. A picture without symbols is an empty list.
PictureReading read_symbols(const GrayImage& picture, const ReadOptions& options = {});

/// The same from a file's bytes; `name` is what messages call it.
/// Errors: unreadable_image (see read_picture).
PictureReading read_image(core::ByteSpan bytes, const std::string& name, const ReadOptions& options = {});

/// The same from a file.
/// Errors: as load_picture_file and read_picture.
PictureReading read_image_file(const std::string& path, const ReadOptions& options = {});

}  // namespace rackside::labels
