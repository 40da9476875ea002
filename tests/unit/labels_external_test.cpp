// Printed pages, drawn and read by programs that are not ours: pdftoppm (poppler) and zbarimg (ZBar).

#include <sys/wait.h>
#include <unistd.h>

#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <sstream>
#include <string>
#include <vector>

#include "labels/labels.h"
#include "tests/support/catch.h"
#include "tests/unit/labels_support.h"

using namespace rackside;
using namespace rackside::labels;

namespace {

bool has_program(const std::string& name) {
  return std::system(("command -v " + name + " >/dev/null 2>&1").c_str()) == 0;
}

std::string output_of(const std::string& command) {
  std::string out;
  FILE* pipe = popen(command.c_str(), "r");
  if (pipe == nullptr) return out;
  char buffer[4096];
  for (std::size_t got = 0; (got = fread(buffer, 1, sizeof buffer, pipe)) > 0;) out.append(buffer, got);
  pclose(pipe);
  return out;
}

/// A folder that goes with the test.
class Folder {
 public:
  Folder() {
    char name[] = "/tmp/rackside-labels-XXXXXX";
    path_ = mkdtemp(name);
  }
  ~Folder() { std::filesystem::remove_all(path_); }
  std::string write(const std::string& name, const std::string& bytes) const {
    const std::string path = path_ + "/" + name;
    std::ofstream(path, std::ios::binary) << bytes;
    return path;
  }
  const std::string& path() const { return path_; }

 private:
  std::string path_;
};

/// What ZBar reads in one picture.
std::vector<std::string> read_by_zbar(const std::string& path) {
  std::istringstream lines(output_of("zbarimg -q --raw -Sdisable -Sqrcode.enable '" + path + "' 2>/dev/null"));
  std::vector<std::string> texts;
  for (std::string line; std::getline(lines, line);) texts.push_back(line);
  return texts;
}

std::vector<std::string> read_pages_by_zbar(const std::string& pdf, int dpi = 150) {
  const Folder folder;
  const std::string path = folder.write("pages.pdf", pdf);
  output_of("pdftoppm -r " + std::to_string(dpi) + " -gray '" + path + "' '" + folder.path() + "/page' 2>/dev/null");
  std::vector<std::string> texts;
  for (const auto& entry : std::filesystem::directory_iterator(folder.path())) {
    if (entry.path().extension() != ".pgm") continue;
    for (std::string& text : read_by_zbar(entry.path().string())) texts.push_back(std::move(text));
  }
  return tests::sorted(texts);
}

bool tools_are_there() {
  if (has_program("pdftoppm") && has_program("zbarimg")) return true;
  WARN("pdftoppm or zbarimg is missing (poppler-utils, zbar-tools): nothing was checked by them");
  return false;
}

}  // namespace

TEST_CASE("every sheet, rendered at 150 dpi, gives every code to another decoder", "[labels]") {
  if (!tools_are_there()) return;
  for (const SheetSpec& sheet : built_in_sheets()) {
    CAPTURE(sheet.name);
    std::vector<Label> labels;
    for (int i = 0; i < sheet.cells(); ++i) {
      const std::string name = "B-" + std::to_string(i + 1);
      labels.push_back(i % 2 == 0 ? tests::place_label(name) : tests::animal_card(name));
    }
    CHECK(read_pages_by_zbar(print_sheet(labels, sheet).bytes) == tests::sorted(tests::payloads_of(labels)));
  }
}

TEST_CASE("links on every sheet are read by another decoder too", "[labels]") {
  if (!tools_are_there()) return;
  for (const SheetSpec& sheet : built_in_sheets()) {
    CAPTURE(sheet.name);
    std::vector<Label> labels;
    for (int i = 0; i < sheet.cells(); ++i)
      labels.push_back(tests::place_label("B-" + std::to_string(i), tests::kHost));
    // The lowest labels have modules of three dots at 300 dpi: a draft at half of that cannot show them.
    const int dpi = sheet.label_height < 15 ? 300 : 150;
    CHECK(read_pages_by_zbar(print_sheet(labels, sheet).bytes, dpi) == tests::sorted(tests::payloads_of(labels)));
  }
}

TEST_CASE("scan sheets give every code to another decoder", "[labels]") {
  if (!tools_are_there()) return;
  std::vector<Label> lines;
  for (int i = 0; i < 17; ++i) lines.push_back(tests::scan_line("fed " + std::to_string(i) + " small rat"));
  for (const Paper paper : {Paper::a4, Paper::letter}) {
    const Printed printed = print_scan_sheet("Evening round", lines, paper);
    CHECK(read_pages_by_zbar(printed.bytes) == tests::sorted(tests::payloads_of(lines)));
  }
}

TEST_CASE("label pictures of both resolutions read by another decoder", "[labels]") {
  if (!tools_are_there()) return;
  const Folder folder;
  for (const int dpi : {203, 300}) {
    for (const LabelSize size : {LabelSize{38, 21}, LabelSize{50, 25}, LabelSize{57, 32}, LabelSize{100, 50}}) {
      const Label label = tests::animal_card("C-14");
      CAPTURE(dpi, size.width_mm);
      CHECK(read_by_zbar(folder.write("label.png", print_label_png(label, size, dpi).bytes)) ==
            std::vector<std::string>{label.payload});
    }
  }
}
