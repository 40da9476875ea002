#include "labels/read/read.h"

#include <algorithm>
#include <cmath>

#include "labels/image/load.h"
#include "labels/read/pattern.h"
#include "labels/read/trial.h"

namespace rackside::labels {
namespace {

constexpr std::size_t kMostPatterns = 1500;  ///< a picture of more is no rack
constexpr std::size_t kMostCandidates = 20'000;
constexpr int kWideWindow = 2;  ///< squares on each side that a pixel is compared with, see threshold_of
constexpr int kNarrowWindow = 1;
constexpr int kWork = 1200;  ///< steps in all for one picture
constexpr int kTrialCost = 1;
constexpr int kHardCost = 4;
constexpr std::size_t kMostSettled = 60;
constexpr double kGlimpse = 0.3;       ///< first sight from which a candidate may settle
constexpr double kLikely = 0.4;        ///< first sight from which a candidate is worth a trial
constexpr double kForeignSight = 0.6;  ///< likewise for symbols that are too large to be ours
constexpr int kMostForeign = 12;
constexpr double kClearly = 0.6;       ///< fit from which it surely is a symbol
constexpr double kSameLook = 3;        ///< modules that the finders of two candidates of a symbol may differ by
constexpr double kBetterSight = 0.03;  ///< first sight
constexpr double kSeenBlurred = 0.66;  ///< first sight
constexpr int kMostDoubtful = 14;      ///< others that are worked hard on at once, in a picture where little was read
constexpr int kFewDoubtful = 4;
constexpr std::size_t kMostWholePixels = 4'000'000;

PixelPoint center_of(const Corners& corners) {
  PixelPoint center;
  for (const PixelPoint& corner : corners) {
    center.x += corner.x / 4;
    center.y += corner.y / 4;
  }
  return center;
}

double distance(const PixelPoint& a, const PixelPoint& b) {
  return std::hypot(a.x - b.x, a.y - b.y);
}

double side_of(const Corners& corners) {
  double around = 0;
  for (std::size_t i = 0; i < 4; ++i) around += distance(corners[i], corners[(i + 1) % 4]);
  return around / 4;
}

/// Two symbols cannot lie within half a side of each other: it is the same one, found twice.
bool same_place(const Corners& a, const Corners& b) {
  return distance(center_of(a), center_of(b)) < std::max(side_of(a), side_of(b)) / 2;
}

/// Inside a symbol, or hardly outside.
bool within(const PixelPoint& point, const Corners& corners) {
  const double slack = side_of(corners) * 0.05;
  for (std::size_t i = 0; i < 4; ++i) {
    const PixelPoint& a = corners[i];
    const PixelPoint& b = corners[(i + 1) % 4];
    const double side = std::max(1e-9, distance(a, b));
    if (((b.x - a.x) * (point.y - a.y) - (b.y - a.y) * (point.x - a.x)) / side < -slack) return false;
  }
  return true;
}

/// Whether a person should be sent to look. Blur spoils the fit more than the first sight of three finder patterns.
bool looks_like_label(const Trial& trial) {
  const Candidate& candidate = trial.candidate();
  return trial.fit() > kClearly ||
         (candidate.sees_all() && candidate.sight > kSeenBlurred && trial.fit() > kLikely / 2);
}

/// Collects what several looks at one picture find.
class Finder {
 public:
  explicit Finder(const GrayImage& picture) : picture_(picture), pyramid_(picture) {}

  void run() {
    std::vector<Trial> hard;
    find_patterns(kWideWindow);
    try_all(glimpsed(triples_of(patterns_), kLikely), hard);
    try_hard(hard);
    mark_used();
    // What blur has half closed is seen against its nearest surroundings only.
    find_patterns(kNarrowWindow);
    std::vector<Candidate> left = glimpsed(triples_of(patterns_), kGlimpse);
    const std::vector<Candidate> pairs = glimpsed(pairs_of(patterns_, used_), kGlimpse);
    left.insert(left.end(), pairs.begin(), pairs.end());
    try_all(settled(std::move(left)), hard);
    try_hard(hard);
    if (found.empty() && picture_.pixels.size() <= kMostWholePixels) look_at_whole();
  }

  /// Those that no symbol was read at after all, each once.
  std::vector<UnreadSpot> unread() const {
    std::vector<UnreadSpot> spots;
    for (const UnreadSpot& spot : unread_) {
      const auto here = [&](const auto& other) { return same_place(spot.corners, other.corners); };
      if (std::any_of(found.begin(), found.end(), here) || std::any_of(spots.begin(), spots.end(), here)) continue;
      spots.push_back(spot);
    }
    return spots;
  }

