#include "cli/session.h"

#include <fmt/format.h>
#include <time.h>

#include <algorithm>
#include <cstdlib>
#include <ctime>
#include <filesystem>
#include <fstream>
#include <regex>

#include "core/base/words.h"
#include "core/crypto/key.h"
#include "core/crypto/sha256.h"

namespace rackside::cli {

using namespace core;

namespace {

std::string environment(const char* name) {
  const char* value = std::getenv(name);
  return value ? value : "";
}

std::string default_path() {
  std::string base = environment("XDG_DATA_HOME");
  if (base.empty()) base = environment("HOME") + "/.local/share";
  return base + "/rackside/rackside.book";
}

/// The kernel draws a random id at every boot: the run of this computer's monotonic clock, shared by all programs on
/// it.
std::uint64_t boot_run() {
  static const std::uint64_t run = [] {
    std::ifstream file("/proc/sys/kernel/random/boot_id");
    std::string id;
    std::getline(file, id);
    if (id.empty()) id = to_hex(random_array<16>());
    const Hash hash = sha256(as_bytes("rackside run " + id));
    std::uint64_t number = 0;
    for (std::size_t i = 0; i < 8; ++i) number = (number << 8) | hash[i];
    return number;
  }();
  return run;
}

std::int64_t milliseconds_of(clockid_t clock) {
  timespec time{};
  ::clock_gettime(clock, &time);
  return std::int64_t{time.tv_sec} * 1000 + time.tv_nsec / 1'000'000;
}

bool is_kind(const Named& named, const std::vector<std::string>& kinds) {
  return kinds.empty() || std::find(kinds.begin(), kinds.end(), named.kind) != kinds.end();
}

std::string described(const Named& named) {
  const std::string kind = named.kind.empty() ? "something not registered" : named.kind;
  return named.label == named.code ? kind + " " + named.code : kind + " " + named.label + " (" + named.code + ")";
}

std::string joined(const std::vector<std::string>& parts, const std::string& between) {
  std::string out;
  for (const std::string& part : parts) out += (out.empty() ? "" : between) + part;
  return out;
}

std::vector<std::string> similar(Reader& reader, const std::string& text, const std::vector<std::string>& kinds) {
  std::vector<std::string> out;
  for (const std::string& kind : kinds.empty() ? std::vector<std::string>{"animal", "place", "rack"} : kinds) {
    for (const Named& named : reader.all(kind)) {
      if (edit_distance(named.label, text) <= std::max<std::size_t>(1, text.size() / 4) && out.size() < 4)
        out.push_back(named.label);
    }
  }
  return out;
}

std::string bad_code_message(Reader& reader, const CodeReading& reading) {
  std::vector<std::string> known;
  for (const Code& code : reading.might_have_been) {
    const auto thing = reader.thing_of(code.text());
    if (thing) known.push_back(described(reader.named(*thing)));
  }
  std::string message = reading.message;
  if (!known.empty()) message += " In this book it might be " + joined(known, " or ") + ".";
  return message;
}

}  // namespace

std::string Session::path() const {
  if (!book_path.empty()) return book_path;
  const std::string named = environment("RACKSIDE_BOOK");
  return named.empty() ? default_path() : named;
}

Book& Session::book() {
  if (book_) return *book_;
  book_ = std::make_unique<Book>(Book::open(path(), [this](std::size_t done, std::size_t all) {
    terminal.progress("The book was last used by another version: judging it again by today's rules:", done, all);
  }));
  terminal.end_progress();
  return *book_;
}

/// A bundle or another book may have shown that this one was copied: it writes on under a name of its own.
void Session::end_double() {
  if (book().has_double()) book().succeed(clock());
}

ClockReading Session::clock() const {
  return {milliseconds_of(CLOCK_REALTIME), boot_run(), milliseconds_of(CLOCK_BOOTTIME)};
}

Instant Session::now() const {
  return milliseconds_of(CLOCK_REALTIME);  // not clock(): a list need not know which run of the computer it is
}

Named Session::find(const std::string& text, const std::vector<std::string>& kinds) {
  Reader reader(book());
  const CodeReading reading = read_code(text);
  if (reading.code) {
    const auto thing = reader.thing_of(reading.code->text());
    if (thing) {
      const Named named = reader.named(*thing);
      if (is_kind(named, kinds)) return named;
      throw Error(Fault::unknown_code,
                  described(named) + " is no " + joined(kinds, " or ") + ". Scan or type another one.");
    }
  }
  std::vector<Named> matches = reader.with_short_id(text);
  // Helpers have no short ID: people say their names.
  if (std::find(kinds.begin(), kinds.end(), "helper") != kinds.end()) {
    for (const Named& helper : reader.all("helper")) {
      if (edit_distance(helper.label, text) == 0) matches.push_back(helper);
    }
  }
  std::erase_if(matches, [&](const Named& named) { return !is_kind(named, kinds); });
  if (matches.size() == 1) return matches.front();
  if (matches.size() > 1) {
    std::vector<std::string> all;
    for (const Named& named : matches) all.push_back(described(named));
    throw Error(Fault::ambiguous, "“" + text + "” is the short ID of several: " + joined(all, ", ") +
                                      ". Scan the label, or type its ten characters.");
  }
  if (reading.code) {
    throw Error(Fault::unknown_code,
                "The code " + reading.code->spaced() +
                    " is well-formed, but this book does not know it. Sync first, if another device made it.");
  }
  const std::vector<std::string> near = similar(reader, text, kinds);
  if (reading.problem != CodeReading::Problem::not_a_code && near.empty())
    throw Error(Fault::bad_code, bad_code_message(reader, reading));
  throw Error(
      Fault::unknown_code,
      "This book knows " + (kinds.empty() ? "nothing called" : "no " + kinds.front()) + " “" + text + "”." +
          (near.empty() ? " `rackside list` shows what there is." : " Did you mean " + joined(near, " or ") + "?"));
}

Code Session::new_code(CodeKind kind) {
  Reader reader(book());
  for (;;) {
    const Code code = Code::generate(kind, fill_random);
    if (!reader.thing_of(code.text())) return code;
  }
}

// ---- times

SaidTime Session::parse_at(const std::string& text) {
  static const std::regex ago(R"(^\s*(\d{1,4})\s*(m|min|minutes?|h|hours?)\s*(ago)?\s*$)", std::regex::icase);
  static const std::regex day_and_clock(R"(^\s*(today|yesterday|\d{4}-\d{2}-\d{2})?[ T]*(\d{1,2}:\d{2})?\s*$)",
                                        std::regex::icase);
  std::smatch match;
  SaidTime said;
  if (std::regex_match(text, match, ago)) {
    const int number = std::stoi(match[1]);
    said.minutes_ago = std::tolower(match[2].str().front()) == 'h' ? number * 60 : number;
    return said;
  }
  if (std::regex_match(text, match, day_and_clock) && (match[1].matched || match[2].matched)) {
    bool good = true;
    if (match[2].matched) {
      int minute = 0;
      good = parse_clock(match[2].str(), minute);
      said.minute = minute;
    }
    if (match[1].matched) {
      DayNumber day = Reader(book()).settings().zone.day_of(now());
      const char first = static_cast<char>(std::tolower(match[1].str().front()));
      if (first == 'y') --day;
      if (first >= '0' && first <= '9') good = good && parse_date(match[1].str(), day);
      said.day = day;
    }
    if (good) return said;
  }
  throw Error(Fault::usage, "“" + text +
                                "” is no time that --at understands. Write 19:30, “yesterday 19:30”, 2026-11-24, "
                                "“2026-11-24 19:30”, “2h ago” or “20 min ago”.");
}

std::string Session::clock_of(Instant at) {
  return clock_text(Reader(book()).settings().zone.minute_of_day(at));
}

std::string Session::when(Instant at) {
  const Zone zone = Reader(book()).settings().zone;
  const DayNumber days = zone.day_of(now()) - zone.day_of(at);
  const std::string clock = clock_text(zone.minute_of_day(at));
  if (days == 0) return "today " + clock;
  if (days == 1) return "yesterday " + clock;
  if (days > 1 && days < 60) return fmt::format("{} days ago", days);
  return date_text(zone.day_of(at));
}

Zone system_zone(Instant now) {
  constexpr int kYearsAhead = 12;
  const auto minutes_at = [](Instant t) {
    const std::time_t seconds = t / 1000;
    std::tm local{};
    ::localtime_r(&seconds, &local);
    return static_cast<int>(local.tm_gmtoff / 60);
  };
  Zone zone;
  Instant at = now - 400 * kDay;
  zone.steps.push_back({0, minutes_at(at)});
  for (; at < now + kYearsAhead * 366 * kDay; at += kDay) {
    if (minutes_at(at + kDay) == zone.steps.back().minutes_east) continue;
    Instant low = at;
    Instant high = at + kDay;
    while (high - low > 1000) {
      const Instant middle = low + (high - low) / 2;
      (minutes_at(middle) == zone.steps.back().minutes_east ? low : high) = middle;
    }
    high -= high % 1000;
    zone.steps.push_back({high, minutes_at(high)});
  }
  return zone;
}

}  // namespace rackside::cli
