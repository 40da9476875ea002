// The breeding calendar from entries as helpers make them.
#include "core/base/error.h"
#include "tests/support/typed_book.h"

using namespace rackside;
using namespace rackside::core;
using namespace rackside::tests;
using Json = nlohmann::json;

namespace {

struct Season : TypedBook {
  Season() {
    run({"rack", "add", "A", "--places", "4"});
    run({"animal", "add", "M-1", "--species", "corn snake", "--sex", "male", "--at", "A-01"});
    run({"animal", "add", "F-1", "--species", "corn snake", "--sex", "female", "--at", "A-02"});
  }
  Json calendar() { return json({"calendar", "--days", "400"}); }
};

}  // namespace

TEST_CASE("the calendar follows a female from locking to hatching") {
  Season season;
  CHECK(season.calendar().empty());
  season.run({"log", "locked", "F-1", "--at", "120h ago"});
  Json list = season.calendar();
  REQUIRE(list.size() == 1);
  CHECK(list[0]["what"] == "lays");
  CHECK(list[0]["step"] == "pairing-to-laying");
  CHECK(list[0]["chance"] == 0.8);
  CHECK(list[0]["own_observations"] == 0);
  season.run({"log", "laid good 12", "F-1", "--at", "24h ago"});
  list = season.calendar();
  REQUIRE(list.size() == 1);
  CHECK(list[0]["what"] == "eggs hatch");
  CHECK(season.run({"calendar"}).out.find("eggs hatch") != std::string::npos);
}

TEST_CASE("the keeper's own range counts, none shows nothing, and nonsense is refused") {
  Season season;
  season.run({"log", "locked", "F-1", "--at", "120h ago"});
  season.run({"season", "set", "corn snake", "pairing-to-laying", "30"});
  const std::string first = season.calendar()[0]["first"];
  season.run({"season", "set", "corn snake", "pairing-to-laying", "90-100"});
  CHECK(season.calendar()[0]["first"] > first);
  season.run({"season", "set", "corn snake", "pairing-to-laying", "none"});
  CHECK(season.calendar().empty());
  CHECK(season.try_run({"season", "set", "corn snake", "pairing-to-laying", "62-55"}).status ==
        fault_info(Fault::usage).exit_status);
  CHECK(season.try_run({"season", "set", "corn snake", "pairing", "55"}).err.find("laying-to-hatching") !=
        std::string::npos);
}
