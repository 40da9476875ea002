#include "labels/read/finders.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstring>
#include <numbers>
#include <optional>
#include <span>

#include "labels/read/binarize.h"

namespace rackside::labels {
namespace {

constexpr double kLeastModule = 1.1;  ///< pixels
constexpr double kMostModule = 7.5;
constexpr int kLeastTwelve = static_cast<int>(12 * kLeastModule) - 2;  ///< pixels, as counted between pixels
constexpr int kMostTwelve = static_cast<int>(12 * kMostModule) + 3;
constexpr double kInkOverNoise = 1.2;
constexpr int kRays = 24;
constexpr double kLeastQuality = 0.6;
constexpr int kRowStep = 2;  ///< the middle square is at least three pixels high

/// The directions of the rays.
const std::array<PixelPoint, kRays>& ways() {
  static const auto kAll = [] {
    std::array<PixelPoint, kRays> all;
    for (std::size_t i = 0; i < kRays; ++i) {
      const double angle = 2 * std::numbers::pi * static_cast<double>(i) / kRays;
      all[i] = {std::cos(angle), std::sin(angle)};
    }
    return all;
  }();
  return kAll;
}

/// Six edges of five runs. Ink that spread and blur move dark-to-light edges one way and light-to-dark ones the other,
/// so what is measured is the distance between edges of one kind: 2, 4, 4 and 2 modules.
bool looks_like_finder(const double* edge, double& module) {
  module = (edge[5] - edge[0] + edge[4] - edge[1]) / 12;
  if (module < kLeastModule || module > kMostModule) return false;
  const double slack = module * 0.7 + 0.25;
  if (std::abs(edge[2] - edge[0] - 2 * module) > slack) return false;
  if (std::abs(edge[5] - edge[3] - 2 * module) > slack) return false;
  if (std::abs(edge[3] - edge[1] - 4 * module) > 1.5 * slack) return false;
  if (std::abs(edge[4] - edge[2] - 4 * module) > 1.5 * slack) return false;
  return edge[3] - edge[2] > 1.4 * module && edge[3] - edge[2] < 4.6 * module;
}

/// The standard deviation of the noise: half of all pixels stray less from the mean of their neighbours than this says,
/// as most of a picture is plain.
double noise_of(const GrayImage& image) {
  std::array<int, 512> counts{};
  int all = 0;
  for (int y = 0; y < image.height; y += 7) {
    const std::uint8_t* row = image.pixels.data() + image.index(0, y);
    for (int x = 1; x + 1 < image.width; x += 3, ++all)
      ++counts[static_cast<std::size_t>(std::min(511, std::abs(2 * row[x] - row[x - 1] - row[x + 1])))];
  }
  int below = 0;
  std::size_t median = 0;
  while (median < counts.size() - 1 && (below += counts[median]) * 2 < all) ++median;
  // The second difference has six times the variance; half of a normal distribution lies within 0.6745 of it.
  return static_cast<double>(median) / (0.6745 * std::sqrt(6.0));
}

class Search {
 public:
  Search(const GrayImage& image, int window, const std::vector<Corners>& known)
      : image_(image), known_(known), map_(threshold_of(image, window)), noise_(noise_of(image)) {
    ceiling_.resize(static_cast<std::size_t>(map_.columns) * kThresholdCell);
    dark_.resize(static_cast<std::size_t>(image.width));
    edge_.resize(static_cast<std::size_t>(image.width));
    edges_.resize(static_cast<std::size_t>(image.width) + 1);
  }

  std::vector<FinderPattern> run() {
    for (int y = 0; y < image_.height; y += kRowStep) scan_row(y);
    return std::move(found_);
  }

 private:
  /// Over the threshold: positive on light. Only inside of the picture.
  double level(int x, int y) const { return image_.at(x, y) - static_cast<double>(map_.at(x, y)); }

  /// Dark by more than noise makes of plain paper: the mean of nine pixels strays by a third of what one does.
  bool is_ink(int x, int y) const {
    if (x < 1 || y < 1 || x >= image_.width - 1 || y >= image_.height - 1) return false;
    double sum = 0;
    for (int dy = -1; dy <= 1; ++dy) {
      for (int dx = -1; dx <= 1; ++dx) sum += image_.at(x + dx, y + dy);
    }
    return level(x, y) - image_.at(x, y) + sum / 9 < -noise_ * kInkOverNoise;
  }

