#include "tests/bench/program.h"

#include <fcntl.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include <array>
#include <stdexcept>

#include "tests/bench/stage.h"

namespace rackside::bench {
namespace {

double milliseconds_of(const timeval& time) {
  return static_cast<double>(time.tv_sec) * 1e3 + static_cast<double>(time.tv_usec) / 1e3;
}

void become(const std::vector<std::string>& command) {
  std::vector<char*> list;
  for (const std::string& part : command) list.push_back(const_cast<char*>(part.c_str()));
  list.push_back(nullptr);
  const int nothing = ::open("/dev/null", O_RDWR);
  ::dup2(nothing, STDIN_FILENO);
  ::dup2(nothing, STDOUT_FILENO);
  ::execv(list[0], list.data());
  ::_exit(127);
}

}  // namespace

ProgramRun run_program(const std::vector<std::string>& command) {
  ProgramRun run;
  int status = 0;
  rusage usage{};
  run.wall_ms = bench::milliseconds_of([&] {
    const pid_t child = ::vfork();
    if (child == 0) become(command);
    if (child < 0 || ::wait4(child, &status, 0, &usage) != child) throw std::runtime_error("no child to be had");
  });
  if (status != 0) throw std::runtime_error(command[0] + " failed with status " + std::to_string(status));
  run.processor_ms = milliseconds_of(usage.ru_utime) + milliseconds_of(usage.ru_stime);
  return run;
}

std::string rackside_program() {
  return RACKSIDE_PROGRAM;
}

std::string empty_program() {
  return RACKSIDE_EMPTY_PROGRAM;
}

ProgramRun median_run(const std::vector<ProgramRun>& runs) {
  std::vector<double> wall;
  std::vector<double> processor;
  for (const ProgramRun& run : runs) {
    wall.push_back(run.wall_ms);
    processor.push_back(run.processor_ms);
  }
  return {median(wall), median(processor)};
}

double fsync_milliseconds(const std::string& folder) {
  const std::string path = folder + "/fsync.probe";
  const int file = ::open(path.c_str(), O_CREAT | O_TRUNC | O_WRONLY | O_CLOEXEC, 0600);
  if (file < 0) throw std::runtime_error("cannot write " + path);
  const std::array<char, 8192> pages{};
  std::vector<double> times;
  for (int round = 0; round < 41; ++round) {
    times.push_back(bench::milliseconds_of([&] {
      if (::write(file, pages.data(), pages.size()) != static_cast<ssize_t>(pages.size()) || ::fdatasync(file) != 0)
        throw std::runtime_error("cannot sync " + path);
    }));
  }
  ::close(file);
  ::unlink(path.c_str());
  return median(times);
}

}  // namespace rackside::bench
