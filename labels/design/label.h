#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "core/codes/code.h"

namespace rackside::labels {

enum class LabelKind {
  place,        ///< on the rack's face
  animal_card,  ///< travels with the animal
  scan_line,    ///< one entry of a scan sheet
};

enum class LabelSex { unknown, female, male };
enum class MarkerBox { none, blank };

/// What a label says. Empty texts take no room. Only what does not change weekly belongs here.
struct Label {
  LabelKind kind = LabelKind::place;
  std::string payload;   ///< what the symbol says: the code or a link that ends in it
  std::string code;      ///< the code for people, printed smallest
  std::string title;     ///< place or short ID, or the scan line's entry: largest
  std::string subtitle;  ///< rack and row of a place, what a scan line does
  std::optional<LabelSex> sex;
  std::string prey;                         ///< "small rat"
  std::string warning;                      ///< one bold band: "QUARANTINE"
  std::vector<std::string> genes;           ///< certain ones
  std::vector<std::string> possible_genes;  ///< on a line of their own, each with its own words ("66 % het anery")
  std::string hatch_year;
  std::string parents;  ///< "C-03 × C-09"
  MarkerBox marker = MarkerBox::none;
};

/// A label of `kind` that carries `code`: bare, or as a link to `host` when that is not empty.
/// Errors: bad_input for a host that no link can have.
Label label_for(LabelKind kind, const core::Code& code, std::string_view title, std::string_view host = {});

struct LabelSize {
  double width_mm = 0;
  double height_mm = 0;
};

}  // namespace rackside::labels
