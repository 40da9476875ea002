#include <chrono>
#include <cstdio>
#include <fstream>
#include <random>

#include "labels/labels.h"
#include "tests/bench/benchmarks.h"

namespace rackside::bench {
namespace {

constexpr int kLabels = 10'000;

void seeded_bytes(std::span<std::uint8_t> out) {
  static std::mt19937 random(20261125);
  for (std::uint8_t& byte : out) byte = static_cast<std::uint8_t>(random());
}

/// Half of them cards with every field, half places, as a room's worth of tubs has.
std::vector<labels::Label> tub_labels(int count) {
  std::vector<labels::Label> all;
  for (int i = 0; i < count; ++i) {
    const bool card = i % 2 == 1;
    const auto kind = card ? labels::LabelKind::animal_card : labels::LabelKind::place;
    const auto code = core::Code::generate(card ? core::CodeKind::animal : core::CodeKind::place, seeded_bytes);
    labels::Label label = labels::label_for(kind, code, (card ? "C-" : "B-") + std::to_string(i));
    label.subtitle = "Rack " + std::to_string(i / 40);
    if (card) {
      label.sex = i % 4 == 1 ? labels::LabelSex::female : labels::LabelSex::male;
      label.prey = "small rat";
      label.species = "corn snake";
      label.genes = {"amel", "motley"};
      label.possible_genes = {"66 % het anery"};
      label.hatch_year = "2021";
      label.parents = "C-03 × C-09";
    }
    all.push_back(std::move(label));
  }
  return all;
}

double now() {
  using namespace std::chrono;
  return duration<double>(steady_clock::now().time_since_epoch()).count();
}

struct Cost {
  double wall_ms;
  labels::PressReport report;
};

Cost print(const std::vector<labels::Label>& all, const std::string& path) {
  std::ofstream file(path, std::ios::binary);
  const double begin = now();
  const labels::PagePlan plan = labels::sheet_plan(all, labels::find_sheet("a4-3x8"), {});
  Cost cost{0, labels::print_pdf(plan, [&](std::string_view bytes) { file << bytes; })};
  cost.wall_ms = (now() - begin) * 1000;
  return cost;
}

}  // namespace

int print_labels(int count, const std::string& path) {
  print(tub_labels(count), path);
  return 0;
}

/// The floor of printing is drawing alone: what the same pages cost without proof, by one thread. `print-10k` so says
/// what proof costs, and what several cores give back; the floor of memory is a print of a tenth.
std::vector<Row> print_10k(Stage& stage) {
  const Cost cost = print(tub_labels(kLabels), stage.fresh("labels.pdf"));
  std::fprintf(stderr, "print-10k: %zu pages; processor time: drawing %.1f s, proof %.1f s; wall %.1f s\n",
               cost.report.pages, cost.report.draw_seconds, cost.report.proof_seconds, cost.wall_ms / 1000);
  const std::size_t ten_thousand = peak_of_child({"--print", std::to_string(kLabels), stage.fresh("all.pdf")});
  const std::size_t one_thousand = peak_of_child({"--print", std::to_string(kLabels / 10), stage.fresh("few.pdf")});
  constexpr double kMib = 1024;
  return {
      {"print-10k", cost.wall_ms, cost.report.draw_seconds * 1000, "ms"},
      {"print-10k-peak", static_cast<double>(ten_thousand) / kMib, static_cast<double>(one_thousand) / kMib, "MiB"}};
}

}  // namespace rackside::bench
