#pragma once

#include <sys/types.h>

#include <optional>
#include <string>

#include "labels/image/image.h"

namespace rackside::cli {

/// Pictures of a film or camera, one after the other, as the program ffmpeg gives them: grey, upright, at most 1920
/// pixels wide, `per_second` of them.
class Film {
 public:
  /// `source`: a film's file, or a camera's device (/dev/video0).
  /// Errors: bad_input when there is no such file; unreachable when there is no ffmpeg, with the package that has it.
  Film(const std::string& source, double per_second);
  ~Film();
  Film(const Film&) = delete;
  Film& operator=(const Film&) = delete;

  struct Frame {
    labels::GrayImage image;
    double seconds = 0;  ///< since the beginning
  };
  /// Nothing at the end. Errors: unreadable_image when the film cannot be read, with what ffmpeg says of it.
  std::optional<Frame> next();

 private:
  bool read_exactly(void* to, std::size_t count);
  std::optional<std::string> read_word();
  [[noreturn]] void fail();

  std::string source_;
  double per_second_;
  pid_t process_ = -1;
  int pictures_ = -1;
  int words_ = -1;  ///< what ffmpeg complains of: a file without a name
  std::size_t count_ = 0;
};

}  // namespace rackside::cli
