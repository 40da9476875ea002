#include "core/entry/corrections.h"

#include <algorithm>

#include "core/entry/entry.h"
#include "core/entry/scene.h"

namespace rackside::core {
namespace {

constexpr Instant kUndoReaches = 12 * kHour;
constexpr std::size_t kFewEvents = 8;
constexpr std::size_t kLeastDigits = 4;

std::string id_of(const EventRef& ref) {
  return to_hex(ref.hash).substr(0, 8);
}

/// Events that name this one, with their relation.
std::vector<std::pair<StoryLine, Relation>> namers_of(Reader& reader, const EventRef& ref) {
  std::vector<std::pair<EventRow, Relation>> rows;
  {
    auto query =
        reader.book().database().prepare("SELECT source, relation FROM answer WHERE target = ? ORDER BY source");
    query.bind(reader.book().log().find(ref));
    while (query.step()) rows.emplace_back(query.integer(0), static_cast<Relation>(query.integer(1)));
  }
  std::vector<std::pair<StoryLine, Relation>> out;
  for (const auto& [row, relation] : rows) out.emplace_back(reader.line(row), relation);
  return out;
}

bool is_restored(Reader& reader, const EventRef& withdrawal) {
  const auto namers = namers_of(reader, withdrawal);
  return std::any_of(namers.begin(), namers.end(),
                     [](const auto& one) { return one.first.kind == Kind::restored && one.first.read; });
}

}  // namespace

bool is_entry(Kind kind) {
  const KindInfo& info = info_of(kind);
  const bool seen_or_moved = info.kind_class == KindClass::observation || info.kind_class == KindClass::move;
  return info.voidable && (seen_or_moved || info.kind_class == KindClass::fate);
}

std::optional<StoryLine> newest_own_entry(Reader& reader, Instant now) {
  constexpr int kMostTries = 4096;
  for (int limit = 8; limit <= kMostTries; limit *= 8) {
    const auto lines = reader.own_latest(limit);
    for (const StoryLine& line : lines) {
      if (!is_entry(line.kind) || line.gone) continue;
      const Instant written = line.event->clock.wall_ms;
      const Zone& zone = reader.settings().zone;
      const bool recent = now - written < kUndoReaches || zone.day_of(written) == zone.day_of(now);
      return recent ? std::optional(line) : std::nullopt;
    }
    if (static_cast<int>(lines.size()) < limit) break;
  }
  return std::nullopt;
}

std::optional<StoryLine> newest_entry_of(Reader& reader, Thing thing) {
  constexpr int kEnough = 200;
  for (const StoryLine& line : reader.story(thing, kEnough)) {
    if (is_entry(line.kind) && !line.gone) return line;
  }
  return std::nullopt;
}

std::vector<EventRef> events_beginning(Reader& reader, std::string_view hex) {
  std::string digits(hex);
  std::transform(digits.begin(), digits.end(), digits.begin(),
                 [](char c) { return c >= 'a' && c <= 'f' ? static_cast<char>(c - 'a' + 'A') : c; });
  const bool good = digits.size() >= kLeastDigits && digits.find_first_not_of("0123456789ABCDEF") == std::string::npos;
  std::vector<EventRef> out;
  if (!good) return out;
  std::vector<EventRow> rows;
  {
    auto query = reader.book().database().prepare(
        "SELECT id FROM event WHERE substr(hex(substr(hash, 1, 16)), 1, ?) = ? LIMIT ?");
    query.bind(static_cast<std::int64_t>(digits.size()), digits, static_cast<std::int64_t>(kFewEvents));
    while (query.step()) rows.push_back(query.integer(0));
  }
  for (const EventRow row : rows) out.push_back(reader.book().log().ref_of(row));
  return out;
}

Draft withdrawal_of(const StoryLine& line) {
  if (!info_of(line.kind).voidable) {
    throw Error(Fault::usage, "The event " + id_of(line.ref) + " is “" + line.kind_name +
                                  "”, which is never withdrawn: a setting is changed by a later one, an answer by "
                                  "answering “open”, a withdrawal by `restore`.");
  }
  if (line.gone)
    throw Error(Fault::usage, "The event " + id_of(line.ref) + " is withdrawn already. `restore` brings it back.");
  return {.kind = Kind::voided, .re = {{line.ref, Relation::saw}}};
}

Draft restoration_of(Reader& reader, const StoryLine& line) {
  Draft draft{.kind = Kind::restored};
  std::string replaced_by;
  for (const auto& [namer, relation] : namers_of(reader, line.ref)) {
    if (namer.kind == Kind::voided && namer.read && !is_restored(reader, namer.ref))
      draft.re.push_back({namer.ref, Relation::saw});
    if (relation == Relation::replaces && namer.kind != Kind::voided && namer.read && !namer.gone)
      replaced_by = id_of(namer.ref);
  }
  if (!draft.re.empty()) return draft;
  if (!replaced_by.empty()) {
    throw Error(Fault::usage, "The event " + id_of(line.ref) + " was not withdrawn but replaced by " + replaced_by +
                                  ": `void " + replaced_by + "` brings it back.");
  }
  throw Error(Fault::usage, "The event " + id_of(line.ref) + " is not withdrawn: there is nothing to restore.");
}

std::vector<EventRef> settlements_of(Reader& reader, const Question& question) {
  std::vector<EventRef> out;
  for (const EventRef& member : question.members) {
    for (const auto& [namer, relation] : namers_of(reader, member)) {
      const bool listed = std::find(out.begin(), out.end(), namer.ref) != out.end();
      if (namer.kind == Kind::settled && !listed) out.push_back(namer.ref);
    }
  }
  return out;
}

RestAte rest_ate(Reader& reader, const Named& rack, Instant now) {
  RestAte out;
  Draft draft{.kind = Kind::ate, .own = Value::Object{{"rack", rack.code}}};
  for (const Thing place : reader.places_of(rack.thing)) {
    const Scene scene = look(reader, reader.named(place), "", now);
    for (const Resident& one : scene.found) {
      if (one.open_offers.empty()) continue;
      out.animals.push_back(one.animal);
      for (const Seen& offer : one.open_offers) {
        const bool named =
            std::any_of(draft.re.begin(), draft.re.end(), [&](const Answer& a) { return a.event == offer.ref; });
        if (!named) draft.re.push_back({offer.ref, Relation::saw});
      }
    }
  }
  if (!draft.re.empty()) out.draft = std::move(draft);
  return out;
}

}  // namespace rackside::core
