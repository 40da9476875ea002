#include "tests/photos/judge.h"

#define ZX_USE_UTF8 1
#include <ZXing/ReadBarcode.h>

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <ctime>
#include <fstream>
#include <iostream>
#include <memory>
#include <sstream>

#include "core/base/error.h"
#include "labels/image/load.h"
#include "labels/read/read.h"
#include "labels/read/trial.h"
#include "labels/symbol/symbol.h"
#include "tests/photos/set.h"

namespace rackside::tests {
namespace {

struct Photo {
  std::string path;
  std::string category;
  bool counted = true;
  std::vector<Shot::Truth> labels;
};

std::vector<Photo> photos_of(const std::string& folder) {
  std::ifstream file(folder + "/truth.tsv");
  std::vector<Photo> photos;
  for (std::string line; std::getline(file, line);) {
    std::istringstream words(line);
    Photo photo;
    std::string counted;
    std::getline(words, photo.path, '\t');
    std::getline(words, photo.category, '\t');
    std::getline(words, counted, '\t');
    photo.path = folder + "/" + photo.path;
    photo.counted = counted == "1";
    for (std::string payload; std::getline(words, payload, '\t');) {
      Shot::Truth label{payload, {}};
      for (auto& corner : label.corners) words >> corner.x >> corner.y;
      words.ignore(1);
      photo.labels.push_back(label);
    }
    photos.push_back(photo);
  }
  if (photos.empty()) throw core::Error(core::Fault::bad_input, folder + " has no truth.tsv with photos.");
  return photos;
}

double processor_ms() {
  timespec now{};
  clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &now);
  return static_cast<double>(now.tv_sec) * 1e3 + static_cast<double>(now.tv_nsec) / 1e6;
}

using Texts = std::vector<std::string>;

Texts ours(const labels::GrayImage& image, std::vector<labels::UnreadSpot>& unread) {
  Texts texts;
  labels::PictureReading reading = labels::read_symbols(image);
  for (const labels::ReadSymbol& symbol : reading.symbols) texts.push_back(symbol.text);
  unread = std::move(reading.unread);
  return texts;
}

/// As anyone would call it: its default settings, for the format in question.
Texts zxing_alone(const labels::GrayImage& image) {
#if __has_include(<ZXing/ReaderOptions.h>)
  ZXing::ReaderOptions options;
#else
  ZXing::DecodeHints options;
#endif
  options.setFormats(ZXing::BarcodeFormat::QRCode);
  Texts texts;
  const ZXing::ImageView view(image.pixels.data(), image.width, image.height, ZXing::ImageFormat::Lum);
  for (const auto& result : ZXing::ReadBarcodes(view, options)) {
    if (result.isValid()) texts.push_back(result.text());
  }
  return texts;
}

Texts zbarimg(const std::string& path) {
  const std::string command = "zbarimg --quiet --raw -Sdisable -Sqrcode.enable '" + path + "' 2>/dev/null";
  const std::unique_ptr<FILE, int (*)(FILE*)> pipe(popen(command.c_str(), "r"), pclose);
  std::string all;
  char buffer[4096];
  while (const std::size_t count = fread(buffer, 1, sizeof buffer, pipe.get())) all.append(buffer, count);
  Texts texts;
  std::istringstream lines(all);
  for (std::string line; std::getline(lines, line);) texts.push_back(line);
  return texts;
}

struct Score {
  int labels = 0;
  int read = 0;
  int wrong = 0;
  int photos = 0;
  double ms = 0;
  double worst_ms = 0;
  int told = 0;         ///< labels that were not read but pointed at
  int false_spots = 0;  ///< places pointed at where no label is
  void add(const Score& other) {
    labels += other.labels;
    read += other.read;
    wrong += other.wrong;
    photos += other.photos;
    ms += other.ms;
    worst_ms = std::max(worst_ms, other.worst_ms);
    told += other.told;
    false_spots += other.false_spots;
  }
};

/// Each label is read at most once; a code of ours that no label of the photo carries is wrong.
Score score_of(const Photo& photo, Texts texts, double ms, std::vector<std::size_t>* missed) {
  Score score;
  score.labels = static_cast<int>(photo.labels.size());
  score.photos = 1;
  score.ms = score.worst_ms = ms;
  for (const std::string& text : texts) {
    const auto code = core::read_code(text).code;
    const auto same = [&](const Shot::Truth& label) { return core::read_code(label.payload).code == code; };
    if (code && std::none_of(photo.labels.begin(), photo.labels.end(), same)) ++score.wrong;
  }
  for (std::size_t i = 0; i < photo.labels.size(); ++i) {
    const auto found = std::find(texts.begin(), texts.end(), photo.labels[i].payload);
    if (found != texts.end()) {
      texts.erase(found);
      ++score.read;
    } else if (missed != nullptr) {
      missed->push_back(i);
    }
  }
  return score;
}

struct Row {
  std::string category;
  bool counted = true;
  Score readers[3];
};

void print_row(const std::string& name, const Score* readers, const bool* used) {
  std::printf("%-16s %6d", name.c_str(), readers[used[0] ? 0 : used[1] ? 1 : 2].labels);
  for (int r = 0; r < 3; ++r) {
    if (!used[r]) continue;
    const Score& s = readers[r];
    std::printf("  %4d %5.1f%% w%d", s.read, 100.0 * s.read / std::max(1, s.labels), s.wrong);
    if (r < 2) std::printf(" %6.1f ms", s.ms / std::max(1, s.photos));  // zbarimg is a process of its own
  }
  if (used[0])
    std::printf("  (worst %.0f ms; pointed at %d unread, %d wrongly)", readers[0].worst_ms, readers[0].told,
                readers[0].false_spots);
  std::printf("\n");
}

labels::PixelPoint middle_of(const labels::Corners& corners) {
  return {(corners[0].x + corners[2].x) / 2, (corners[0].y + corners[2].y) / 2};
}

void count_spots(const Photo& photo, const std::vector<std::size_t>& missed,
                 const std::vector<labels::UnreadSpot>& spots, Score& score) {
  const auto at = [](const labels::UnreadSpot& spot, const Shot::Truth& label) {
    const auto a = middle_of(spot.corners);
    const auto b = middle_of(label.corners);
    return std::hypot(a.x - b.x, a.y - b.y) <
           0.6 * std::hypot(label.corners[1].x - label.corners[0].x, label.corners[1].y - label.corners[0].y);
  };
  for (const std::size_t i : missed)
    score.told += std::any_of(spots.begin(), spots.end(), [&](const auto& s) { return at(s, photo.labels[i]); });
  for (const auto& spot : spots)
    score.false_spots +=
        std::none_of(photo.labels.begin(), photo.labels.end(), [&](const auto& label) { return at(spot, label); });
}

/// What a trial at the very place makes of it: tells a label that was not found from one that cannot be decoded.
void tell_missed(const Photo& photo, const labels::GrayImage& image, const std::vector<std::size_t>& missed) {
  const labels::Pyramid pyramid(image);
  for (const std::size_t i : missed) {
    const auto& label = photo.labels[i];
    const int size = labels::make_symbol(label.payload).size;
    const labels::Projection project(0, size, label.corners);
    labels::Candidate candidate{project(3.5, 3.5), project(size - 3.5, 3.5), project(3.5, size - 3.5),
                                project(size - 3.5, size - 3.5)};
    candidate.size = size;
    candidate.module =
        std::hypot(label.corners[1].x - label.corners[0].x, label.corners[1].y - label.corners[0].y) / size;
    labels::Trial trial(pyramid, candidate);
    const double fit = trial.fit();
    bool decodes = trial.read_plainly().has_value();
    decodes = decodes || trial.read_hard().has_value();
    std::printf("missed %s #%zu at %.0f,%.0f size %d, %.1f px a module: sight %.2f fit %.2f then %.2f, %s\n",
                photo.path.c_str(), i, middle_of(label.corners).x, middle_of(label.corners).y, size, candidate.module,
                labels::first_sight(pyramid, candidate, size), fit, trial.fit(), decodes ? "not found" : "not decoded");
  }
}

}  // namespace

