#include "cli/print/printer.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <spawn.h>
#include <sys/wait.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <cmath>

#include "core/base/error.h"

extern char** environ;

namespace rackside::cli {
namespace {

using core::Error;
using core::Fault;

constexpr std::size_t kMostSaid = 4096;

struct Ran {
  int status = -1;  ///< of the program; -1 where it ended in another way
  bool found = true;
  std::string said;  ///< both outputs
};

std::string read_all(int descriptor) {
  std::string text;
  std::array<char, 1024> buffer{};
  for (;;) {
    const ssize_t got = ::read(descriptor, buffer.data(), buffer.size());
    if (got < 0 && errno == EINTR) continue;
    if (got <= 0) return text;
    if (text.size() < kMostSaid) text.append(buffer.data(), static_cast<std::size_t>(got));
  }
}

/// Without a shell: a printer's name or a file's is never read as a command.
Ran run_program(std::vector<std::string> command) {
  std::array<int, 2> ends{};
  if (::pipe2(ends.data(), O_CLOEXEC) != 0) throw Error(Fault::internal, "No pipe could be opened.");
  posix_spawn_file_actions_t actions;
  posix_spawn_file_actions_init(&actions);
  posix_spawn_file_actions_adddup2(&actions, ends[1], STDOUT_FILENO);
  posix_spawn_file_actions_adddup2(&actions, ends[1], STDERR_FILENO);
  std::vector<char*> words;
  for (std::string& word : command) words.push_back(word.data());
  words.push_back(nullptr);
  pid_t child = 0;
  const int fault = ::posix_spawnp(&child, words[0], &actions, nullptr, words.data(), environ);
  posix_spawn_file_actions_destroy(&actions);
  ::close(ends[1]);
  Ran ran;
  if (fault != 0) {
    ::close(ends[0]);
    ran.found = false;
    return ran;
  }
  ran.said = read_all(ends[0]);
  ::close(ends[0]);
  int status = 0;
  while (::waitpid(child, &status, 0) < 0 && errno == EINTR) {
  }
  if (WIFEXITED(status)) ran.status = WEXITSTATUS(status);
  // A C library that cannot start the program in the child says so by 127.
  ran.found = !(ran.status == 127 && ran.said.empty());
  return ran;
}

std::string one_line(std::string text) {
  while (!text.empty() && (text.back() == '\n' || text.back() == ' ')) text.pop_back();
  for (char& c : text) c = c == '\n' ? ' ' : c;
  return text;
}

bool needs_quotes(const std::string& word) {
  return word.empty() ||
         word.find_first_not_of("ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789@%+=:,./-_") !=
             std::string::npos;
}

}  // namespace

std::string media_of(labels::LabelSize page) {
  const auto is = [&](double width, double height) {
    return std::abs(page.width_mm - width) < 0.2 && std::abs(page.height_mm - height) < 0.2;
  };
  if (is(210, 297) || is(297, 210)) return "A4";
  if (is(215.9, 279.4) || is(279.4, 215.9)) return "Letter";
  return fmt::format("Custom.{}x{}mm", page.width_mm, page.height_mm);
}

std::vector<std::string> lp_command(const PrintJob& job) {
  std::vector<std::string> command = {"lp"};
  if (!job.printer.empty()) command.insert(command.end(), {"-d", job.printer});
  command.insert(command.end(),
                 {"-t", job.title, "-o", "media=" + job.media, "-o", "print-scaling=none", "--", job.file});
  return command;
}

std::string as_typed(const std::vector<std::string>& command) {
  std::string text;
  for (const std::string& word : command) {
    std::string quoted = word;
    for (std::size_t at = 0; (at = quoted.find('\'', at)) != std::string::npos; at += 4) quoted.replace(at, 1, "'\\''");
    text += (text.empty() ? "" : " ") + (needs_quotes(word) ? "'" + quoted + "'" : word);
  }
  return text;
}

std::string send_to_printer(const PrintJob& job) {
  const Ran ran = run_program(lp_command(job));
  if (!ran.found) {
    throw Error(Fault::bad_input,
                "There is no program `lp` on this computer, so nothing went to a printer: install "
                "the package cups-client. The labels are ready in " +
                    job.file + ".");
  }
  if (ran.status == 0) return one_line(ran.said);
  throw Error(Fault::bad_input, "The printer" + (job.printer.empty() ? "" : " “" + job.printer + "”") +
                                    " did not take the labels: " + one_line(ran.said) +
                                    ". `lpstat -e` names the printers "
                                    "there are. The labels are ready in " +
                                    job.file + ".");
}

}  // namespace rackside::cli
