#include <set>
#include <string>

#include "core/base/error.h"
#include "core/log/kinds.h"
#include "tests/support/catch.h"

namespace {

using namespace rackside::core;

TEST_CASE("every kind has one row, in the order of the enumeration, and a word of its own") {
  std::set<std::string_view> words;
  std::size_t index = 0;
  for (const KindInfo& info : kind_table()) {
    INFO(info.name);
    CHECK(static_cast<std::size_t>(info.kind) == index++);
    CHECK(words.insert(info.name).second);
    CHECK(info.name.find_first_not_of("abcdefghijklmnopqrstuvwxyz_") == std::string_view::npos);
    CHECK(kind_of(info.name) == info.kind);
    CHECK(word_of(info.kind) == info.name);
    CHECK(&info_of(info.kind) == &info);
    CHECK_FALSE(info.sentence.empty());
  }
}

TEST_CASE("a word of a newer program is an unknown kind") {
  CHECK(kind_of("sang") == Kind::unknown);
  CHECK(kind_of("") == Kind::unknown);
  CHECK(kind_of("FED") == Kind::unknown);
}

TEST_CASE("only what is seen at a tub can be rebound") {
  for (const KindInfo& info : kind_table()) {
    INFO(info.name);
    CHECK((info.kind_class == KindClass::observation) == (info.rebinding != Rebinding::never));
  }
}

TEST_CASE("a sentence about an animal names it once") {
  for (const KindInfo& info : kind_table()) {
    const auto first = info.sentence.find("{}");
    INFO(info.name);
    if (info.kind_class == KindClass::observation || info.kind_class == KindClass::move)
      CHECK(first != std::string_view::npos);
    if (first != std::string_view::npos) CHECK(info.sentence.find("{}", first + 1) == std::string_view::npos);
  }
}

TEST_CASE("judgements and the log's own affairs cannot be voided, and only grave entries of others are asked about") {
  std::set<std::string_view> grave;
  for (const KindInfo& info : kind_table()) {
    INFO(info.name);
    if (info.kind_class == KindClass::judgement || info.kind_class == KindClass::administration)
      CHECK_FALSE(info.voidable);
    if (info.kind_class == KindClass::observation || info.kind_class == KindClass::move) CHECK(info.voidable);
    if (info.grave) grave.insert(info.name);
    if (info.grave) CHECK(info.voidable);
  }
  CHECK(grave == std::set<std::string_view>{"treated", "laid", "died", "sold", "hatched"});
}

TEST_CASE("each fault has its row, a name of its own and an exit status that a shell can see") {
  std::set<std::string_view> names;
  std::size_t index = 0;
  for (const FaultInfo& info : error_table()) {
    INFO(info.name);
    CHECK(static_cast<std::size_t>(info.fault) == index++);
    CHECK(names.insert(info.name).second);
    CHECK((info.exit_status >= 1 && info.exit_status <= 125));
    CHECK((info.http_status >= 400 && info.http_status <= 599));
  }
}

}  // namespace
