// The benchmarks' program; tests/bench/run builds and starts it.
//   rackside_bench [NAME…] [--json FILE]
// For looking closer (profilers, memory):
//   rackside_bench --season FILE EVENTS_PER_DEVICE ANIMALS   writes a stream and prints its collection
//   rackside_bench --feed-book STREAM COLLECTION BOOK        prints the peak of its memory in KiB
//   rackside_bench --feed-floor STREAM FILE
//   rackside_bench --print LABELS FILE                      prints the peak of its memory in KiB
//   rackside_bench --genes ANIMALS                           prints the peak of its memory in KiB: all their odds
//   rackside_bench --genes-made ANIMALS                      the same, the collection only
//   rackside_bench --today BOOK                              makes today's list, the evening after the last day
#include <algorithm>
#include <cstdio>
#include <cstring>
#include <fstream>
#include <stdexcept>

#include "tests/bench/benchmarks.h"
#include "tests/bench/floor.h"

namespace rackside::bench {
namespace {

using Arguments = std::vector<std::string>;

void need(const Arguments& arguments, std::size_t count) {
  if (arguments.size() != count) throw std::runtime_error("wrong number of arguments; see the head of main.cpp");
}

int print_peak() {
  std::printf("%zu\n", own_peak_kib());
  return 0;
}

int write_one(const Arguments& arguments) {
  need(arguments, 4);
  const SeasonPlan plan{.events_per_device = static_cast<unsigned>(std::stoul(arguments[2])),
                        .animals = static_cast<unsigned>(std::stoul(arguments[3]))};
  const Season season = write_season(plan, arguments[1]);
  std::printf("%s\n", core::to_hex(season.collection).c_str());
  std::fprintf(stderr, "%zu events, %zu bytes\n", season.events, season.bytes);
  return 0;
}

int feed_one_book(const Arguments& arguments) {
  need(arguments, 4);
  const auto collection = core::array_from_hex<16>(arguments[2]);
  if (!collection) throw std::runtime_error("a collection is 32 hex digits");
  feed_book({.collection = *collection, .path = arguments[1]}, arguments[3]);
  return print_peak();
}

int feed_one_floor(const Arguments& arguments) {
  need(arguments, 3);
  feed_floor(arguments[1], arguments[2]);
  return print_peak();
}

int print_some(const Arguments& arguments) {
  need(arguments, 3);
  print_labels(std::stoi(arguments[1]), arguments[2]);
  return print_peak();
}

int reckon_some_genes(const Arguments& arguments) {
  need(arguments, 2);
  reckon_genes(static_cast<unsigned>(std::stoul(arguments[1])), arguments[0] == "--genes");
  return print_peak();
}

const Benchmark& named(const std::string& name) {
  const auto all = benchmarks();
  const auto found = std::find_if(all.begin(), all.end(), [&](const Benchmark& one) { return one.name == name; });
  if (found != all.end()) return *found;
  std::string known;
  for (const Benchmark& one : all) known += " " + std::string(one.name);
  throw std::runtime_error("there is no benchmark \"" + name + "\"; there are:" + known);
}

void write_json(const std::string& path, const std::vector<Row>& rows) {
  std::ofstream out(path);
  out << "[";
  for (const Row& row : rows) {
    char line[512];
    std::snprintf(line, sizeof line, R"(%s  {"name": "%s", "ours": %.3f, "floor": %.3f, "ratio": %.3f, "unit": "%s"})",
                  &row == rows.data() ? "\n" : ",\n", row.name.c_str(), row.ours, row.floor, row.ratio(),
                  row.unit.c_str());
    out << line;
  }
  out << "\n]\n";
  out.close();
  if (!out) throw std::runtime_error("cannot write " + path);
}

void print_table(const std::vector<Row>& rows) {
  std::printf("%-20s %12s %12s %8s  %s\n", "name", "ours", "floor", "ratio", "unit");
  for (const Row& row : rows) {
    std::printf("%-20s %12.1f %12.1f %8.2f  %s\n", row.name.c_str(), row.ours, row.floor, row.ratio(),
                row.unit.c_str());
  }
}

int run(Arguments arguments) {
  std::string json;
  const auto option = std::find(arguments.begin(), arguments.end(), "--json");
  if (option != arguments.end()) {
    if (option + 1 == arguments.end()) throw std::runtime_error("--json wants the name of a file");
    json = option[1];
    arguments.erase(option, option + 2);
  }
  std::vector<const Benchmark*> chosen;
  for (const std::string& name : arguments) chosen.push_back(&named(name));
  if (arguments.empty()) {
    for (const Benchmark& one : benchmarks()) chosen.push_back(&one);
  }
  Stage stage;
  std::vector<Row> rows;
  for (const Benchmark* one : chosen) {
    const std::vector<Row> more = one->run(stage);
    rows.insert(rows.end(), more.begin(), more.end());
  }
  print_table(rows);
  if (!json.empty()) write_json(json, rows);
  return 0;
}

int print_todays_list(const Arguments& arguments) {
  need(arguments, 2);
  std::printf("%zu lines\n", make_todays_list(arguments[1]));
  return 0;
}

int choose(const Arguments& arguments) {
  const std::string first = arguments.empty() ? "" : arguments.front();
  if (first == "--season") return write_one(arguments);
  if (first == "--feed-book") return feed_one_book(arguments);
  if (first == "--feed-floor") return feed_one_floor(arguments);
  if (first == "--print") return print_some(arguments);
  if (first == "--genes" || first == "--genes-made") return reckon_some_genes(arguments);
  if (first == "--today") return print_todays_list(arguments);
  return run(arguments);
}

}  // namespace
}  // namespace rackside::bench

int main(int count, char** arguments) {
  try {
    return rackside::bench::choose({arguments + 1, arguments + count});
  } catch (const std::exception& error) {
    std::fprintf(stderr, "rackside_bench: %s\n", error.what());
    return 1;
  }
}
