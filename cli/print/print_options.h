#pragma once

#include <optional>
#include <string>
#include <vector>

#include "cli/session.h"
#include "labels/labels.h"

namespace CLI {
class App;
}

namespace rackside::cli {

/// What the verbs that print have in common.
struct PrintOptions {
  std::vector<std::string> what;
  std::string out;
  std::string host;
  std::string design;
  // on sheets
  std::string sheet = "a4-3x8";
  labels::SheetOptions sheet_options;
  std::string note = "margin";
  // on a roll
  std::string roll;
  int dpi = 203;
  // on paper
  std::string paper = "a4";
  labels::StripOptions strip;
  std::vector<std::string> entries;
  int boxes = 1;
  std::string kind;
  // where it goes
  bool changed = false;
  bool to_printer = false;
  std::string printer;
  bool dry_run = false;
  bool no_record = false;
};

/// "50x25" in millimetres. Errors: usage.
labels::LabelSize parse_size(const std::string& text);

/// A built-in sheet's name, or a file of the keeper's own. Errors: usage, bad_input.
labels::SheetSpec sheet_of(const PrintOptions& options);
labels::Paper paper_of(const PrintOptions& options);

/// The keeper's design for a kind of label, where one was named.
/// Errors: bad_input for a file that is no design, or one for another kind.
std::optional<labels::Design> design_of(const PrintOptions& options, labels::LabelKind kind);

/// How names of label kinds read on the command line: "animal, hatchling, sale …".
std::string kind_words();

}  // namespace rackside::cli
