#include "cli/photos/film.h"

#include <fcntl.h>
#include <signal.h>
#include <spawn.h>
#include <sys/mman.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>
#include <filesystem>
#include <utility>
#include <vector>

#include "core/base/error.h"

extern char** environ;

namespace rackside::cli {

using core::Error;
using core::Fault;

namespace {

constexpr int kMostSide = 4096;

void close_once(int& file) {
  if (file >= 0) ::close(std::exchange(file, -1));
}

bool is_device(const std::string& path) {
  struct stat about {};
  return ::stat(path.c_str(), &about) == 0 && S_ISCHR(about.st_mode);
}

std::vector<std::string> arguments_for(const std::string& source, double per_second) {
  std::vector<std::string> all = {"ffmpeg", "-nostdin", "-hide_banner", "-v", "error"};
  if (is_device(source)) {
    all.insert(all.end(), {"-f", "v4l2", "-i", source});
  } else {
    // Only files: a playlist must not make us ask the network.
    all.insert(all.end(), {"-protocol_whitelist", "file,pipe", "-i", "file:" + source});
  }
  const std::string filter = "fps=" + std::to_string(per_second) + ",scale='min(1920,iw)':-2";
  all.insert(all.end(), {"-an", "-sn", "-vf", filter, "-f", "image2pipe", "-c:v", "pgm", "-"});
  return all;
}

}  // namespace

Film::Film(const std::string& source, double per_second) : source_(source), per_second_(per_second) {
  std::error_code failed;
  if (!std::filesystem::exists(source, failed))
    throw Error(Fault::bad_input, "There is no film or camera " + source + ". Check the name.");
  int out_of[2] = {-1, -1};
  words_ = ::memfd_create("ffmpeg", MFD_CLOEXEC);
  if (words_ < 0 || ::pipe2(out_of, O_CLOEXEC) != 0)
    throw Error(Fault::unreachable, "The film could not be opened. Is the system out of files?");
  posix_spawn_file_actions_t actions;
  posix_spawn_file_actions_init(&actions);
  posix_spawn_file_actions_addopen(&actions, STDIN_FILENO, "/dev/null", O_RDONLY, 0);
  posix_spawn_file_actions_adddup2(&actions, out_of[1], STDOUT_FILENO);
  posix_spawn_file_actions_adddup2(&actions, words_, STDERR_FILENO);
  std::vector<std::string> arguments = arguments_for(source, per_second);
  std::vector<char*> pointers;
  for (std::string& argument : arguments) pointers.push_back(argument.data());
  pointers.push_back(nullptr);
  const int problem = ::posix_spawnp(&process_, "ffmpeg", &actions, nullptr, pointers.data(), environ);
  posix_spawn_file_actions_destroy(&actions);
  close_once(out_of[1]);
  pictures_ = out_of[0];
  if (problem == 0) return;
  process_ = -1;
  close_once(pictures_);
  close_once(words_);
  throw Error(Fault::unreachable, problem == ENOENT
                                      ? "Films are read with the program ffmpeg, which is not installed. On Debian "
                                        "it is in the package ffmpeg: apt-get install ffmpeg."
                                      : std::string("ffmpeg could not be started: ") + std::strerror(problem) + ".");
}

Film::~Film() {
  close_once(pictures_);
  close_once(words_);
  if (process_ < 0) return;
  // A camera would go on for ever.
  ::kill(process_, SIGKILL);
  while (::waitpid(process_, nullptr, 0) < 0 && errno == EINTR) {
  }
}

bool Film::read_exactly(void* to, std::size_t count) {
  char* at = static_cast<char*>(to);
  while (count > 0) {
    const ssize_t got = ::read(pictures_, at, count);
    if (got < 0 && errno == EINTR) continue;
    if (got <= 0) return false;
    at += got;
    count -= static_cast<std::size_t>(got);
  }
  return true;
}

std::optional<std::string> Film::read_word() {
  std::string word;
  char c = 0;
  while (read_exactly(&c, 1)) {
    if (c != ' ' && c != '\n') {
      word += c;
    } else if (!word.empty()) {
      return word;
    }
    if (word.size() > 16) fail();
  }
  if (!word.empty()) fail();
  return std::nullopt;
}

std::optional<Film::Frame> Film::next() {
  // A binary PGM: P5, width, height, greatest value, one space, the pixels. Source: the netpbm formats.
  const auto magic = read_word();
  if (!magic) {
    int status = 0;
    while (::waitpid(process_, &status, 0) < 0 && errno == EINTR) {
    }
    process_ = -1;
    if (count_ == 0 || !WIFEXITED(status) || WEXITSTATUS(status) != 0) fail();
    return std::nullopt;
  }
  int numbers[3] = {0, 0, 0};
  for (int& number : numbers) {
    const auto word = read_word();
    if (!word || word->find_first_not_of("0123456789") != std::string::npos) fail();
    number = std::stoi(word->substr(0, 6));
  }
  const auto sane = [](int side) { return side > 0 && side <= kMostSide; };
  if (*magic != "P5" || !sane(numbers[0]) || !sane(numbers[1]) || numbers[2] != 255) fail();
  Frame frame{labels::GrayImage(numbers[0], numbers[1]), static_cast<double>(count_++) / per_second_};
  if (!read_exactly(frame.image.pixels.data(), frame.image.pixels.size())) fail();
  return frame;
}

void Film::fail() {
  char text[400] = {};
  const ssize_t count = ::pread(words_, text, sizeof text - 1, 0);
  std::string said(text, count > 0 ? static_cast<std::size_t>(count) : 0);
  if (const std::size_t end = said.find('\n'); end != std::string::npos) said.resize(end);
  throw Error(Fault::unreadable_image, source_ + " is no film that can be read to its end" +
                                           (said.empty() ? "" : ": ffmpeg says \"" + said + "\"") +
                                           ". Copy it again from the phone or camera.");
}

}  // namespace rackside::cli
