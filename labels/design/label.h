#pragma once

#include <map>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "core/codes/code.h"

namespace rackside::labels {

enum class LabelKind {
  place,         ///< on the rack's face
  strip,         ///< one place of a rack strip
  animal_card,   ///< travels with the animal
  hatchling,     ///< the same for a young one, in a low form
  sale,          ///< goes with the animal to its buyer
  clutch,        ///< on the box of a clutch
  egg_box,       ///< on each box, where a clutch has several
  helper_badge,  ///< worn
  scan_line,     ///< one entry of a scan sheet
};

/// The word by which a kind is called in a design file and on the command line: "animal", "egg-box" …
std::string_view word_of(LabelKind kind);
std::optional<LabelKind> label_kind_of(std::string_view word);
std::span<const LabelKind> label_kinds();

enum class LabelSex { unknown, female, male };

/// What a label says. Empty texts take no room. Only what does not change weekly belongs here.
/// What of it is printed, and how large, is its design's affair.
struct Label {
  LabelKind kind = LabelKind::place;
  std::string payload;   ///< what the symbol says: the code or a link that ends in it
  std::string code;      ///< the code for people, printed smallest
  std::string title;     ///< place or short ID, a helper's name, or the scan line's entry: largest
  std::string subtitle;  ///< rack and row of a place, what a scan line does, a helper's role
  std::optional<LabelSex> sex;
  std::string species;
  std::string prey;                         ///< "small rat"
  std::string warning;                      ///< one bold band: "QUARANTINE"
  std::vector<std::string> genes;           ///< certain ones
  std::vector<std::string> possible_genes;  ///< on a line of their own, each with its own words ("66 % het anery")
  std::vector<std::string> footnote;        ///< what the words about genes mean: "het = one hidden copy"
  std::string hatched;                      ///< the day, as people write it
  std::string hatch_year;
  std::string parents;  ///< "C-03 × C-09"
  std::string laid;     ///< the day a clutch was laid
  std::string eggs;     ///< "12 good, 1 slug"
  std::string breeder;  ///< whose collection it is
  std::string dated;    ///< the day of what is claimed: of printing on a sale card, else of its newest record
  std::map<std::string, std::string> own;  ///< the keeper's own fields, by name
};

/// A label of `kind` that carries `code`: bare, or as a link to `host` when that is not empty.
/// Errors: bad_input for a host that no link can have.
Label label_for(LabelKind kind, const core::Code& code, std::string_view title, std::string_view host = {});

struct LabelSize {
  double width_mm = 0;
  double height_mm = 0;
};

}  // namespace rackside::labels
