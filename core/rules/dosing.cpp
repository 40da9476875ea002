#include "core/rules/rule.h"

// Treatments of one animal within 24 hours. Nothing is asked: every dose that was told is believed given, because a
// dose too many is the danger. What the next helper must know is whether two accounts may be of one dose.
namespace rackside::core {
namespace {

bool is_echo(const Group& group, std::size_t i) {
  for (std::size_t j = 0; j < group.size(); ++j) {
    if (group.link(i, j).named == Relation::same) return true;
  }
  return false;
}

/// A remedy that was not said may be any.
bool one_remedy(const Account& a, const Account& b) {
  const std::string_view first = a.event->own.text("with");
  const std::string_view second = b.event->own.text("with");
  return first.empty() || second.empty() || first == second;
}

}  // namespace

Verdict judge_dosing(const Group& group) {
  std::vector<std::size_t> doses;
  for (std::size_t i = 0; i < group.size(); ++i) {
    if (!is_echo(group, i)) doses.push_back(i);
  }
  // A ring of "the same" leaves nobody: then each is believed, as anywhere in this rule.
  Verdict verdict{.outcome = "treated",
                  .amount = static_cast<std::int64_t>(doses.empty() ? group.size() : doses.size())};
  bool repeated = false;
  bool in_doubt = false;
  for (std::size_t a = 0; a < doses.size(); ++a) {
    for (std::size_t b = a + 1; b < doses.size(); ++b) {
      if (!one_remedy(group[doses[a]], group[doses[b]])) continue;
      repeated = true;
      in_doubt = in_doubt || order_between(group, doses[a], doses[b]) == 0;
    }
  }
  if (in_doubt) {
    verdict.detail.set("caution", "perhaps-treated-twice");
  } else if (repeated) {
    verdict.detail.set("caution", "treated-twice");
  }
  return verdict;
}

}  // namespace rackside::core