  std::vector<DecodedSymbol> found;

 private:
  void find_patterns(int window) {
    for (std::size_t level = 0; level < pyramid_.count(); ++level) {
      const double scale = Pyramid::scale(level);
      for (FinderPattern pattern : find_finder_patterns(pyramid_.level(level), window, found_at(level))) {
        pattern.center = {(pattern.center.x + 0.5) * scale - 0.5, (pattern.center.y + 0.5) * scale - 0.5};
        pattern.shape = {pattern.shape.xx * scale * scale, pattern.shape.xy * scale * scale,
                         pattern.shape.yy * scale * scale};
        if (!is_in_symbol(pattern.center)) add_pattern(pattern);
      }
    }
    if (patterns_.size() > kMostPatterns) patterns_.resize(kMostPatterns);
    used_.resize(patterns_.size(), 0);
  }

  /// The symbols found so far, in pixels of a smaller copy.
  std::vector<Corners> found_at(std::size_t level) const {
    const double scale = Pyramid::scale(level);
    std::vector<Corners> symbols;
    for (const DecodedSymbol& symbol : found) {
      Corners corners = symbol.corners;
      for (PixelPoint& corner : corners) corner = {(corner.x + 0.5) / scale - 0.5, (corner.y + 0.5) / scale - 0.5};
      symbols.push_back(corners);
    }
    return symbols;
  }

  /// The same pattern is often seen at two scales.
  void add_pattern(const FinderPattern& pattern) {
    for (FinderPattern& known : patterns_) {
      const PixelPoint away{pattern.center.x - known.center.x, pattern.center.y - known.center.y};
      if (known.shape.inner(away, away) > 4) continue;
      if (pattern.quality > known.quality) known = pattern;
      return;
    }
    patterns_.push_back(pattern);
  }

  bool is_used(const Candidate& candidate) const {
    for (const std::size_t i : candidate.patterns) {
      if (i != Candidate::kNone && used_[i]) return true;
    }
    return false;
  }

  /// Whether the hard work was done already on what surely is this symbol. Its finder patterns by twos, and those that
  /// the other window shows, make many more candidates of one place; only what looks better is worth it again.
  bool was_in_vain(const Candidate& candidate) const {
    return std::any_of(in_vain_.begin(), in_vain_.end(), [&](const Candidate& tried) {
      const double near = kSameLook * tried.module;
      return candidate.size == tried.size && candidate.sight < tried.sight + kBetterSight &&
             distance(candidate.corner, tried.corner) < near && distance(candidate.right, tried.right) < near &&
             distance(candidate.below, tried.below) < near;
    });
  }

  void mark_used() {
    for (std::size_t i = 0; i < patterns_.size(); ++i) used_[i] = used_[i] || is_in_symbol(patterns_[i].center);
  }

  bool is_in_symbol(const PixelPoint& point) const {
    return std::any_of(found.begin(), found.end(),
                       [&](const DecodedSymbol& symbol) { return within(point, symbol.corners); });
  }

  /// Those that look like a symbol at first sight, and as which size; the likeliest first.
  std::vector<Candidate> glimpsed(std::vector<Candidate> candidates, double least) const {
    std::erase_if(candidates, [&](const Candidate& candidate) { return is_used(candidate); });
    if (candidates.size() > kMostCandidates) candidates.resize(kMostCandidates);
    for (Candidate& candidate : candidates) look_at(candidate);
    keep_best(candidates, least);
    return candidates;
  }

  std::vector<Candidate> settled(std::vector<Candidate> candidates) const {
    keep_best(candidates, kGlimpse);
    if (candidates.size() > kMostSettled) candidates.resize(kMostSettled);
    for (Candidate& candidate : candidates) settle(pyramid_, candidate);
    keep_best(candidates, kLikely);
    return candidates;
  }

  /// All that is cheap with each.
  void try_all(const std::vector<Candidate>& candidates, std::vector<Trial>& hard) {
    hard.clear();
    for (const Candidate& candidate : candidates) {
      if (is_used(candidate)) continue;
      // Symbols that are too large to be ours cost much, and only the decoder knows them.
      const bool foreign = candidate.size > kMostSize;
      if (foreign && (candidate.sight < kForeignSight || foreign_trials_++ > kMostForeign)) continue;
      if ((work_ -= kTrialCost) < 0) return;
      Trial trial(pyramid_, candidate);
      if (trial.is_none()) continue;
      if (!take(trial, trial.read_plainly())) hard.push_back(std::move(trial));
    }
  }

