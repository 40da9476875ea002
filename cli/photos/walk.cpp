#include "cli/photos/walk.h"

#include <algorithm>
#include <cmath>

namespace rackside::cli {
namespace {

using labels::PixelPoint;

constexpr int kSureSightings = 3;     ///< a label that was never read is told when it was seen so often
constexpr double kKeptSeconds = 0.7;  ///< a label may be hidden for so long and still be followed
constexpr double kBesideSides = 6;    ///< of the symbol: farther away, a place label is another tub's

PixelPoint middle_of(const labels::Corners& corners) {
  PixelPoint middle;
  for (const PixelPoint& corner : corners) {
    middle.x += corner.x / 4;
    middle.y += corner.y / 4;
  }
  return middle;
}

double side_of(const labels::Corners& corners) {
  return std::hypot(corners[1].x - corners[0].x, corners[1].y - corners[0].y);
}

double median(std::vector<double> values) {
  if (values.empty()) return 0;
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  return *middle;
}

/// The nearest place label that is near enough; null when there is none.
const labels::ReadSymbol* place_beside(const labels::PictureReading& reading, const labels::ReadSymbol& card) {
  const PixelPoint at = middle_of(card.corners);
  const labels::ReadSymbol* best = nullptr;
  double least = kBesideSides * side_of(card.corners);
  for (const labels::ReadSymbol& other : reading.symbols) {
    if (other.reading.code->kind() != core::CodeKind::place) continue;
    const PixelPoint there = middle_of(other.corners);
    const double away = std::hypot(there.x - at.x, there.y - at.y);
    if (away >= least) continue;
    least = away;
    best = &other;
  }
  return best;
}

}  // namespace

/// The view moves as the median of the labels that both pictures show.
PixelPoint Walk::moved_since_last(const labels::PictureReading& reading) const {
  std::vector<double> x;
  std::vector<double> y;
  for (const labels::ReadSymbol& symbol : reading.symbols) {
    const auto before = last_places_.find(symbol.reading.code->str());
    if (before == last_places_.end()) continue;
    const PixelPoint at = middle_of(symbol.corners);
    x.push_back(at.x - before->second.x);
    y.push_back(at.y - before->second.y);
  }
  return {median(std::move(x)), median(std::move(y))};
}

void Walk::follow(const labels::Corners& corners, const PixelPoint& moved, double seconds,
                  std::optional<labels::Unread> why, std::vector<Track>& now) {
  const PixelPoint at = middle_of(corners);
  const double side = side_of(corners);
  Track track{at, side, seconds, seconds, 0, false, labels::Unread::damaged};
  for (auto known = tracks_.begin(); known != tracks_.end(); ++known) {
    if (std::hypot(known->at.x + moved.x - at.x, known->at.y + moved.y - at.y) > std::max(side, known->side)) continue;
    track = *known;
    tracks_.erase(known);
    break;
  }
  track.at = at;
  track.side = side;
  track.last = seconds;
  ++track.times;
  if (why) {
    track.why = *why;
  } else {
    track.read = true;
  }
  now.push_back(track);
}

void Walk::add(const labels::PictureReading& reading, double seconds) {
  const PixelPoint moved = moved_since_last(reading);
  std::vector<Track> now;
  last_places_.clear();
  for (const labels::ReadSymbol& symbol : reading.symbols) {
    const std::string code = symbol.reading.code->str();
    follow(symbol.corners, moved, seconds, std::nullopt, now);
    last_places_[code] = middle_of(symbol.corners);
    Seen& seen = seen_[code];
    if (seen.times++ == 0) {
      seen.code = code;
      seen.first = seconds;
    }
    seen.last = seconds;
    if (symbol.reading.code->kind() == core::CodeKind::place) continue;
    if (const auto* place = place_beside(reading, symbol)) ++seen.beside[place->reading.code->str()];
  }
  for (const labels::UnreadSpot& spot : reading.unread) follow(spot.corners, moved, seconds, spot.why, now);
  for (Track& track : tracks_) {
    track.at.x += moved.x;
    track.at.y += moved.y;
    (seconds - track.last < kKeptSeconds ? now : ended_).push_back(track);
  }
  tracks_ = std::move(now);
}

std::vector<Walk::Seen> Walk::seen() const {
  std::vector<Seen> all;
  for (const auto& [code, seen] : seen_) all.push_back(seen);
  std::sort(all.begin(), all.end(), [](const Seen& a, const Seen& b) { return a.first < b.first; });
  return all;
}

std::vector<Walk::Missed> Walk::missed() const {
  std::vector<Missed> all;
  for (const auto* tracks : {&ended_, &tracks_}) {
    for (const Track& track : *tracks) {
      if (!track.read && track.times >= kSureSightings) all.push_back({track.first, track.last, track.why});
    }
  }
  std::sort(all.begin(), all.end(), [](const Missed& a, const Missed& b) { return a.first < b.first; });
  return all;
}

}  // namespace rackside::cli
