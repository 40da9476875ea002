#include <algorithm>
#include <string>

#include "core/time/zone.h"
#include "tests/support/catch.h"

namespace {

using namespace rackside::core;

DayNumber day(std::string_view text) {
  DayNumber out = 0;
  REQUIRE(parse_date(text, out));
  return out;
}

Instant utc(std::string_view date, int hour, int minute) {
  return day(date) * kDay + hour * kHour + minute * kMinute;
}

// Central Europe, 2026: summer time from 29 March, 01:00 UTC, to 25 October, 01:00 UTC. Source: directive 2000/84/EC
// (last Sundays of March and October, 01:00 UTC).
Zone central_europe() {
  return Zone{{{utc("2025-10-26", 1, 0), 60}, {utc("2026-03-29", 1, 0), 120}, {utc("2026-10-25", 1, 0), 60}}};
}

TEST_CASE("dates follow the civil calendar") {
  CHECK(day("1970-01-01") == 0);
  CHECK(day("2000-03-01") == 11017);  // date -d 2000-03-01 +%s of coreutils, divided by 86 400
  CHECK(day("2026-11-25") == 20782);  // likewise
  CHECK(date_text(20782) == "2026-11-25");
  CHECK(date_text(-1) == "1969-12-31");
  for (DayNumber d = -100000; d < 200000; d += 37) REQUIRE(day(date_text(d)) == d);
}

TEST_CASE("nonsense is no date") {
  DayNumber out = 0;
  for (const char* text : {"2026-02-29", "2026-13-01", "2026-00-10", "2026-04-31", "26-04-30", "2026-4-30",
                           "2026/04/30", "2026-04-30 ", "-026-04-30", "", "2026-04-3a"}) {
    INFO(text);
    CHECK_FALSE(parse_date(text, out));
  }
  CHECK(parse_date("2028-02-29", out));
}

TEST_CASE("clocks are written and read with two digits") {
  int minute = 0;
  CHECK(clock_text(0) == "00:00");
  CHECK(clock_text(19 * 60 + 5) == "19:05");
  CHECK((parse_clock("23:59", minute) && minute == 1439));
  for (const char* text : {"24:00", "12:60", "9:05", "09:5", "09.05", "", "ab:cd", "-1:00"}) {
    INFO(text);
    CHECK_FALSE(parse_clock(text, minute));
  }
}

TEST_CASE("without steps the zone is UTC") {
  const Zone zone;
  CHECK(zone.minutes_east_at(utc("2026-06-01", 12, 0)) == 0);
  CHECK(zone.instants_of(day("2026-06-01"), 720) == std::vector<Instant>{utc("2026-06-01", 12, 0)});
}

TEST_CASE("the first offset holds before the first step, and local days can differ from UTC days") {
  const Zone zone = central_europe();
  CHECK(zone.minutes_east_at(utc("2001-01-01", 0, 0)) == 60);
  CHECK(zone.day_of(utc("2026-06-01", 21, 59)) == day("2026-06-01"));
  CHECK(zone.day_of(utc("2026-06-01", 22, 0)) == day("2026-06-02"));
  CHECK(zone.minute_of_day(utc("2026-06-01", 22, 1)) == 1);
  CHECK(zone.minute_of_day(utc("1969-12-31", 22, 30)) == 23 * 60 + 30);
}

TEST_CASE("a local time that clocks skip is the instant just after the gap") {
  const Zone zone = central_europe();
  const DayNumber d = day("2026-03-29");
  CHECK(zone.instants_of(d, 119) == std::vector<Instant>{utc("2026-03-29", 0, 59)});
  CHECK(zone.instants_of(d, 120) == std::vector<Instant>{utc("2026-03-29", 1, 0)});
  CHECK(zone.instants_of(d, 150) == std::vector<Instant>{utc("2026-03-29", 1, 0)});
  CHECK(zone.instants_of(d, 179) == std::vector<Instant>{utc("2026-03-29", 1, 0)});
  CHECK(zone.instants_of(d, 180) == std::vector<Instant>{utc("2026-03-29", 1, 0)});
  CHECK(zone.instants_of(d, 181) == std::vector<Instant>{utc("2026-03-29", 1, 1)});
}

TEST_CASE("a local time that clocks show twice has two instants, the earlier first") {
  const Zone zone = central_europe();
  const DayNumber d = day("2026-10-25");
  CHECK(zone.instants_of(d, 119) == std::vector<Instant>{utc("2026-10-24", 23, 59)});
  CHECK(zone.instants_of(d, 120) == std::vector<Instant>{utc("2026-10-25", 0, 0), utc("2026-10-25", 1, 0)});
  CHECK(zone.instants_of(d, 179) == std::vector<Instant>{utc("2026-10-25", 0, 59), utc("2026-10-25", 1, 59)});
  CHECK(zone.instants_of(d, 180) == std::vector<Instant>{utc("2026-10-25", 2, 0)});
}

TEST_CASE("every instant is among the instants of its own local time") {
  const Zone zone = central_europe();
  for (Instant t = utc("2026-03-28", 0, 0); t < utc("2026-03-30", 0, 0); t += 7 * kMinute) {
    const auto found = zone.instants_of(zone.day_of(t), zone.minute_of_day(t));
    REQUIRE(std::find(found.begin(), found.end(), t) != found.end());
  }
  for (Instant t = utc("2026-10-24", 0, 0); t < utc("2026-10-26", 0, 0); t += 7 * kMinute) {
    const auto found = zone.instants_of(zone.day_of(t), zone.minute_of_day(t));
    REQUIRE(std::find(found.begin(), found.end(), t) != found.end());
  }
}

TEST_CASE("a feeding night runs from noon to noon, evening and morning together") {
  const Zone zone = central_europe();
  const Night night = night_of(zone, 720, utc("2026-06-01", 17, 0));
  CHECK(night.number == day("2026-06-01"));
  CHECK(night.start == utc("2026-06-01", 10, 0));
  CHECK(night.end == utc("2026-06-02", 10, 0));
  CHECK(night_of(zone, 720, utc("2026-06-02", 6, 0)).number == night.number);
  CHECK(night_of(zone, 720, night.end - 1).number == night.number);
  CHECK(night_of(zone, 720, night.end).number == night.number + 1);
}

TEST_CASE("the night of a clock change has 23 or 25 hours") {
  const Zone zone = central_europe();
  const Night spring = night_numbered(zone, 720, day("2026-03-28"));
  CHECK(spring.end - spring.start == 23 * kHour);
  const Night autumn = night_numbered(zone, 720, day("2026-10-24"));
  CHECK(autumn.end - autumn.start == 25 * kHour);
}

TEST_CASE("nights divide time without gap or overlap, even where they start within a clock change") {
  const Zone zone = central_europe();
  for (const int start : {0, 90, 120, 150, 179, 180, 720, 1439}) {
    for (Instant t = utc("2026-03-27", 0, 0); t < utc("2026-03-31", 0, 0); t += 10 * kMinute) {
      const Night night = night_of(zone, start, t);
      REQUIRE((night.start <= t && t < night.end));
      REQUIRE(night_numbered(zone, start, night.number + 1).start == night.end);
    }
    for (Instant t = utc("2026-10-23", 0, 0); t < utc("2026-10-27", 0, 0); t += 10 * kMinute) {
      const Night night = night_of(zone, start, t);
      REQUIRE((night.start <= t && t < night.end));
    }
  }
}

}  // namespace
