#include "core/read/reader.h"

#include <algorithm>
#include <cctype>
#include <sstream>

#include "core/read/field_text.h"

namespace rackside::core {
namespace {

std::string lower(std::string_view text) {
  std::string out(text);
  std::transform(out.begin(), out.end(), out.begin(),
                 [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
  return out;
}

bool is_digit(char c) {
  return c >= '0' && c <= '9';
}

std::string_view digits_at(std::string_view text, std::size_t from) {
  std::size_t end = from;
  while (end < text.size() && is_digit(text[end])) ++end;
  while (from + 1 < end && text[from] == '0') ++from;
  return text.substr(from, end - from);
}

int sign(std::strong_ordering order) {
  return order < 0 ? -1 : order > 0 ? 1 : 0;
}

}  // namespace

int compare_naturally(std::string_view a, std::string_view b) {
  std::size_t i = 0;
  std::size_t j = 0;
  while (i < a.size() && j < b.size()) {
    if (is_digit(a[i]) && is_digit(b[j])) {
      const std::string_view x = digits_at(a, i);
      const std::string_view y = digits_at(b, j);
      if (x.size() != y.size()) return x.size() < y.size() ? -1 : 1;
      if (x != y) return sign(x <=> y);
      i = static_cast<std::size_t>(x.data() - a.data()) + x.size();
      j = static_cast<std::size_t>(y.data() - b.data()) + y.size();
    } else {
      const int x = std::tolower(static_cast<unsigned char>(a[i++]));
      const int y = std::tolower(static_cast<unsigned char>(b[j++]));
      if (x != y) return x < y ? -1 : 1;
    }
  }
  return sign(a.size() - i <=> b.size() - j);
}

Reader::Reader(Book& book) : book_(book), database_(book.database()) {
  book_.refresh();
  settings_ = load_settings(database_);
}

std::string Reader::setting(const std::string& key) {
  auto query = database_.prepare("SELECT value FROM setting WHERE key = ?");
  return query.bind(key).step() ? std::string(query.text(0)) : std::string();
}

// ---- the register

std::optional<Thing> Reader::thing_of(std::string_view code) {
  auto query = database_.prepare("SELECT coalesce(joined, id) FROM code WHERE text = ?");
  if (!query.bind(code).step()) return std::nullopt;
  return query.integer(0);
}

Named Reader::named(Thing thing) {
  const auto known = named_.find(thing);
  if (known != named_.end()) return known->second;
  Named named{.thing = thing};
  {
    auto query = database_.prepare(
        "SELECT code.text, kind.value, short.value FROM code LEFT JOIN field AS kind ON kind.subject = code.id AND "
        "kind.name = 'registered' LEFT JOIN field AS short ON short.subject = code.id AND short.name = 'short' WHERE "
        "code.id = ?");
    if (query.bind(thing).step()) {
      named.code = query.text(0);
      if (!query.null(1)) named.kind = field_text(query.text(1));
      if (!query.null(2)) named.label = field_text(query.text(2));
    }
  }
  if (named.label.empty() && named.kind == "helper") {
    auto query = database_.prepare("SELECT event FROM field WHERE subject = ? AND name = 'registered'");
    if (query.bind(thing).step()) {
      const auto part = book_.sealed_of(query.integer(0));
      if (part) named.label = mend_text(parse_strict(part->text).value.text("name"));
    }
  }
  if (named.label.empty()) named.label = named.code;
  return named_[thing] = named;
}

/// Names all of a kind in one go. Helpers' names are sealed: each is read by itself.
void Reader::learn_names(std::string_view kind) {
  if (kind == "helper") return;
  auto query = database_.prepare(
      "SELECT code.id, code.text, short.value FROM field AS kind JOIN code ON code.id = kind.subject "
      "LEFT JOIN field AS short ON short.subject = kind.subject AND short.name = 'short' "
      "WHERE kind.name = 'registered' AND kind.value = ?");
  query.bind(write_compact(Value(kind)));
  while (query.step()) {
    Named named{query.integer(0), std::string(query.text(1)), std::string(kind), {}};
    if (!query.null(2)) named.label = field_text(query.text(2));
    if (named.label.empty()) named.label = named.code;
    named_.try_emplace(named.thing, std::move(named));
  }
}

std::vector<Named> Reader::all(std::string_view kind) {
  std::vector<Named> out;
  std::vector<Thing> things;
  {
    auto query = database_.prepare("SELECT subject FROM field WHERE name = 'registered' AND value = ?");
    query.bind(write_compact(Value(kind)));
    while (query.step()) things.push_back(query.integer(0));
  }
  const auto is_new = [&](Thing thing) { return !named_.contains(thing); };
  if (std::any_of(things.begin(), things.end(), is_new)) learn_names(kind);
  for (Thing thing : things) out.push_back(named(thing));
  std::sort(out.begin(), out.end(), [](const Named& a, const Named& b) {
    const int order = compare_naturally(a.label, b.label);
    return order != 0 ? order < 0 : a.code < b.code;
  });
  return out;
}

std::vector<Named> Reader::with_short_id(std::string_view text) {
  std::vector<Named> out;
  const std::string wanted = lower(text);
  std::vector<Thing> things;
  {
    // As a text of JSON, and as the number that it may be; the index is of lower case.
    auto query = database_.prepare(
        "SELECT subject, value FROM field INDEXED BY field_short WHERE name = 'short' AND lower(value) IN (?, ?)");
    query.bind(lower(write_compact(Value(text))), wanted);
    while (query.step()) {
      if (lower(field_text(query.text(1))) == wanted) things.push_back(query.integer(0));
    }
  }
  for (Thing thing : things) out.push_back(named(thing));
  return out;
}

std::string Reader::field(Thing thing, const std::string& name) {
  auto query = database_.prepare("SELECT value FROM field WHERE subject = ? AND name = ?");
  return query.bind(thing, name).step() ? field_text(query.text(0)) : std::string();
}

std::map<std::string, std::string> Reader::fields(Thing thing) {
  std::map<std::string, std::string> out;
  auto query = database_.prepare("SELECT name, value FROM field WHERE subject = ?");
  query.bind(thing);
  while (query.step()) out[std::string(query.text(0))] = field_text(query.text(1));
  return out;
}

void Reader::each_field(std::string_view name, const std::function<void(Thing, const std::string&)>& take) {
  auto query = database_.prepare("SELECT subject, value FROM field WHERE name = ?");
  query.bind(name);
  while (query.step()) take(query.integer(0), field_text(query.text(1)));
}

std::unordered_map<Thing, std::string> Reader::field_of_all(std::string_view name) {
  std::unordered_map<Thing, std::string> out;
  each_field(name, [&](Thing thing, const std::string& value) { out.emplace(thing, value); });
  return out;
}

std::vector<std::string> Reader::other_values(Thing thing, const std::string& name) {
  std::vector<std::string> out;
  std::string rows;
  {
    auto query = database_.prepare("SELECT others FROM field WHERE subject = ? AND name = ?");
    if (query.bind(thing, name).step()) rows = query.text(0);
  }
  std::istringstream in(rows);
  for (EventRow row = 0; in >> row;) {
    const auto event = book_.log().event_of(row);
    const Value* set = event->own.find("set");
    const Value* value = set ? set->find(name) : nullptr;
    if (value) out.push_back(field_text(write_compact(*value)));
  }
  return out;
}

std::optional<EventRef> Reader::field_source(Thing thing, const std::string& name) {
  auto query = database_.prepare("SELECT event FROM field WHERE subject = ? AND name = ?");
  if (!query.bind(thing, name).step()) return std::nullopt;
  return book_.log().ref_of(query.integer(0));
}

// ---- places

namespace {

Lodging read_lodging(const Statement& query, LogStore& log) {
  Lodging one{.animal = query.integer(0), .place = query.integer(1)};
  one.role = static_cast<Stay::Role>(query.integer(2));
  one.since = query.integer(3);
  if (!query.null(4)) one.until = query.integer(4);
  one.by = log.ref_of(query.integer(5));
  if (!query.null(6)) one.partner = query.integer(6);
  return one;
}

}  // namespace

std::vector<Lodging> Reader::lodgings_of(Thing animal, Instant at) {
  std::vector<Lodging> out;
  auto query = database_.prepare(
      "SELECT animal, place, role, since, until, by, partner FROM stay WHERE animal = ? AND since <= ? "
      "AND (until IS NULL OR until > ?) ORDER BY role DESC, since DESC");
  query.bind(animal, at, at);
  while (query.step()) out.push_back(read_lodging(query, book_.log()));
  return out;
}

namespace {

/// Those that a place holds in one role at a time, ascending by `since`. Two questions, each with the index by the end:
/// for an OR all that ever stayed there would be read.
std::vector<Lodging> lodgings_at(Database& database, LogStore& log, Thing place, Stay::Role role, Instant at) {
  std::vector<Lodging> out;
  for (const char* sql :
       {"SELECT animal, place, role, since, until, by, partner FROM stay WHERE place = ? AND role = ? "
        "AND since <= ? AND until IS NULL",
        "SELECT animal, place, role, since, until, by, partner FROM stay WHERE place = ? AND role = ? "
        "AND since <= ?3 AND until > ?3"}) {
    auto query = database.prepare(sql);
    query.bind(place, static_cast<int>(role), at);
    while (query.step()) out.push_back(read_lodging(query, log));
  }
  std::sort(out.begin(), out.end(), [](const Lodging& a, const Lodging& b) {
    return std::tie(a.since, a.animal) < std::tie(b.since, b.animal);
  });
  return out;
}

}  // namespace

std::vector<Lodging> Reader::homes_at(Thing place, Instant at) {
  return lodgings_at(database_, book_.log(), place, Stay::Role::home, at);
}

std::vector<Lodging> Reader::found_at(Thing place, Instant at) {
  std::vector<Lodging> out;
  for (const Lodging& home : homes_at(place, at)) {
    const auto all = lodgings_of(home.animal, at);
    if (all.front().role == Stay::Role::home || all.front().place == place) out.push_back(home);
  }
  const auto visitors = lodgings_at(database_, book_.log(), place, Stay::Role::visiting, at);
  out.insert(out.end(), visitors.begin(), visitors.end());
  return out;
}

std::optional<Thing> Reader::rack_of(Thing place) {
  const std::string code = field(place, "rack");
  return code.empty() ? std::nullopt : thing_of(code);
}

std::vector<Thing> Reader::places_of(Thing rack) {
  std::vector<std::pair<std::int64_t, Thing>> found;
  const std::string code = named(rack).code;
  {
    auto query = database_.prepare("SELECT subject FROM field WHERE name = 'rack' AND value = ?");
    query.bind(write_compact(Value(code)));
    while (query.step()) found.emplace_back(0, query.integer(0));
  }
  for (auto& [position, place] : found) {
    const std::string text = field(place, "position");
    position = text.empty() ? 0 : std::atoll(text.c_str());
  }
  std::sort(found.begin(), found.end());
  std::vector<Thing> out;
  for (const auto& [position, place] : found) out.push_back(place);
  return out;
}

std::vector<Named> Reader::racks() {
  struct Ranked {
    bool quarantine = false;
    long long walk = 0;
    Named rack;
  };
  // Few have either, so both are read at once.
  const auto walks = field_of_all("walk");
  const auto quarantines = field_of_all("quarantine");
  std::vector<Ranked> ranked;
  for (Named& rack : all("rack")) {
    const auto walk = walks.find(rack.thing);
    const auto quarantine = quarantines.find(rack.thing);
    ranked.push_back({quarantine != quarantines.end() && quarantine->second == "yes",
                      walk == walks.end() ? 0LL : std::atoll(walk->second.c_str()), std::move(rack)});
  }
  std::stable_sort(ranked.begin(), ranked.end(), [](const Ranked& a, const Ranked& b) {
    return std::pair(a.quarantine, a.walk) < std::pair(b.quarantine, b.walk);
  });
  std::vector<Named> out;
  for (Ranked& one : ranked) out.push_back(std::move(one.rack));
  return out;
}

}  // namespace rackside::core