  /// Spreads the threshold of a row of squares over its pixels. An integer is below a number just when it is below the
  /// number rounded up.
  void spread_threshold(int y) {
    const float* grey = map_.row(y);
    if (grey == spread_) return;
    spread_ = grey;
    for (int cell = 0; cell < map_.columns; ++cell) {
      const auto ceiling = static_cast<std::uint8_t>(std::ceil(std::clamp(grey[cell], 0.0F, 255.0F)));
      std::memset(ceiling_.data() + cell * kThresholdCell, ceiling, kThresholdCell);
    }
  }

  /// Marks where dark turns to light or back, in loops that the compiler does many pixels at a time.
  void mark_edges(int y) {
    spread_threshold(y);
    // Bytes may be anything's, as far as the compiler knows: it has to be told that none of these overlap.
    const std::uint8_t* __restrict row = image_.pixels.data() + image_.index(0, y);
    const std::uint8_t* __restrict ceiling = ceiling_.data();
    std::uint8_t* __restrict dark = dark_.data();
    std::uint8_t* __restrict edge = edge_.data();
    const auto width = static_cast<std::size_t>(image_.width);
    for (std::size_t x = 0; x < width; ++x) dark[x] = row[x] < ceiling[x];
    for (std::size_t x = 1; x < width; ++x) edge[x] = dark[x] ^ dark[x - 1];
  }

  void scan_row(int y) {
    mark_edges(y);
    int from = 0;
    for (const Span& covered : covered_at(y)) {
      scan(y, from, std::min(covered.from, image_.width));
      from = std::max(from, covered.to);
    }
    scan(y, from, image_.width);
  }

  /// Where between two pixels light crosses the threshold.
  double edge_before(const std::uint8_t* row, const float* grey, int x) const {
    const float here = static_cast<float>(row[x]) - grey[x / kThresholdCell];
    const float before = static_cast<float>(row[x - 1]) - grey[(x - 1) / kThresholdCell];
    return x - 1 + (before == here ? 0.5 : std::clamp<double>(before / (before - here), 0, 1));
  }

  /// Where the edges of a part of a row are: the pixels after them. Without a branch that depends on what is there,
  /// which processors foresee badly; but most of a picture is plain, and passed over eight pixels at a time.
  std::span<const int> edges_between(int from, int to) {
    std::size_t count = 0;
    int x = from + 1;
    for (; x + 8 <= to; x += 8) {
      std::uint64_t eight = 0;
      std::memcpy(&eight, edge_.data() + x, sizeof eight);
      if (eight == 0) continue;
      for (int i = 0; i < 8; ++i) {
        edges_[count] = x + i;
        count += edge_[static_cast<std::size_t>(x + i)];
      }
    }
    for (; x < to; ++x) {
      edges_[count] = x;
      count += edge_[static_cast<std::size_t>(x)];
    }
    return {edges_.data(), count};
  }

  void scan(int y, int from, int to) {
    const std::uint8_t* row = image_.pixels.data() + image_.index(0, y);
    const float* grey = map_.row(y);
    const std::span<const int> edges = edges_between(from, to);
    if (edges.size() < 6) return;
    // Dark and light take turns, and a finder ends where light begins.
    for (std::size_t i = dark_[static_cast<std::size_t>(edges[5])] ? 6 : 5; i < edges.size(); i += 2) {
      const int* pixel = &edges[i - 5];
      // Each edge lies within the pixel before: what cannot be a finder is most often far from one.
      const int twelve_modules = pixel[5] - pixel[0] + pixel[4] - pixel[1];
      if (twelve_modules < kLeastTwelve || twelve_modules > kMostTwelve) continue;
      double edge[6];
      for (std::size_t k = 0; k < 6; ++k) edge[k] = edge_before(row, grey, pixel[k]);
      double module = 0;
      if (!looks_like_finder(edge, module)) continue;
      const double middle = (edge[2] + edge[3]) / 2;
      if (is_ink(static_cast<int>(middle + 0.5), y)) check(middle, y, module);
    }
  }

  /// Along a row.
  struct Span {
    int from;
    int to;
  };
  /// What symbols that are known already cover of a row, from the left.
  const std::vector<Span>& covered_at(int y) {
    spans_.clear();
    for (const Corners& symbol : known_) {
      double from = image_.width;
      double to = -1;
      for (std::size_t i = 0; i < 4; ++i) {
        const PixelPoint& a = symbol[i];
        const PixelPoint& b = symbol[(i + 1) % 4];
        if ((a.y < y) == (b.y < y)) continue;
        const double x = a.x + (y - a.y) / (b.y - a.y) * (b.x - a.x);
        from = std::min(from, x);
        to = std::max(to, x);
      }
      if (to >= 0 && from < to)
        spans_.push_back({static_cast<int>(std::max(from, 0.0)), static_cast<int>(std::min<double>(to, image_.width))});
    }
    std::sort(spans_.begin(), spans_.end(), [](const Span& a, const Span& b) { return a.from < b.from; });
    return spans_;
  }

