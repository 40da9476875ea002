#include "cli/sync/child.h"

#include <fcntl.h>
#include <spawn.h>
#include <sys/wait.h>
#include <unistd.h>

#include <utility>

#include "core/base/error.h"

extern char** environ;

namespace rackside::cli {
namespace {

void close_once(int& file) {
  if (file >= 0) ::close(std::exchange(file, -1));
}

}  // namespace

Child::Child(const std::string& command) {
  int into[2] = {-1, -1};
  int out_of[2] = {-1, -1};
  const bool piped = ::pipe2(into, O_CLOEXEC) == 0 && ::pipe2(out_of, O_CLOEXEC) == 0;
  posix_spawn_file_actions_t actions;
  posix_spawn_file_actions_init(&actions);
  posix_spawn_file_actions_adddup2(&actions, into[0], STDIN_FILENO);
  posix_spawn_file_actions_adddup2(&actions, out_of[1], STDOUT_FILENO);
  std::string shell = "sh", option = "-c", text = command;
  char* arguments[] = {shell.data(), option.data(), text.data(), nullptr};
  const bool started = piped && ::posix_spawn(&process_, "/bin/sh", &actions, nullptr, arguments, environ) == 0;
  posix_spawn_file_actions_destroy(&actions);
  close_once(into[0]);
  close_once(out_of[1]);
  to_ = into[1];
  from_ = out_of[0];
  if (started) return;
  close_once(to_);
  close_once(from_);
  process_ = -1;
  throw core::Error(core::Fault::unreachable, "The command could not be started. Is the system out of processes?");
}

Child::~Child() {
  finish();
}

int Child::finish() {
  close_once(to_);
  close_once(from_);
  if (process_ < 0) return status_;
  int raw = 0;
  while (::waitpid(process_, &raw, 0) < 0 && errno == EINTR) {
  }
  process_ = -1;
  status_ = WIFEXITED(raw) ? WEXITSTATUS(raw) : 128 + WTERMSIG(raw);
  return status_;
}

}  // namespace rackside::cli
