#include "cli/photos/worker.h"

#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <spawn.h>
#include <sys/resource.h>
#include <sys/socket.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cerrno>
#include <cstdio>
#include <iostream>
#include <new>
#include <utility>

#include "cli/photos/message.h"
#include "core/base/bytes.h"
#include "labels/image/load.h"

extern char** environ;

namespace rackside::cli {

using core::Error;
using core::Fault;

namespace {

constexpr auto kPatience = std::chrono::seconds(60);  ///< for one picture, on a busy computer
constexpr rlim_t kMostSeconds = 30;                   ///< of processor time, for one picture
constexpr rlim_t kMostMemory = 1'500'000'000;  ///< bytes: 100 million pixels as a PNG with transparency take a third
constexpr std::size_t kMostBytes = 200'000'000;

// Sanitizers reserve terabytes of address space, which this limit would refuse them.
#if defined(__SANITIZE_ADDRESS__) || defined(__SANITIZE_THREAD__)
constexpr bool kLimitsMemory = false;
#else
constexpr bool kLimitsMemory = true;
#endif

void close_once(int& file) {
  if (file >= 0) ::close(std::exchange(file, -1));
}

/// True when the file is ready in time; a hang-up counts as ready.
bool wait_for(int file, short what, std::chrono::steady_clock::time_point until) {
  while (true) {
    const auto left = std::chrono::duration_cast<std::chrono::milliseconds>(until - std::chrono::steady_clock::now());
    if (left.count() <= 0) return false;
    pollfd one{file, what, 0};
    const int ready = ::poll(&one, 1, static_cast<int>(left.count()));
    if (ready > 0) return true;
    if (ready < 0 && errno != EINTR) return false;
  }
}

std::string why_ended(int status, bool in_time) {
  if (!in_time || (WIFSIGNALED(status) && (WTERMSIG(status) == SIGXCPU || WTERMSIG(status) == SIGKILL)))
    return "took too long or too much memory to read, and was left out";
  return "made the picture reader fail, and was left out";
}

void limit(int which, rlim_t most) {
  rlimit now{};
  if (::getrlimit(static_cast<__rlimit_resource>(which), &now) != 0) return;
  now.rlim_cur = std::min(most, now.rlim_max);
  ::setrlimit(static_cast<__rlimit_resource>(which), &now);
}

void allow_more_time() {
  rusage used{};
  ::getrusage(RUSAGE_SELF, &used);
  limit(RLIMIT_CPU, static_cast<rlim_t>(used.ru_utime.tv_sec + used.ru_stime.tv_sec) + kMostSeconds);
}

template <class Read>
PictureOutcome outcome_from(const std::string& name, Read read) {
  PictureOutcome outcome;
  try {
    outcome.reading = read();
  } catch (const Error& error) {
    outcome.fault = error.fault();
    outcome.message = error.what();
  } catch (const std::bad_alloc&) {
    outcome.fault = Fault::unreadable_image;
    outcome.message = name + " takes more memory to read than a photo should. Take it anew at a lower resolution.";
  }
  return outcome;
}

/// A name as one word, whatever is in it; the x keeps an empty one a word.
std::string text_of_hex(const std::string& hex) {
  std::string text;
  for (std::size_t i = 1; i + 1 < hex.size(); i += 2)
    text += static_cast<char>(std::stoi(hex.substr(i, 2), nullptr, 16));
  return text;
}

std::string hex_of(std::string_view text) {
  return "x" + core::to_hex(core::as_bytes(text));
}

}  // namespace

PictureWorker::PictureWorker(labels::ReadScope scope, std::string program)
    : scope_(scope), program_(std::move(program)) {}

PictureWorker::~PictureWorker() {
  end();
}

void PictureWorker::start() {
  if (process_ >= 0) return;
  // A socket, not a pipe: writing to a child that died is then an error and no signal.
  int ends[2] = {-1, -1};
  const bool paired = ::socketpair(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0, ends) == 0;
  posix_spawn_file_actions_t actions;
  posix_spawn_file_actions_init(&actions);
  posix_spawn_file_actions_adddup2(&actions, ends[1], STDIN_FILENO);
  posix_spawn_file_actions_adddup2(&actions, ends[1], STDOUT_FILENO);
  // A library that talks before it fails would only repeat what the outcome says.
  posix_spawn_file_actions_addopen(&actions, STDERR_FILENO, "/dev/null", O_WRONLY, 0);
  std::string name = "rackside";
  std::string verb = kWorkerVerb;
  char* arguments[] = {name.data(), verb.data(), nullptr};
  const bool started = paired && ::posix_spawn(&process_, program_.c_str(), &actions, nullptr, arguments, environ) == 0;
  posix_spawn_file_actions_destroy(&actions);
  close_once(ends[1]);
  link_ = ends[0];
  if (started) return;
  close_once(link_);
  process_ = -1;
  throw Error(Fault::unreachable, "The picture reader could not be started. Is the system out of processes or memory?");
}

int PictureWorker::end() {
  close_once(link_);
  if (process_ < 0) return 0;
  int status = 0;
  while (::waitpid(process_, &status, 0) < 0 && errno == EINTR) {
  }
  process_ = -1;
  return status;
}

bool PictureWorker::send(std::string_view bytes, Clock::time_point until) {
  while (!bytes.empty()) {
    if (!wait_for(link_, POLLOUT, until)) return false;
    const ssize_t sent = ::send(link_, bytes.data(), bytes.size(), MSG_NOSIGNAL | MSG_DONTWAIT);
    if (sent < 0 && errno != EINTR && errno != EAGAIN) return false;
    if (sent > 0) bytes.remove_prefix(static_cast<std::size_t>(sent));
  }
  return true;
}

std::optional<std::string> PictureWorker::receive(Clock::time_point until) {
  std::string line;
  char buffer[65536];
  while (wait_for(link_, POLLIN, until)) {
    const ssize_t count = ::read(link_, buffer, sizeof buffer);
    if (count < 0 && errno == EINTR) continue;
    if (count <= 0) return std::nullopt;
    line.append(buffer, static_cast<std::size_t>(count));
    if (line.back() == '\n') return line;
  }
  return std::nullopt;
}

PictureOutcome PictureWorker::ask(const std::string& head, std::string_view bytes, const std::string& name) {
  start();
  const auto until = Clock::now() + kPatience;
  if (send(head, until) && send(bytes, until)) {
    if (const auto line = receive(until)) return outcome_of(*line);
  }
  const bool in_time = Clock::now() < until;
  if (!in_time) ::kill(process_, SIGKILL);
  return {std::nullopt, Fault::unreadable_image,
          name + " " + why_ended(end(), in_time) + ". Take the photo anew, or copy it again from the phone."};
}

PictureOutcome PictureWorker::read_file(const std::string& path) {
  return ask("F " + std::to_string(static_cast<int>(scope_)) + " " + hex_of(path) + "\n", {}, path);
}

PictureOutcome PictureWorker::read_bytes(std::string_view bytes, const std::string& name) {
  if (bytes.size() > kMostBytes) return {std::nullopt, Fault::too_large, name + " has over 200 MB; a photo has a few."};
  return ask(
      "B " + std::to_string(static_cast<int>(scope_)) + " " + hex_of(name) + " " + std::to_string(bytes.size()) + "\n",
      bytes, name);
}

void run_picture_worker() {
  if (kLimitsMemory) limit(RLIMIT_AS, kMostMemory);
  limit(RLIMIT_CORE, 0);
  limit(RLIMIT_FSIZE, 0);
  std::string kind;
  int scope = 0;
  std::string hex;
  while (std::cin >> kind >> scope >> hex) {
    allow_more_time();
    const std::string name = text_of_hex(hex);
    const labels::ReadOptions options{static_cast<labels::ReadScope>(scope)};
    std::string bytes;
    if (kind == "B") {
      std::size_t count = 0;
      std::cin >> count;
      std::cin.get();
      if (count > kMostBytes) return;
      bytes.resize(count);
      if (!std::cin.read(bytes.data(), static_cast<std::streamsize>(count))) return;
    }
    const PictureOutcome outcome = outcome_from(name, [&] {
      return kind == "B" ? labels::read_image(core::as_bytes(bytes), name, options)
                         : labels::read_image_file(name, options);
    });
    std::cout << to_line(outcome) << std::endl;
  }
}

}  // namespace rackside::cli