  /// Where a ray from a dark middle crosses into light, dark and light again; false when it does not, within reach.
  bool ray(double x, double y, double dx, double dy, double most, double edges[3]) const {
    constexpr float kStep = 0.5F;
    const auto steps = static_cast<int>(std::ceil(std::min(most, reach_inside(x, y, dx, dy)) / kStep));
    const auto from_x = static_cast<float>(x);
    const auto from_y = static_cast<float>(y);
    const auto step_x = static_cast<float>(dx) * kStep;
    const auto step_y = static_cast<float>(dy) * kStep;
    int crossed = 0;
    float before = -1;
    for (int i = 0; i < steps; ++i) {
      const float px = from_x + static_cast<float>(i) * step_x;
      const float py = from_y + static_cast<float>(i) * step_y;
      const int left = static_cast<int>(px);
      const int top = static_cast<int>(py);
      const float fx = px - static_cast<float>(left);
      const float fy = py - static_cast<float>(top);
      const std::uint8_t* p = image_.pixels.data() + image_.index(left, top);
      const std::uint8_t* q = p + image_.width;
      const float upper = static_cast<float>(p[0]) + static_cast<float>(p[1] - p[0]) * fx;
      const float lower = static_cast<float>(q[0]) + static_cast<float>(q[1] - q[0]) * fx;
      const float here = upper + (lower - upper) * fy - map_.at(left, top);
      if (i == 0 && here >= 0) return false;
      if ((here < 0) != (before < 0)) {
        edges[crossed] = kStep * (static_cast<float>(i) - (here == before ? 0.5F : here / (here - before)));
        if (++crossed == 3) return true;
      }
      before = here;
    }
    return false;
  }

  /// How far a ray may run before it leaves the picture, a pixel kept for what is read beside it. Negative from
  /// outside.
  double reach_inside(double x, double y, double dx, double dy) const {
    const auto along = [](double at, double way, double size) {
      const double kept = std::max(0.01, size * 2.5e-7);  // for what is lost in rounding
      const double last = size - 1 - kept;
      if (!(at >= 0 && at <= last)) return -1.0;
      if (std::abs(way) < 1e-9) return 1e9;
      return way > 0 ? (last - at) / way : std::max(0.0, at - kept) / -way;
    };
    return std::min(along(x, dx, image_.width), along(y, dy, image_.height));
  }

  /// Up and down through a row's finding: the middle of the column's dark run, and a module's height.
  bool middle_of_column(double x, double& y, double& module, double most) const {
    double down[3];
    double up[3];
    if (!ray(x, y, 0, 1, most, down) || !ray(x, y, 0, -1, most, up)) return false;
    const double edge[6] = {-up[2], -up[1], -up[0], down[0], down[1], down[2]};
    if (!looks_like_finder(edge, module)) return false;
    y += (down[0] - up[0]) / 2;
    return true;
  }

  void check(double x, double row, double module) {
    double y = row;
    double height = 0;
    if (is_known(x, y)) return;
    if (!middle_of_column(x, y, height, 9 * module * 2)) return;
    if (is_known(x, y)) return;
    if (const auto pattern = measured({x, y}, 6.5 * std::max(module, height))) found_.push_back(*pattern);
  }

  bool is_known(double x, double y) const {
    // The newest are last, and rows run downwards: what this belongs to is near the end.
    for (auto known = found_.rbegin(); known != found_.rend(); ++known) {
      const PixelPoint away{x - known->center.x, y - known->center.y};
      if (std::abs(away.x) + std::abs(away.y) < 40 && known->shape.inner(away, away) < 4) return true;
      if (y - known->center.y > 200) return false;
    }
    return false;
  }

  struct Rays {
    std::array<double, kRays> radius{};  ///< three modules; 0 where it looks wrong
    int good = 0;
  };
  Rays cast(const PixelPoint& center, double most) const {
    Rays rays;
    for (std::size_t i = 0; i < kRays; ++i) {
      double edge[3];
      if (!ray(center.x, center.y, ways()[i].x, ways()[i].y, most, edge)) continue;
      const double module = (edge[1] + edge[2]) / 6;
      if (std::abs(edge[0] - 1.5 * module) > 0.8 * module + 0.2) continue;
      if (edge[2] - edge[1] > 2.2 * module + 0.3) continue;
      rays.radius[i] = (edge[1] + edge[2]) / 2;
      ++rays.good;
    }
    return rays;
  }

