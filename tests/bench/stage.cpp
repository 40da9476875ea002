#include "tests/bench/stage.h"

#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <ctime>
#include <filesystem>
#include <fstream>
#include <stdexcept>

#include "sync/protocol/stream.h"
#include "tests/bench/line_reader.h"
#include "tests/bench/writer.h"

namespace rackside::bench {

using namespace core;

Stage::Stage() {
  std::string name = (std::filesystem::temp_directory_path() / "rackside-bench-XXXXXX").string();
  if (mkdtemp(name.data()) == nullptr) throw std::runtime_error("cannot make a folder " + name);
  folder_ = name;
}

Stage::~Stage() {
  std::error_code ignored;
  std::filesystem::remove_all(folder_, ignored);
}

const Season& Stage::season_100k() {
  if (!season_100k_) season_100k_ = write_season({}, path("season.jsonl"));
  return *season_100k_;
}

std::string Stage::fresh(const std::string& name) {
  for (const char* ending : {"", "-wal", "-shm", "-lock"}) std::filesystem::remove(path(name) + ending);
  return path(name);
}

namespace {

double processor_milliseconds() {
  return 1000.0 * static_cast<double>(std::clock()) / CLOCKS_PER_SEC;
}

struct Times {
  std::vector<double> wall;
  std::vector<double> processor;

  void measure(const std::function<void()>& work) {
    const double before = processor_milliseconds();
    wall.push_back(milliseconds_of(work));
    processor.push_back(processor_milliseconds() - before);
  }
};

}  // namespace

double milliseconds_of(const std::function<void()>& work) {
  const auto begin = std::chrono::steady_clock::now();
  work();
  return std::chrono::duration<double, std::milli>(std::chrono::steady_clock::now() - begin).count();
}

double median(std::vector<double> values) {
  std::sort(values.begin(), values.end());
  const std::size_t middle = values.size() / 2;
  return values.size() % 2 == 1 ? values[middle] : (values[middle - 1] + values[middle]) / 2;
}

Row compare(const std::string& name, int rounds, const std::function<void()>& ours,
            const std::function<void()>& floor) {
  Times our;
  Times its;
  for (int round = 0; round < std::max(rounds, 3); ++round) {
    its.measure(floor);
    our.measure(ours);
    std::fprintf(stderr, "%s, round %d: ours %.0f ms (processor %.0f), floor %.0f ms (processor %.0f)\n", name.c_str(),
                 round + 1, our.wall.back(), our.processor.back(), its.wall.back(), its.processor.back());
  }
  std::fprintf(stderr, "%s: ratio of processor time %.2f\n", name.c_str(),
               median(our.processor) / median(its.processor));
  return {name, median(our.wall), median(its.wall), "ms"};
}

namespace {

Book open_or_create(const Season& season, const std::string& path) {
  if (std::filesystem::exists(path)) return Book::open(path);
  return Book::create_member(path, season.collection, key_named("observer"), "", {0, 1, 0});
}

}  // namespace

std::size_t feed_book(const Season& season, const std::string& path) {
  Book book = open_or_create(season, path);
  std::size_t stored = 0;
  sync::StreamReader reader(season.collection,
                            [&](std::vector<Segment>&& batch) { stored += book.merge(batch).stored; });
  for_each_line(season.path, 0, [&](std::string_view line) { reader.line(line); });
  reader.finish();
  return stored;
}

void build_book(const Season& season, const std::string& path) {
  constexpr std::size_t kMostEvents = 250'000;
  Book book = open_or_create(season, path);
  book.database().execute("PRAGMA cache_size=-1000000");
  std::vector<Segment> gathered;
  std::size_t events = 0;
  std::size_t all = 0;
  const auto store = [&] {
    book.merge(gathered);
    gathered.clear();
    all += events;
    events = 0;
    std::fprintf(stderr, "%zu events are in\n", all);
  };
  sync::StreamReader reader(season.collection, [&](std::vector<Segment>&& batch) {
    for (Segment& segment : batch) {
      events += segment.events.size();
      gathered.push_back(std::move(segment));
    }
    if (events >= kMostEvents) store();
  });
  for_each_line(season.path, 0, [&](std::string_view line) { reader.line(line); });
  reader.finish();
  store();
  book.tidy();
}

std::size_t own_peak_kib() {
  std::ifstream status("/proc/self/status");
  for (std::string line; std::getline(status, line);) {
    if (line.starts_with("VmHWM:")) return std::stoul(line.substr(6));
  }
  throw std::runtime_error("this system does not tell a process's peak of memory");
}

std::size_t peak_of_child(const std::vector<std::string>& arguments) {
  const std::string program = std::filesystem::read_symlink("/proc/self/exe").string();
  std::vector<char*> list{const_cast<char*>(program.c_str())};
  for (const std::string& argument : arguments) list.push_back(const_cast<char*>(argument.c_str()));
  list.push_back(nullptr);
  int ends[2];
  if (pipe(ends) != 0) throw std::runtime_error("no pipe to a child");
  const pid_t child = fork();
  if (child == 0) {
    dup2(ends[1], STDOUT_FILENO);
    close(ends[0]);
    close(ends[1]);
    execv(program.c_str(), list.data());
    _exit(127);
  }
  close(ends[1]);
  std::string said;
  char buffer[256];
  for (ssize_t n = 0; (n = read(ends[0], buffer, sizeof buffer)) > 0;) said.append(buffer, static_cast<std::size_t>(n));
  close(ends[0]);
  int status = 0;
  if (child < 0 || waitpid(child, &status, 0) != child || status != 0)
    throw std::runtime_error("the child failed: " + said);
  return std::stoul(said);
}

}  // namespace rackside::bench
