#pragma once

#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "core/fold/account.h"
#include "core/log/value.h"

namespace rackside::core {

/// The rules of what happens when accounts disagree. A row of `rule_table()` each.
enum class RuleId : std::uint8_t {
  feeding = 1,   ///< all feeding accounts of one animal in one feeding night
  shed,          ///< sheds within a week
  laying,        ///< eggs within 48 hours
  pairing,       ///< one animal put to two partners without a separation
  whereabouts,   ///< one animal in two places
  two_in_tub,    ///< two animals at one place, not paired
  whose,         ///< a place was scanned, and another animal lived there
  withdrawal,    ///< another's treatment, eggs, death or sale was withdrawn
  field,         ///< one register field set twice, unawares
  dosing,        ///< treatments within 24 hours
  hatching,      ///< young counted more than once
  gone,          ///< signs of life after it left or died
  male_eggs,     ///< eggs of an animal that is recorded as male
  one_sex_pair,  ///< a pairing of two of one sex
  ancestry,      ///< an animal among its own ancestors
  unread,        ///< what a retired device wrote
};

/// How a rule's groups are cut out of a subject's accounts.
struct Grouping {
  enum class By : std::uint8_t {
    night,    ///< the feeding nights, a partition
    days,     ///< local dates; difference to the first one's < `length`
    hours,    ///< [t0, t0 + length)
    outside,  ///< groups are made elsewhere: occupancy, binding, voids, registers
  };
  By by = By::outside;
  int length = 0;
};

/// What is believed of a group, and whether a person must be asked.
struct Verdict {
  std::string outcome;  ///< one word of the rule's own list, also the answers' vocabulary
  std::int64_t amount = 0;
  bool asks = false;
  std::vector<std::string> answers;  ///< what a settlement may say; "open" is always allowed too
  Value detail;                      ///< further facts for screens; part of the state
  bool operator==(const Verdict&) const = default;
};

struct Rule {
  RuleId id;
  std::string_view name;  ///< as written in settlements
  std::vector<Kind> kinds;
  Grouping grouping;
  Verdict (*judge)(const Group&);                               ///< nullptr where grouping is `outside`
  Verdict (*apply)(Verdict believed, std::string_view answer);  ///< the belief once a person has answered
  std::string_view title;                                       ///< "perhaps fed twice"
  std::string_view belief;                                      ///< what is believed meanwhile, and why that is safer
};

std::span<const Rule> rule_table();
const Rule& rule_of(RuleId id);
const Rule* rule_named(std::string_view name);
/// The rules that group accounts of that kind.
std::span<const RuleId> rules_for(Kind kind);

/// The rules as a page for people: core/RULES.md.
std::string rules_page();

/// More young or eggs than this in one account are a slip of the finger; it keeps every sum far from its limits.
constexpr std::int64_t kMostCounted = 10'000;

/// Changes with every change of a rule's verdicts: state digests are compared only within one number, and a book that
/// was folded under another number is folded again when it is opened.
constexpr int kRuleSet = 4;

/// A settlement that lists all live members of a group: a candidate as in a register.
struct Settlement {
  Account account;
  std::string answer;
};

/// Reads the settlements that hold for a group (the caller left out those that another of them names): one answer
/// settles, two leave it open. `partial` is the answer of one that lists only some live members (a member came since):
/// the group is open again with the old answer as the belief.
Verdict settle(const Rule& rule, const Verdict& verdict, const std::vector<Settlement>& full,
               const std::vector<Settlement>& partial);

// The judges, one file each.
Verdict judge_feeding(const Group& group);
Verdict judge_shed(const Group& group);
Verdict judge_laying(const Group& group);
Verdict judge_dosing(const Group& group);
Verdict judge_hatching(const Group& group);

}  // namespace rackside::core
