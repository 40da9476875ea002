// The set of made-up photos: writes it, and measures the reader on it beside other readers. By hand; see --help.
#include <cstdio>
#include <cstring>
#include <ctime>
#include <filesystem>
#include <fstream>
#include <iostream>

#include "core/base/error.h"
#include "tests/photos/judge.h"
#include "tests/photos/set.h"

using namespace rackside;
using namespace rackside::tests;

namespace {

const char* const kHelp =
    "photo_set make FOLDER SEED [CATEGORY]   writes the photos with truth.tsv; SEED is a number, tuning or reported\n"
    "photo_set judge FOLDER [ours] [zxing] [zbar] [missed]\n"
    "                                        reads them and prints a table by category\n"
    "tests/photos/run does both with the reported seed.\n";

std::uint32_t seed_of(const std::string& text) {
  if (text == "tuning") return kTuningSeed;
  if (text == "reported") return kReportedSeed;
  return static_cast<std::uint32_t>(std::stoul(text));
}

std::string file_name(std::string_view category, int number) {
  std::string name(category);
  for (char& c : name) {
    if (c == ' ') c = '-';
  }
  return name + "-" + std::to_string(number) + ".jpg";
}

void make(const std::filesystem::path& folder, std::uint32_t seed, const std::string& only) {
  std::filesystem::create_directories(folder);
  std::ofstream truth(folder / "truth.tsv", only.empty() ? std::ios::trunc : std::ios::app);
  for (const Category& category : photo_categories()) {
    if (!only.empty() && only != category.name) continue;
    for (int number = 0; number < category.photos; ++number) {
      const Shot shot = make_photo(seed, category, number);
      const std::string name = file_name(category.name, number);
      std::ofstream(folder / name, std::ios::binary) << shot.jpeg;
      truth << name << '\t' << category.name << '\t' << category.counted;
      for (const auto& label : shot.labels) {
        truth << '\t' << label.payload;
        for (const auto& corner : label.corners) truth << '\t' << corner.x << '\t' << corner.y;
      }
      truth << '\n';
    }
  }
}

}  // namespace

int main(int count, char** words) {
  const std::vector<std::string> all(words + 1, words + count);
  try {
    if (all.size() >= 3 && all[0] == "make") {
      make(all[1], seed_of(all[2]), all.size() > 3 ? all[3] : "");
      return 0;
    }
    if (all.size() >= 2 && all[0] == "judge") return judge(all[1], {all.begin() + 2, all.end()});
  } catch (const core::Error& error) {
    std::cerr << error.what() << '\n';
    return 1;
  }
  std::cerr << kHelp;
  return 2;
}
