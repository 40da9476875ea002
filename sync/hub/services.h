#pragma once

#include <cstddef>
#include <functional>
#include <map>
#include <string>
#include <string_view>
#include <vector>

#include "core/book/book.h"

namespace rackside::sync::hub {

// What a hub can do only with what it is given at the wiring: it knows neither pictures nor pages. Where one is missing
// its route says so.

/// What was found in a picture.
struct PictureFindings {
  std::vector<std::string> codes;             ///< in reading order, each once
  std::size_t foreign = 0;                    ///< symbols that are none of our codes
  std::map<std::string, std::size_t> unread;  ///< why labels that were seen gave nothing ("blurred"), and how many
};
/// Reads a picture of a stranger, for as long as it takes (seconds). Called from several threads at once; whatever the
/// picture does must stay its own outcome. Errors: unreadable_image, too_large.
using PictureReader = std::function<PictureFindings(std::string_view bytes)>;

/// What a keeper wants printed.
struct LabelWish {
  std::string kind;                ///< one that LabelOffer names
  std::vector<std::string> codes;  ///< racks, places, animals or helpers, as the kind takes them; empty: all
  bool changed_only = false;       ///< only what says something else than when it was printed last
  std::string sheet;               ///< one that LabelOffer names
  int first_cell = 1;              ///< first free label of a half-used sheet
};
struct LabelPages {
  std::string pdf;  ///< whole, and every label in it read back
  std::size_t labels = 0;
  std::size_t pages = 0;
  int reach_mm = 0;                   ///< from how far a phone reads the smallest
  std::vector<std::string> warnings;  ///< for people
  std::vector<core::Draft> printed;   ///< the events that register the print; the hub writes them
};
struct LabelOffer {
  std::vector<std::string> kinds;  ///< "place", "animal" …
  struct Sheet {
    std::string name;
    int columns = 0, rows = 0;
    int width_tenths_mm = 0, height_tenths_mm = 0;  ///< of one label
  };
  std::vector<Sheet> sheets;
};
/// Draws and proves; reads the book and does not write it. Errors: usage, bad_input (nothing to print), unknown_code,
/// too_large, nothing_read.
struct LabelPrinter {
  std::function<LabelOffer()> offer;
  std::function<LabelPages(core::Book& book, const LabelWish& wish, std::int64_t now_ms)> print;
};

struct Services {
  PictureReader read_picture;
  LabelPrinter labels;
};

}  // namespace rackside::sync::hub
