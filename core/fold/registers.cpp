#include "core/fold/registers.h"

#include <algorithm>
#include <array>

namespace rackside::core {
namespace {

constexpr std::array<std::string_view, 4> kAsking = {"sex", "hatched", "species", "registered"};

std::vector<std::size_t> unnamed(const Group& edits) {
  std::vector<std::size_t> out;
  for (std::size_t i = 0; i < edits.size(); ++i) {
    bool named = false;
    for (std::size_t j = 0; j < edits.size(); ++j) named = named || edits.link(j, i).named.has_value();
    if (!named) out.push_back(i);
  }
  return out;
}

/// What hatched here is registered under a code that its clutch and its number give: whoever registers it means the
/// same.
bool are_same_young(const Group& edits, const std::vector<std::size_t>& candidates) {
  const auto mark_of = [&](std::size_t i) { return edits[i].event->own.text("young"); };
  const std::string_view first = mark_of(candidates.front());
  return !first.empty() &&
         std::all_of(candidates.begin(), candidates.end(), [&](std::size_t i) { return mark_of(i) == first; });
}

}  // namespace

bool field_asks(std::string_view field) {
  return std::find(kAsking.begin(), kAsking.end(), field) != kAsking.end();
}

FieldFold fold_field(std::string_view field, const Group& edits, const std::vector<std::string>& values) {
  FieldFold fold{.candidates = unnamed(edits)};
  fold.believed = *std::max_element(fold.candidates.begin(), fold.candidates.end(),
                                    [&](std::size_t a, std::size_t b) { return ranks_below(edits[a], edits[b]); });
  fold.verdict.outcome = values[fold.believed];
  const bool differ = std::any_of(fold.candidates.begin(), fold.candidates.end(),
                                  [&](std::size_t i) { return values[i] != values[fold.believed]; });
  // Two registrations of one code are two things even where they look alike.
  const bool twice = field == "registered" && fold.candidates.size() > 1 && !are_same_young(edits, fold.candidates);
  fold.verdict.asks = field_asks(field) && (differ || twice);
  if (fold.verdict.asks) {
    for (std::size_t i : fold.candidates) fold.verdict.answers.push_back(values[i]);
  }
  return fold;
}

}  // namespace rackside::core
