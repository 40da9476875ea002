#pragma once

#include <string>
#include <vector>

#include "core/read/rack_sheet.h"
#include "labels/design/picture.h"
#include "labels/design/text_ruler.h"
#include "labels/sheet/pages.h"

namespace rackside::cli {

/// The day's list on paper, for a rack: a row for each animal in walking order with boxes to tick. Boxes of who is to
/// be fed tonight are bold. What is ticked is entered by `ticked`, with the numbers that stand in the first column.
/// Shape: as many pages as the rows need, black on white, readable when copied.
std::vector<labels::Picture> sheet_pages(const core::RackSheet& sheet, labels::Paper paper,
                                         const labels::TextRuler& ruler);

/// The words of a row: what is to be done in short, and why.
struct SheetWords {
  std::string what;
  std::string why;
  std::string reason;  ///< of a sign, in full: a row cuts it off
  bool feed = false;   ///< to be fed tonight
  bool look = false;   ///< a sign: somebody must look
};
SheetWords words_of(const core::SheetRow& row, core::DayNumber tonight);

}  // namespace rackside::cli
