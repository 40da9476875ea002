#pragma once

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "labels/read/read.h"

namespace rackside::cli {

/// What a walk along racks saw: labels followed from picture to picture.
class Walk {
 public:
  void add(const labels::PictureReading& reading, double seconds);

  struct Seen {
    std::string code;
    double first = 0;  ///< seconds since the walk began
    double last = 0;
    int times = 0;
    /// Codes of other labels, and in how many pictures each was the nearest place label to this one.
    std::map<std::string, int> beside;
  };
  /// Each code once, by the time it was first seen.
  std::vector<Seen> seen() const;

  struct Missed {
    double first = 0;
    double last = 0;
    labels::Unread why = labels::Unread::damaged;
  };
  /// Labels that were seen in several pictures and read in none.
  std::vector<Missed> missed() const;

 private:
  struct Track {
    labels::PixelPoint at;
    double side = 0;
    double first = 0;
    double last = 0;
    int times = 0;
    bool read = false;
    labels::Unread why = labels::Unread::damaged;
  };
  labels::PixelPoint moved_since_last(const labels::PictureReading& reading) const;
  void follow(const labels::Corners& corners, const labels::PixelPoint& moved, double seconds,
              std::optional<labels::Unread> why, std::vector<Track>& now);

  std::map<std::string, Seen> seen_;
  std::map<std::string, labels::PixelPoint> last_places_;  ///< of the codes in the picture before
  std::vector<Track> tracks_;                              ///< that were in the picture before, or just before it
  std::vector<Track> ended_;                               ///< unread ones that left the view
};

}  // namespace rackside::cli
