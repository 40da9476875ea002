// A rule judges a group, so the order in which a group's accounts are listed may not matter.
#include <algorithm>
#include <numeric>

#include "core/fold/registers.h"
#include "core/rules/rule.h"
#include "tests/support/catch.h"
#include "tests/support/property.h"

using namespace rackside::core;
using namespace rackside::tests;

namespace {

/// Any group at all, also with links that no log could give (rings): a judge must not fall for them.
Group random_group(const Rule& rule) {
  const auto size = static_cast<std::size_t>(*rc::gen::inRange(1, 6));
  std::vector<Account> accounts(size);
  for (std::size_t i = 0; i < size; ++i) {
    Account& account = accounts[i];
    account.ref = {{static_cast<std::uint8_t>(*rc::gen::inRange(1, 4))}, static_cast<std::uint32_t>(i + 1), {}};
    account.row = static_cast<EventRow>(i + 1);
    account.kind = rule.kinds[static_cast<std::size_t>(*rc::gen::inRange(0, static_cast<int>(rule.kinds.size())))];
    account.observed = *rc::gen::inRange(0, 8) * 15 * kMinute;
    account.sure = *rc::gen::inRange(0, 3) > 0;
    account.said = *rc::gen::inRange(0, 5) == 0;
    Event event{.kind = account.kind};
    event.own = Value::Object{{"good", *rc::gen::inRange(0, 4)}, {"slugs", *rc::gen::inRange(0, 3)}};
    if (*rc::gen::inRange(0, 2) == 0) event.own.set("stuck", "tail");
    if (*rc::gen::inRange(0, 2) == 0) event.own.set("egg", *rc::gen::inRange(1, 4));
    if (*rc::gen::inRange(0, 2) == 0) event.own.set("count", *rc::gen::inRange(0, 4));
    account.event = std::make_shared<const Event>(std::move(event));
  }
  Group group(std::move(accounts));
  for (std::size_t i = 0; i < size; ++i) {
    for (std::size_t j = 0; j < size; ++j) {
      if (i == j) continue;
      const int relation = *rc::gen::inRange(0, 9);
      if (relation >= 1 && relation <= 4) group.link(i, j).named = static_cast<Relation>(relation);
      group.link(i, j).after_on_line = relation == 5;
    }
  }
  return group;
}

Group listed(const Group& group, const std::vector<std::size_t>& order) {
  std::vector<Account> accounts;
  for (std::size_t i : order) accounts.push_back(group[i]);
  Group out(std::move(accounts));
  out.previous_start = group.previous_start;
  for (std::size_t i = 0; i < order.size(); ++i) {
    for (std::size_t j = 0; j < order.size(); ++j) out.link(i, j) = group.link(order[i], order[j]);
  }
  return out;
}

}  // namespace

TEST_CASE("every rule gives one verdict for every order of a group's accounts") {
  for (const Rule& rule : rule_table()) {
    if (!rule.judge) continue;
    check_property(std::string(rule.name) + " does not depend on the order of its accounts", [&] {
      const Group group = random_group(rule);
      const Verdict expected = rule.judge(group);
      RC_ASSERT(!expected.outcome.empty());
      std::vector<std::size_t> order(group.size());
      std::iota(order.begin(), order.end(), std::size_t{0});
      do {
        RC_ASSERT(rule.judge(listed(group, order)) == expected);
      } while (std::next_permutation(order.begin(), order.end()));
    });
  }
}

TEST_CASE("counts of young that may be the same through others are one set, however they hang together") {
  // Nobody can order 0 and 3, 1 and 2, 1 and 3; the others are in order. So all four may tell of the same five young.
  std::vector<Account> accounts(4);
  for (std::size_t i = 0; i < accounts.size(); ++i) {
    accounts[i].ref = {{static_cast<std::uint8_t>(i + 1)}, 1, {}};
    accounts[i].kind = Kind::hatched;
    Event event{.kind = Kind::hatched};
    event.own = Value::Object{{"count", 5}};
    accounts[i].event = std::make_shared<const Event>(std::move(event));
  }
  Group group(std::move(accounts));
  for (const auto& [later, earlier] : {std::pair{1, 0}, std::pair{2, 0}, std::pair{3, 2}})
    group.link(static_cast<std::size_t>(later), static_cast<std::size_t>(earlier)).named = Relation::saw;
  const Verdict verdict = judge_hatching(group);
  CHECK(verdict.amount == 5);
  CHECK(verdict.asks);
  CHECK(verdict.detail.number("together") == 20);
}

TEST_CASE("a register field believes one edit in every order of its edits") {
  check_property("the believed edit and the candidates are the same events", [] {
    Group group = random_group(rule_of(RuleId::feeding));
    for (std::size_t i = 0; i < group.size(); ++i) {
      for (std::size_t j = i; j < group.size(); ++j) group.link(i, j) = {};  // names go backwards: hashes make no rings
    }
    const auto values_of = [](const Group& edits) {
      std::vector<std::string> values;
      for (const Account& account : edits.accounts()) values.push_back(std::to_string(account.row % 3));
      return values;
    };
    const FieldFold expected = fold_field("sex", group, values_of(group));
    std::vector<std::size_t> order(group.size());
    std::iota(order.begin(), order.end(), std::size_t{0});
    do {
      const Group other = listed(group, order);
      const FieldFold fold = fold_field("sex", other, values_of(other));
      RC_ASSERT(other[fold.believed].row == group[expected.believed].row);
      RC_ASSERT(fold.verdict.outcome == expected.verdict.outcome);
      RC_ASSERT(fold.verdict.asks == expected.verdict.asks);
      RC_ASSERT(fold.candidates.size() == expected.candidates.size());
    } while (std::next_permutation(order.begin(), order.end()));
  });
}
