#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "labels/design/label.h"
#include "labels/design/picture.h"

namespace rackside::labels {

// A design says which fields a label shows, in which order and how large. The built-in ones are written in the same
// form as the keeper's own files:
//
//     for     animal              # what it labels
//     size    57 x 32             # mm; may be missing, then the sheet or the command line says it
//     huge    name
//     large   bold sex prey       # several fields in one line
//     band    warning             # white on black
//     medium  bold genes
//     small   "poss." possible    # words in quotes; they go when the field behind them is empty
//     tiny    year | parents      # | sets a dot between two that are both there
//     small   "Line:" my:line     # a field of the keeper's own
//     box                         # blank, for a marker
//     boxes   6 "meals"           # little ones to tick

/// How large a line is, against the others.
enum class TextRank { huge, large, medium, small, tiny };

struct DesignPiece {
  enum class What { words, field, dot };
  What what = What::field;
  std::string text;  ///< the words, or the field's name
};

struct DesignRow {
  enum class What { line, band, box, boxes };
  What what = What::line;
  TextRank rank = TextRank::medium;
  Weight weight = Weight::regular;
  std::vector<DesignPiece> pieces;
  int count = 0;  ///< of boxes to tick
};

struct Design {
  LabelKind kind = LabelKind::place;
  std::optional<LabelSize> size;
  std::vector<DesignRow> rows;
};

/// Reads a design. `name` is what messages call the file.
/// Errors: bad_input, naming the line and what would be right.
Design parse_design(std::string_view text, const std::string& name);

/// The design of a kind of label, and the text it is made from: a start for the keeper's own.
const Design& built_in_design(LabelKind kind);
std::string_view built_in_design_text(LabelKind kind);

/// The words for fields, for help and messages.
std::vector<std::string> field_words();

/// What one row says of a label.
struct SaidRow {
  std::optional<LabelSex> sex;
  std::string text;                ///< one line; empty where there is nothing to say
  std::vector<std::string> items;  ///< instead, for a list that may take several lines
  std::string lead;                ///< the design's words before the list, which its first item begins with
  bool says_nothing() const { return !sex && text.empty() && items.empty(); }
};
SaidRow say(const DesignRow& row, const Label& label);

/// All that a design says of a label, symbol included: two prints of one text are the same print.
std::string content_of(const Design& design, const Label& label);

/// True for a row that is never left out for want of room: names, sex, prey, warning and genes.
bool is_needed(const DesignRow& row);
/// A footnote and nothing else: the first to go where there is no room.
bool only_explains(const DesignRow& row);
/// What a row is about, for a message: "the hatch year and the parents".
std::string subject_of(const DesignRow& row);

}  // namespace rackside::labels
