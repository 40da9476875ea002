#pragma once

#include <string>
#include <string_view>

#include "labels/labels.h"

namespace rackside::cli {

// Pictures in a terminal, by two open protocols: the terminal graphics protocol
// (https://sw.kovidgoyal.net/kitty/graphics-protocol/) and sixel (DEC STD 070, chapter on sixel graphics).

enum class TerminalPictures { none, graphics, sixel };

/// Asks the terminal behind `descriptor` which it can: a query of the graphics protocol, then for the device's
/// attributes, which every terminal answers. Waits at most a third of a second.
TerminalPictures ask_terminal(int descriptor);

/// What an answer says: "OK" to the query, or attribute 4 for sixel.
TerminalPictures pictures_by_answer(std::string_view answer);

/// A picture as the bytes that show it: a PNG in pieces of 4096 characters of base64.
std::string graphics_sequence(std::string_view png);
/// In 16 greys, equal neighbours counted.
std::string sixel_sequence(const labels::GrayImage& picture);

/// Shows a picture on standard output where that is a terminal that can. False where nothing was shown.
bool show_picture(const labels::GrayImage& picture);

}  // namespace rackside::cli
