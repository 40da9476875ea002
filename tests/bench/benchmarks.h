#pragma once

#include <span>
#include <string_view>

#include "tests/bench/stage.h"

namespace rackside::bench {

// One file each; the table in benchmarks.cpp names them. To add one: a file, a line here, a row there.
std::vector<Row> merge_100k(Stage& stage);
std::vector<Row> remerge_100k(Stage& stage);
std::vector<Row> merge_peak(Stage& stage);
std::vector<Row> disk_bytes(Stage& stage);
std::vector<Row> genes_10k(Stage& stage);
std::vector<Row> genes_peak(Stage& stage);
/// An invented collection, with all its odds or without.
void reckon_genes(unsigned animals, bool odds);
std::vector<Row> genes_clutch(Stage& stage);
std::vector<Row> genes_scaling(Stage& stage);
std::vector<Row> kin_100k(Stage& stage);
std::vector<Row> breeding_plan(Stage& stage);
std::vector<Row> day_500_100k(Stage& stage);
std::vector<Row> day_500_10m(Stage& stage);
std::vector<Row> nothing_new_10m(Stage& stage);
std::vector<Row> print_10k(Stage& stage);

/// For looking closer: prints that many labels into a file.
int print_labels(int count, const std::string& path);
std::vector<Row> initial_sync_1m(Stage& stage);
std::vector<Row> log_fed_10m(Stage& stage);
std::vector<Row> today_10m(Stage& stage);
std::vector<Row> sync_100(Stage& stage);

/// What today@10m runs in a process of its own. Returns how many lines the list has.
std::size_t make_todays_list(const std::string& book);

struct Benchmark {
  std::string_view name;
  std::vector<Row> (*run)(Stage& stage);
  std::string_view what;
};
std::span<const Benchmark> benchmarks();

}  // namespace rackside::bench
