#pragma once

#include <sys/types.h>

#include <chrono>
#include <optional>
#include <string>
#include <string_view>

#include "core/base/error.h"
#include "labels/read/read.h"

namespace rackside::cli {

/// What came of one picture: its reading, or one line that says why there is none.
struct PictureOutcome {
  std::optional<labels::PictureReading> reading;
  core::Fault fault = core::Fault::internal;
  std::string message;
};

/// A child process that reads pictures of strangers, one after the other: with limits on its memory and time, so that
/// no picture can harm this process or the pictures after it. Whatever a picture does to the child is the picture's
/// outcome; the next one gets a new child.
/// Thread: one per thread.
class PictureWorker {
 public:
  /// `program`: what is started with the argument kWorkerVerb; this very program, as a rule.
  explicit PictureWorker(labels::ReadScope scope = labels::ReadScope::codes, std::string program = "/proc/self/exe");
  ~PictureWorker();
  PictureWorker(const PictureWorker&) = delete;
  PictureWorker& operator=(const PictureWorker&) = delete;

  PictureOutcome read_file(const std::string& path);
  /// A picture that was uploaded; `name` is what messages call it.
  PictureOutcome read_bytes(std::string_view bytes, const std::string& name);

 private:
  using Clock = std::chrono::steady_clock;
  void start();
  int end();  ///< the child's raw status
  PictureOutcome ask(const std::string& head, std::string_view bytes, const std::string& name);
  bool send(std::string_view bytes, Clock::time_point until);
  std::optional<std::string> receive(Clock::time_point until);

  labels::ReadScope scope_;
  std::string program_;
  pid_t process_ = -1;
  int link_ = -1;  ///< its input and output
};

/// Not for people, so not in the help.
inline constexpr const char* kWorkerVerb = "read-worker";
/// The child's side: answers pictures on standard input until it ends.
void run_picture_worker();

}  // namespace rackside::cli
