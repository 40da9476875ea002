// Every printed form, read by a program that is not ours (ZBar), and PDFs drawn by another (poppler).
#include <algorithm>
#include <cstdlib>
#include <filesystem>
#include <sstream>
#include <string>
#include <vector>

#include "labels/labels.h"
#include "tests/support/catch.h"
#include "tests/support/program.h"
#include "tests/unit/labels_support.h"

using namespace rackside;
using namespace rackside::labels;
using rackside::tests::Folder;

namespace {

const std::vector<LabelSize> kRolls = {{50, 25}, {57, 32}, {62, 29}, {100, 50}, {38, 21}};

bool tools_are_there() {
  const auto has = [](const char* name) {
    return std::system((std::string("command -v ") + name + " >/dev/null 2>&1").c_str()) == 0;
  };
  if (has("pdftoppm") && has("zbarimg")) return true;
  WARN("pdftoppm or zbarimg is missing (poppler-utils, zbar-tools): nothing was checked by them");
  return false;
}

std::vector<std::string> read_by_zbar(const std::vector<std::string>& files) {
  std::vector<std::string> arguments = {"-q", "--raw", "-Sdisable", "-Sqrcode.enable"};
  arguments.insert(arguments.end(), files.begin(), files.end());
  std::istringstream lines(tests::run_program("zbarimg", arguments).out);
  std::vector<std::string> texts;
  for (std::string line; std::getline(lines, line);) texts.push_back(line);
  return tests::sorted(texts);
}

std::vector<std::string> files_in(const Folder& folder, const std::string& ending) {
  std::vector<std::string> files;
  for (const auto& entry : std::filesystem::directory_iterator(folder.str())) {
    if (entry.path().extension() == ending) files.push_back(entry.path().string());
  }
  return files;
}

/// One label of each kind, full of words.
std::vector<Label> one_of_each(std::string_view host) {
  std::vector<Label> all;
  for (const LabelKind kind : label_kinds()) {
    if (kind == LabelKind::scan_line) continue;  // has pages of its own
    Label label = tests::animal_card("C-14", host);
    label.kind = kind;
    label.species = "corn snake";
    label.hatched = "8 Jul 2026";
    label.laid = "12 May 2026";
    label.eggs = "12 good, 1 slug";
    label.breeder = "Ottoline";
    label.dated = "25 Nov 2026";
    all.push_back(std::move(label));
  }
  return all;
}

}  // namespace

TEST_CASE("every design on every roll, at both resolutions, bare and as a link, is read from its picture", "[labels]") {
  if (!tools_are_there()) return;
  for (const int dpi : {203, 300}) {
    for (const LabelSize size : kRolls) {
      const Folder folder(Folder::On::memory);
      std::vector<std::string> expected;
      for (const std::string_view host : {std::string_view(), std::string_view(tests::kHost)}) {
        for (const Label& label : one_of_each(host)) {
          const std::string path = folder / (std::to_string(expected.size()) + ".png");
          tests::write_text(path, print_label_png(label, size, dpi).bytes);
          expected.push_back(label.payload);
        }
      }
      CAPTURE(dpi, size.width_mm, size.height_mm);
      CHECK(read_by_zbar(files_in(folder, ".png")) == tests::sorted(expected));
    }
  }
}

TEST_CASE("every design on every roll is read from its PDF at the printer's resolution", "[labels]") {
  if (!tools_are_there()) return;
  for (const int dpi : {203, 300}) {
    for (const LabelSize size : kRolls) {
      const Folder folder(Folder::On::memory);
      std::vector<Label> labels = one_of_each({});
      for (Label& label : one_of_each(tests::kHost)) labels.push_back(std::move(label));
      tests::write_text(folder / "roll.pdf", print_plan(roll_plan(labels, size, dpi, 1)).bytes);
      const tests::Run run =
          tests::run_program("pdftoppm", {"-r", std::to_string(dpi), "-gray", folder / "roll.pdf", folder / "label"});
      CAPTURE(dpi, size.width_mm, size.height_mm, run.err);
      CHECK(run.err.empty());
      CHECK(read_by_zbar(files_in(folder, ".pgm")) == tests::sorted(tests::payloads_of(labels)));
    }
  }
}

TEST_CASE("every design on every sheet is read from its PDF, bare and as a link", "[labels]") {
  if (!tools_are_there()) return;
  for (const SheetSpec& sheet : built_in_sheets()) {
    for (const std::string_view host : {std::string_view(), std::string_view(tests::kHost)}) {
      const std::vector<Label> labels = one_of_each(host);
      const Folder folder(Folder::On::memory);
      tests::write_text(folder / "sheet.pdf", print_sheet(labels, sheet).bytes);
      tests::run_program("pdftoppm", {"-r", "300", "-gray", folder / "sheet.pdf", folder / "page"});
      CAPTURE(sheet.name, std::string(host));
      CHECK(read_by_zbar(files_in(folder, ".pgm")) == tests::sorted(tests::payloads_of(labels)));
    }
  }
}

TEST_CASE("rack strips are read from their PDF", "[labels]") {
  if (!tools_are_there()) return;
  std::vector<Label> places;
  for (int i = 0; i < 20; ++i) places.push_back(tests::place_label("B-" + std::to_string(i + 1)));
  for (const Paper paper : {Paper::a4, Paper::letter}) {
    const Folder folder(Folder::On::memory);
    tests::write_text(folder / "strips.pdf", print_plan(strip_plan(places, paper, {})).bytes);
    tests::run_program("pdftoppm", {"-r", "300", "-gray", folder / "strips.pdf", folder / "page"});
    CHECK(read_by_zbar(files_in(folder, ".pgm")) == tests::sorted(tests::payloads_of(places)));
  }
}