int judge(const std::string& folder, const std::vector<std::string>& words) {
  const auto asked = [&](const char* word) { return std::find(words.begin(), words.end(), word) != words.end(); };
  const bool used[3] = {asked("ours") || (!asked("zxing") && !asked("zbar")), asked("zxing"), asked("zbar")};
  std::vector<Row> rows;
  for (const Photo& photo : photos_of(folder)) {
    if (rows.empty() || rows.back().category != photo.category) rows.push_back({photo.category, photo.counted, {}});
    const std::string bytes = labels::load_picture_file(photo.path);
    const labels::GrayImage image = labels::read_picture(core::as_bytes(bytes), photo.path);
    for (int r = 0; r < 3; ++r) {
      if (!used[r]) continue;
      std::vector<labels::UnreadSpot> unread;
      const double begin = processor_ms();
      const Texts texts = r == 0 ? ours(image, unread) : r == 1 ? zxing_alone(image) : zbarimg(photo.path);
      const double ms = processor_ms() - begin;
      std::vector<std::size_t> missed;
      Score score = score_of(photo, texts, ms, &missed);
      if (r == 0) count_spots(photo, missed, unread, score);
      rows.back().readers[r].add(score);
      if (r == 0 && score.wrong > 0) std::printf("WRONG in %s\n", photo.path.c_str());
      if (r == 0 && asked("missed")) tell_missed(photo, image, missed);
    }
  }
  std::printf("%-16s %6s  read, part, wrong (w), processor time a photo beyond decoding the file: %s%s%s\n", "category",
              "labels", used[0] ? "ours " : "", used[1] ? "ZXing-cpp " : "",
              used[2] ? "zbarimg (a program of its own: time not taken)" : "");
  Score total[3];
  for (const Row& row : rows) {
    print_row(row.category, row.readers, used);
    for (int r = 0; r < 3 && row.counted; ++r) total[r].add(row.readers[r]);
  }
  print_row("all to 2 MP", total, used);
  int wrong = 0;
  for (const Row& row : rows) wrong += row.readers[0].wrong;
  return wrong > 0 ? 1 : 0;
}

}  // namespace rackside::tests