  static void keep_best(std::vector<Candidate>& candidates, double least) {
    std::erase_if(candidates, [&](const Candidate& candidate) { return candidate.sight < least; });
    std::sort(candidates.begin(), candidates.end(),
              [](const Candidate& a, const Candidate& b) { return a.sight > b.sight; });
  }

  /// The finders' distance is not sure to a version: the timing patterns tell which it is.
  void look_at(Candidate& candidate) const {
    candidate.sight = first_sight(pyramid_, candidate, candidate.size);
    const double half_way = candidate.modules - (candidate.size - 7);
    const int other = candidate.size + (half_way > 0 ? 4 : -4);
    if (std::abs(half_way) < 0.5 || other < kLeastSize) return;
    const double sight = first_sight(pyramid_, candidate, other);
    if (sight <= candidate.sight) return;
    candidate.sight = sight;
    candidate.size = other;
  }

  /// Those that look most like a symbol first.
  void try_hard(std::vector<Trial>& trials) {
    std::sort(trials.begin(), trials.end(), [](const Trial& a, const Trial& b) { return a.promise() > b.promise(); });
    const int most_doubtful = std::max(kFewDoubtful, kMostDoubtful - static_cast<int>(found.size()));
    int doubtful = 0;
    for (Trial& trial : trials) {
      if (is_used(trial.candidate()) || was_in_vain(trial.candidate())) continue;
      if (trial.fit() < kClearly && ++doubtful > most_doubtful) continue;
      if ((work_ -= kHardCost) < 0) return;
      if (take(trial, trial.read_hard())) continue;
      if (trial.fit() > kClearly) in_vain_.push_back(trial.candidate());
      if (looks_like_label(trial)) unread_.push_back({trial.corners(), trial.why_unread()});
    }
  }

  bool take(const Trial& trial, std::optional<std::string> text) {
    if (!text) return false;
    for (const std::size_t i : trial.candidate().patterns) {
      if (i != Candidate::kNone) used_[i] = 1;
    }
    add({std::move(*text), trial.corners()});
    return true;
  }

  void look_at_whole() {
    for (DecodedSymbol& symbol : decode_symbols(GrayView(picture_), Effort::thorough)) add(std::move(symbol));
  }

  void add(DecodedSymbol symbol) {
    const auto known = [&](const DecodedSymbol& other) { return same_place(symbol.corners, other.corners); };
    if (std::none_of(found.begin(), found.end(), known)) found.push_back(std::move(symbol));
  }

  const GrayImage& picture_;
  Pyramid pyramid_;
  std::vector<FinderPattern> patterns_;
  std::vector<char> used_;
  std::vector<UnreadSpot> unread_;
  std::vector<Candidate> in_vain_;
  int work_ = kWork;
  int foreign_trials_ = 0;
};

/// Reading order: rows are told apart by half a symbol's height.
template <class Placed>
void sort_by_place(std::vector<Placed>& symbols) {
  const auto top = [](const Placed& s) { return center_of(s.corners).y; };
  const auto left = [](const Placed& s) { return center_of(s.corners).x; };
  std::sort(symbols.begin(), symbols.end(), [&](const auto& a, const auto& b) { return top(a) < top(b); });
  for (auto begin = symbols.begin(); begin != symbols.end();) {
    auto end = begin + 1;
    while (end != symbols.end() && top(*end) - top(*begin) < side_of(begin->corners) / 2) ++end;
    std::sort(begin, end, [&](const auto& a, const auto& b) { return left(a) < left(b); });
    begin = end;
  }
}

}  // namespace

PictureReading read_symbols(const GrayImage& picture, const ReadOptions& options) {
  PictureReading result{picture.width, picture.height, {}, 0, {}};
  if (picture.width < kLeastSize || picture.height < kLeastSize) return result;
  Finder finder(picture);
  finder.run();
  for (DecodedSymbol& decoded : finder.found) {
    ReadSymbol symbol{std::move(decoded.text), decoded.corners, {}};
    symbol.reading = core::read_code(symbol.text);
    if (!symbol.reading.code) ++result.foreign;
    if (symbol.reading.code || options.scope == ReadScope::any) result.symbols.push_back(std::move(symbol));
  }
  result.unread = finder.unread();
  sort_by_place(result.symbols);
  sort_by_place(result.unread);
  return result;
}

PictureReading read_image(core::ByteSpan bytes, const std::string& name, const ReadOptions& options) {
  return read_symbols(read_picture(bytes, name), options);
}

PictureReading read_image_file(const std::string& path, const ReadOptions& options) {
  const std::string bytes = load_picture_file(path);
  return read_image(core::as_bytes(bytes), path, options);
}

}  // namespace rackside::labels