  /// The pattern's middle and shape, from where its outer ring lies in all directions.
  std::optional<FinderPattern> measured(PixelPoint center, double most) const {
    Rays rays;
    for (int round = 0; round < 2; ++round) {
      rays = cast(center, most);
      if (rays.good < kLeastQuality * kRays) return std::nullopt;
      if (round == 0) recenter(center, rays);
    }
    fill_gaps(rays);
    double area = 0;
    double xx = 0;
    double xy = 0;
    double yy = 0;
    for (std::size_t i = 0; i < kRays; ++i) {
      const PixelPoint& way = ways()[i];
      const double r = rays.radius[i];
      area += r * r / 2;
      const double moment = r * r * r * r / 4;
      xx += moment * way.x * way.x;
      xy += moment * way.x * way.y;
      yy += moment * way.y * way.y;
    }
    if (area <= 0) return std::nullopt;
    // A square of half a side a has second moments a²/3; a is three modules here.
    const double scale = 1 / (3 * area);
    const FinderPattern pattern{center, {xx * scale, xy * scale, yy * scale}, rays.good / static_cast<double>(kRays)};
    const double module = std::sqrt(pattern.shape.area());
    // Seen from the side at 60 degrees a square is twice as long as wide; more is no label.
    const double longest = (pattern.shape.xx + pattern.shape.yy) / (module * module);
    if (!(module >= kLeastModule && module <= kMostModule) || longest > 4.5) return std::nullopt;
    return pattern;
  }

  static void recenter(PixelPoint& center, const Rays& rays) {
    double x = 0;
    double y = 0;
    int pairs = 0;
    for (std::size_t i = 0; i < kRays / 2; ++i) {
      const double ahead = rays.radius[i];
      const double behind = rays.radius[i + kRays / 2];
      if (ahead <= 0 || behind <= 0) continue;
      x += (ahead - behind) / 2 * ways()[i].x;
      y += (ahead - behind) / 2 * ways()[i].y;
      ++pairs;
    }
    if (pairs == 0) return;
    // A move along every direction shows in each by its cosine, half of it on average.
    center.x += 2 * x / pairs;
    center.y += 2 * y / pairs;
  }

  /// What one direction did not show, the opposite one does.
  static void fill_gaps(Rays& rays) {
    double sum = 0;
    for (const double r : rays.radius) sum += r;
    const double mean = sum / rays.good;
    const auto known = rays.radius;
    for (std::size_t i = 0; i < kRays; ++i) {
      if (known[i] > 0) continue;
      const double opposite = known[(i + kRays / 2) % kRays];
      rays.radius[i] = opposite > 0 ? opposite : mean;
    }
  }

  const GrayImage& image_;
  const std::vector<Corners>& known_;
  ThresholdMap map_;
  double noise_;
  const float* spread_ = nullptr;  ///< whose squares' thresholds are in ceiling_
  std::vector<Span> spans_;
  std::vector<std::uint8_t> ceiling_;
  std::vector<std::uint8_t> dark_;
  std::vector<std::uint8_t> edge_;
  std::vector<int> edges_;
  std::vector<FinderPattern> found_;
};

}  // namespace

double ModuleShape::area() const {
  return std::sqrt(std::max(0.0, xx * yy - xy * xy));
}

double ModuleShape::inner(const PixelPoint& a, const PixelPoint& b) const {
  const double determinant = xx * yy - xy * xy;
  return (yy * a.x * b.x - xy * (a.x * b.y + a.y * b.x) + xx * a.y * b.y) / determinant;
}

PixelPoint ModuleShape::turned(const PixelPoint& v) const {
  // T · R(90°) · T⁻¹ = J · (T·Tᵀ)⁻¹ · det T with J the quarter turn, for any T with T·Tᵀ = this.
  const double determinant = std::sqrt(std::max(1e-12, xx * yy - xy * xy));
  return {(xy * v.x - xx * v.y) / determinant, (yy * v.x - xy * v.y) / determinant};
}

ModuleShape between(const ModuleShape& a, const ModuleShape& b) {
  return {(a.xx + b.xx) / 2, (a.xy + b.xy) / 2, (a.yy + b.yy) / 2};
}

std::vector<FinderPattern> find_finder_patterns(const GrayImage& image, int window, const std::vector<Corners>& known) {
  if (image.width < 8 || image.height < 8) return {};
  return Search(image, window, known).run();
}

}  // namespace rackside::labels
