// What a person waits for every day, in a book of ten million events.
#include <cstdio>
#include <cstdlib>
#include <ctime>
#include <filesystem>
#include <stdexcept>

#include "core/book/book.h"
#include "core/read/today.h"
#include "tests/bench/benchmarks.h"
#include "tests/bench/past.h"
#include "tests/bench/program.h"
#include "tests/bench/writer.h"

namespace rackside::bench {
namespace {

constexpr std::size_t kRounds = 15;

/// A copy of the book that writes as the keeper's hub: the one that was fed with the season belongs to nobody in it.
std::string book_of_keeper(Stage& stage, const Past& past, const std::string& name) {
  const std::string path = copied(stage, past.book, name);
  core::Book book = core::Book::open(path);
  const core::KeyPair key = key_named("hub");
  book.write([&] {
    book.set_own_value("secret", core::to_hex(key.secret()));
    book.set_own_value("device", core::to_hex(core::device_id_of(key.public_key())));
  });
  book.tidy();
  return path;
}

struct Compared {
  std::vector<ProgramRun> ours;
  std::vector<ProgramRun> empty;
};

/// Programs started while it lives take this for the time: the season ends years ahead of whoever measures, and an
/// entry years before others is another piece of work.
class PretendedTime {
 public:
  explicit PretendedTime(core::Instant now) {
    const std::time_t seconds = now / 1000;
    char text[32];
    std::strftime(text, sizeof text, "@%Y-%m-%d %H:%M:%S", std::gmtime(&seconds));
    set("FAKETIME", text);
    set("FAKETIME_DONT_FAKE_MONOTONIC", "1");
    set("TZ", "UTC");
    set("LD_PRELOAD", library());
  }
  ~PretendedTime() {
    for (const char* name : names_) unsetenv(name);
  }
  PretendedTime(const PretendedTime&) = delete;
  PretendedTime& operator=(const PretendedTime&) = delete;

 private:
  static std::string library() {
    for (const auto& entry : std::filesystem::directory_iterator("/usr/lib")) {
      const auto found = entry.path() / "faketime" / "libfaketime.so.1";
      if (std::filesystem::exists(found)) return found.string();
    }
    throw std::runtime_error("libfaketime is missing: install the package faketime");
  }
  void set(const char* name, const std::string& value) {
    setenv(name, value.c_str(), 1);
    names_.push_back(name);
  }
  std::vector<const char*> names_;
};

/// `command` gives the words of each round.
template <typename Command>
Compared in_turn(const Command& command) {
  Compared out;
  run_program(command(kRounds));  // so that the program and the book's pages are in memory, as they are in daily use
  for (std::size_t round = 0; round < kRounds; ++round) {
    out.empty.push_back(run_program({empty_program()}));
    out.ours.push_back(run_program(command(round)));
  }
  return out;
}

Compared in_turn(const std::vector<std::string>& command) {
  return in_turn([&](std::size_t) { return command; });
}

/// One entry a round, of another animal each.
std::vector<Row> entries(const std::string& name, const std::string& book, const std::vector<std::string>& codes) {
  const std::string folder = std::filesystem::path(book).parent_path().string();
  const double before = fsync_milliseconds(folder);
  const Compared runs = in_turn([&](std::size_t round) {
    return std::vector<std::string>{rackside_program(), "--book", book, "log", "fed", codes.at(round)};
  });
  const double fsync = (before + fsync_milliseconds(folder)) / 2;
  const ProgramRun ours = median_run(runs.ours);
  const ProgramRun empty = median_run(runs.empty);
  std::fprintf(stderr, "%s: %.1f ms with one fsync of %.2f ms; processor %.1f ms above an empty program\n",
               name.c_str(), ours.wall_ms, fsync, ours.processor_ms - empty.processor_ms);
  return {{name, ours.wall_ms - fsync, empty.wall_ms, "ms beside the fsync"},
          {name + "-cpu", ours.processor_ms, empty.processor_ms, "ms"},
          {name + "-fsync", fsync, fsync, "ms"}};
}

/// An hour after the last entry of all.
core::Instant late_on_last_day(core::Book& book) {
  auto query =
      book.database().prepare("SELECT max(at) FROM event WHERE id IN (SELECT (id << 32) | head_seq FROM branch)");
  if (!query.step()) throw std::runtime_error("the book holds no entry");
  return query.integer(0) + core::kHour;
}

}  // namespace

/// `rackside log fed CODE`, from the program's start to its end, when the entry is on the disk; by label and by short
/// ID. In place of a floor stands a program that does nothing.
std::vector<Row> log_fed_10m(Stage& stage) {
  const std::string path = book_of_keeper(stage, past_of("10m", 2'000'000), "fed.book");
  std::vector<std::string> codes;
  std::vector<std::string> short_ids;
  core::Instant evening = 0;
  {
    core::Book book = core::Book::open(path);
    evening = late_on_last_day(book);
    auto query = book.database().prepare(
        "SELECT text FROM code JOIN field ON subject = id WHERE name = 'prey' ORDER BY text LIMIT ?");
    query.bind(static_cast<int>(kRounds) + 1);
    while (query.step()) codes.emplace_back(query.text(0));
    for (std::size_t i = 0; i <= kRounds; ++i) short_ids.push_back("C-" + std::to_string(4711 + i * 100));
  }
  const PretendedTime pretended(evening);
  std::vector<Row> rows = entries("log-fed@10m", path, codes);
  const std::vector<Row> more = entries("log-fed-short@10m", path, short_ids);
  rows.insert(rows.end(), more.begin(), more.end());
  return rows;
}

/// Opens the book and makes today's list, in a process of its own: `rackside_bench --today BOOK`.
std::size_t make_todays_list(const std::string& path) {
  core::Book book = core::Book::open(path);
  const core::Instant now = late_on_last_day(book);
  core::Reader reader(book);
  const core::Today today = core::today_list(reader, now);
  std::size_t lines = 0;
  for (const core::TodayRack& rack : today.racks) lines += rack.lines.size();
  if (today.animals < 1000 || lines < 100) throw std::runtime_error("today's list is too short to be true");
  return lines;
}

namespace {

/// The list by itself, and the program that prints it.
std::vector<Row> today_in(Stage& stage, const std::string& name, unsigned events_per_device) {
  const std::string path = book_of_keeper(stage, past_of(name, events_per_device), "today.book");
  const std::string self = std::filesystem::read_symlink("/proc/self/exe").string();
  core::Instant evening = 0;
  {
    core::Book book = core::Book::open(path);
    evening = late_on_last_day(book);
  }
  std::fprintf(stderr, "today@%s: %zu lines\n", name.c_str(), make_todays_list(path));
  const PretendedTime pretended(evening);
  const Compared list = in_turn({self, "--today", path});
  const Compared program = in_turn({rackside_program(), "--book", path, "today"});
  return {{"today@" + name, median_run(list.ours).wall_ms, median_run(list.empty).wall_ms, "ms"},
          {"today-program@" + name, median_run(program.ours).wall_ms, median_run(program.empty).wall_ms, "ms"}};
}

}  // namespace

/// With the small book's list beside it: what is due costs, not how long the log is.
std::vector<Row> today_10m(Stage& stage) {
  std::vector<Row> rows = today_in(stage, "10m", 2'000'000);
  const std::vector<Row> small = today_in(stage, "100k", 20'000);
  rows.insert(rows.end(), small.begin(), small.end());
  return rows;
}

}  // namespace rackside::bench
