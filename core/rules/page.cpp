#include "core/rules/rule.h"

namespace rackside::core {
namespace {

std::string kinds_text(const Rule& rule) {
  std::string out;
  for (Kind kind : rule.kinds) out += (out.empty() ? "`" : ", `") + std::string(word_of(kind)) + "`";
  return out;
}

std::string grouping_text(const Grouping& grouping) {
  switch (grouping.by) {
    case Grouping::By::night:
      return "of one animal in one feeding night";
    case Grouping::By::days:
      return "within " + std::to_string(grouping.length) + " days of the first";
    case Grouping::By::hours:
      return "within " + std::to_string(grouping.length) + " hours of the first";
    default:
      return {};
  }
}

}  // namespace

std::string rules_page() {
  std::string page =
      "# What happens when accounts disagree\n\n"
      "Written from the table of rules (core/rules/rules.cpp): rule set " +
      std::to_string(kRuleSet) +
      ". Nothing that a helper saw is ever refused. Where accounts\n"
      "cannot all be true, each rule says what is believed until a person settles it, and believes what is safer for "
      "the\n"
      "animal. `rackside questions` lists what is open, `rackside settle` answers it, and the answer `open` takes an "
      "answer\n"
      "back. None of this replaces a look at the animal, or a veterinarian.\n";
  for (const Rule& rule : rule_table()) {
    page += "\n## " + std::string(rule.name) + "\n\n*" + std::string(rule.title) + "*\n\n";
    if (!rule.kinds.empty()) page += "Judges " + kinds_text(rule) + " " + grouping_text(rule.grouping) + ".\n\n";
    page += std::string(rule.belief) + "\n";
  }
  return page;
}

}  // namespace rackside::core
