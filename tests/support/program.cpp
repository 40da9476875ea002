#include "tests/support/program.h"

#include <poll.h>
#include <sys/wait.h>
#include <unistd.h>

#include <array>
#include <cstdlib>
#include <fstream>
#include <nlohmann/json.hpp>
#include <sstream>
#include <stdexcept>

namespace rackside::tests {
namespace {

struct Pipe {
  int read = -1;
  int write = -1;
  Pipe() {
    std::array<int, 2> ends{};
    if (::pipe(ends.data()) != 0) throw std::runtime_error("no pipe");
    read = ends[0];
    write = ends[1];
  }
};

[[noreturn]] void become(const std::string& program, const std::vector<std::string>& arguments) {
  ::unsetenv("RACKSIDE_BOOK");
  ::setenv("NO_COLOR", "1", 1);
  std::vector<char*> list{const_cast<char*>(program.c_str())};
  for (const std::string& argument : arguments) list.push_back(const_cast<char*>(argument.c_str()));
  list.push_back(nullptr);
  ::execvp(program.c_str(), list.data());
  ::_exit(127);
}

/// Feeds the input and drains both outputs at once, so that neither side waits for the other.
void converse(int to, const std::string& input, int from_out, int from_err, Run& run) {
  std::size_t sent = 0;
  if (input.empty()) ::close(to);
  bool writing = !input.empty();
  std::array<pollfd, 3> all{{{from_out, POLLIN, 0}, {from_err, POLLIN, 0}, {writing ? to : -1, POLLOUT, 0}}};
  std::array<std::string*, 2> texts{&run.out, &run.err};
  while (all[0].fd >= 0 || all[1].fd >= 0) {
    if (::poll(all.data(), all.size(), 120'000) <= 0) return;
    for (std::size_t i : {std::size_t{0}, std::size_t{1}}) {
      if (all[i].fd < 0 || all[i].revents == 0) continue;
      std::array<char, 65536> buffer{};
      const ssize_t got = ::read(all[i].fd, buffer.data(), buffer.size());
      if (got > 0) texts[i]->append(buffer.data(), static_cast<std::size_t>(got));
      if (got <= 0) all[i].fd = -1;
    }
    if (all[2].fd >= 0 && all[2].revents != 0) {
      const ssize_t put = ::write(to, input.data() + sent, input.size() - sent);
      if (put > 0) sent += static_cast<std::size_t>(put);
      if (put <= 0 || sent == input.size()) {
        ::close(to);
        all[2].fd = -1;
      }
    }
  }
}

}  // namespace

Run run_program(const std::string& program, const std::vector<std::string>& arguments, const std::string& input) {
  Pipe in;
  Pipe out;
  Pipe err;
  const pid_t child = ::fork();
  if (child == 0) {
    ::dup2(in.read, STDIN_FILENO);
    ::dup2(out.write, STDOUT_FILENO);
    ::dup2(err.write, STDERR_FILENO);
    for (int end : {in.read, in.write, out.read, out.write, err.read, err.write}) ::close(end);
    become(program, arguments);
  }
  ::close(in.read);
  ::close(out.write);
  ::close(err.write);
  Run run;
  converse(in.write, input, out.read, err.read, run);
  ::close(out.read);
  ::close(err.read);
  int status = 0;
  ::waitpid(child, &status, 0);
  run.status = WIFEXITED(status) ? WEXITSTATUS(status) : 128 + WTERMSIG(status);
  return run;
}

Run run_rackside(const std::vector<std::string>& arguments, const std::string& input) {
  return run_program(RACKSIDE_BINARY_DIR "/rackside", arguments, input);
}

Folder::Folder(On on) {
  const std::filesystem::path memory = "/dev/shm";
  const bool in_memory = on == On::memory && ::access(memory.c_str(), W_OK) == 0;
  std::string pattern =
      ((in_memory ? memory : std::filesystem::temp_directory_path()) / "rackside-test-XXXXXX").string();
  if (!::mkdtemp(pattern.data())) throw std::runtime_error("no temporary folder");
  path_ = pattern;
}

Folder::~Folder() {
  std::error_code ignored;
  std::filesystem::remove_all(path_, ignored);
}

void write_text(const std::string& path, const std::string& text) {
  std::ofstream(path, std::ios::binary) << text;
}

std::string read_text(const std::string& path) {
  std::ostringstream out;
  out << std::ifstream(path, std::ios::binary).rdbuf();
  return out.str();
}

std::string member(const std::string& json, const std::string& name) {
  const auto parsed = nlohmann::json::parse(json, nullptr, false);
  return parsed.is_object() && parsed.contains(name) && parsed[name].is_string() ? parsed[name].get<std::string>() : "";
}

}  // namespace rackside::tests
