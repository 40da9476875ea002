#pragma once

#include <string>
#include <vector>

#include "cli/photos/walk.h"
#include "core/read/reader.h"

namespace rackside::cli {

/// What a walk saw, compared with the book.
struct StockTake {
  struct Misplaced {
    core::Named animal;
    core::Named seen_at;            ///< the place whose label hung beside its card
    std::vector<core::Named> book;  ///< where the book has it; empty: nowhere
  };
  struct Missing {
    core::Named animal;
    core::Named place;  ///< where the book has it
  };
  std::vector<core::Named> racks;  ///< that were walked along
  std::vector<core::Named> found;  ///< animals whose card was read where the book has them, or alone
  std::vector<Misplaced> misplaced;
  std::vector<Missing> missing;            ///< of a walked rack whose cards are read, and whose card was not
  std::vector<core::Named> unseen_places;  ///< of a walked rack
  std::vector<std::string> unknown;        ///< codes that the book does not know
  std::vector<core::Named> without_cards;  ///< racks where not one card was read, so that no animal is called missing
};

StockTake take_stock(core::Reader& reader, const std::vector<Walk::Seen>& seen, core::Instant now);

}  // namespace rackside::cli
