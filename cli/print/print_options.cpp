#include "cli/print/print_options.h"

#include <filesystem>
#include <sstream>

#include "cli/label_source.h"
#include "core/base/error.h"

namespace rackside::cli {

using core::Error;
using core::Fault;

labels::LabelSize parse_size(const std::string& text) {
  labels::LabelSize size;
  char cross = 0;
  std::istringstream in(text);
  in >> size.width_mm >> cross >> size.height_mm;
  if (!in || (cross != 'x' && cross != 'X') || size.width_mm < 5 || size.height_mm < 5 || size.width_mm > 300 ||
      size.height_mm > 300) {
    throw Error(Fault::usage, "“" + text + "” is no label size: write millimetres as 50x25.");
  }
  return size;
}

labels::SheetSpec sheet_of(const PrintOptions& options) {
  const bool is_file = options.sheet.find('/') != std::string::npos || std::filesystem::exists(options.sheet);
  if (!is_file) return labels::find_sheet(options.sheet);
  return labels::parse_sheet(read_file(options.sheet), std::filesystem::path(options.sheet).filename().string());
}

labels::Paper paper_of(const PrintOptions& options) {
  return options.paper == "letter" ? labels::Paper::letter : labels::Paper::a4;
}

std::optional<labels::Design> design_of(const PrintOptions& options, labels::LabelKind kind) {
  if (options.design.empty()) return std::nullopt;
  labels::Design design = labels::parse_design(read_file(options.design), options.design);
  if (design.kind != kind) {
    throw Error(Fault::bad_input, "The design " + options.design + " is for “" + std::string(word_of(design.kind)) +
                                      "”, and what is printed here is “" + std::string(word_of(kind)) + "”.");
  }
  return design;
}

std::string kind_words() {
  std::string words;
  for (const labels::LabelKind kind : labels::label_kinds())
    words += (words.empty() ? "" : ", ") + std::string(word_of(kind));
  return words;
}

}  // namespace rackside::cli
