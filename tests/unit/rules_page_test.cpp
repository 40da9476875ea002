// core/RULES.md says what the table of rules says. RACKSIDE_WRITE_PAGES=1 writes it anew.
#include <cstdlib>
#include <fstream>
#include <set>
#include <sstream>

#include "core/rules/rule.h"
#include "tests/support/catch.h"

using namespace rackside::core;

TEST_CASE("the page of the rules is the table of the rules") {
  const std::string path = RACKSIDE_SOURCE_DIR "/core/RULES.md";
  if (std::getenv("RACKSIDE_WRITE_PAGES")) std::ofstream(path) << rules_page();
  std::ostringstream page;
  page << std::ifstream(path).rdbuf();
  INFO("RACKSIDE_WRITE_PAGES=1 test_unit \"the page of the rules*\" writes it anew");
  CHECK(page.str() == rules_page());
}

TEST_CASE("each rule has a name of its own, stands at its number, and says what is believed") {
  std::set<std::string_view> names;
  for (const Rule& rule : rule_table()) {
    CHECK(names.insert(rule.name).second);
    CHECK(&rule_of(rule.id) == &rule);
    CHECK(rule_named(rule.name) == &rule);
    CHECK(rule.belief.size() > 40);
    CHECK((rule.judge == nullptr) == (rule.grouping.by == Grouping::By::outside));
    CHECK((rule.judge == nullptr) == rule.kinds.empty());
  }
}
