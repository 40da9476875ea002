// Feeding nights, stories and questions, as people ask for them.
#include <algorithm>
#include <sstream>

#include "core/crypto/sha256.h"
#include "core/read/reader.h"

namespace rackside::core {
namespace {

bool feeds(Kind kind) {
  const auto& kinds = rule_of(RuleId::feeding).kinds;
  return std::find(kinds.begin(), kinds.end(), kind) != kinds.end();
}

/// What one account alone comes to.
std::string outcome_alone(Kind kind) {
  switch (kind) {
    case Kind::fed:
    case Kind::ate:
      return "ate";
    case Kind::offered:
      return "offered";
    default:
      return "refused";
  }
}

std::string prey_of(const Event& event) {
  const Value* items = event.own.find("items");
  if (!items || !items->as_array() || items->as_array()->empty()) return {};
  return std::string(items->as_array()->front().text("prey"));
}

}  // namespace

NightOutcome Reader::outcome_of(Thing animal, const Night& night) {
  NightOutcome out{.night = night};
  std::vector<std::tuple<Instant, EventRow, Kind>> accounts;
  {
    auto query = database_.prepare("SELECT event, kind FROM account WHERE subject = ? AND at >= ? AND at < ?");
    query.bind(animal, night.start, night.end);
    while (query.step()) {
      const Kind kind = static_cast<Kind>(query.integer(1));
      if (!feeds(kind)) continue;
      auto observed = database_.prepare("SELECT at FROM event WHERE id = ?");
      observed.bind(query.integer(0)).step();
      accounts.emplace_back(observed.integer(0), query.integer(0), kind);
    }
  }
  if (accounts.empty()) return out;
  std::sort(accounts.begin(), accounts.end());
  for (const auto& [at, row, kind] : accounts) {
    out.accounts.push_back(book_.log().ref_of(row));
    out.last_at = at;
    const std::string prey = prey_of(*book_.log().event_of(row));
    if (!prey.empty()) out.prey = prey;
  }
  out.outcome = outcome_alone(std::get<2>(accounts.back()));
  out.amount = out.outcome == "ate" ? 1 : 0;
  out.offer_open = out.outcome == "offered";
  auto matter =
      database_.prepare("SELECT outcome, amount, asks, detail FROM matter WHERE rule = ? AND subject = ? AND at = ?");
  if (matter.bind(static_cast<int>(RuleId::feeding), animal, night.start).step()) {
    const Value detail = parse_strict(matter.text(3)).value;
    out.outcome = matter.text(0);
    out.amount = matter.integer(1);
    out.asks = matter.integer(2) != 0;
    out.caution = detail.text("caution");
    out.offer_open = detail.text("offer") == "open";
  }
  return out;
}

std::optional<NightOutcome> Reader::night(Thing animal, DayNumber number) {
  NightOutcome out = outcome_of(animal, night_numbered(settings_.zone, settings_.night_start_minute, number));
  if (out.accounts.empty()) return std::nullopt;
  return out;
}

std::vector<NightOutcome> Reader::nights(Thing animal, int limit) {
  std::vector<NightOutcome> out;
  Instant before = INT64_MAX;
  while (static_cast<int>(out.size()) < limit) {
    std::optional<Instant> newest;
    {
      auto query = database_.prepare("SELECT at, kind FROM account WHERE subject = ? AND at < ? ORDER BY at DESC");
      query.bind(animal, before);
      while (!newest && query.step()) {
        if (feeds(static_cast<Kind>(query.integer(1)))) newest = query.integer(0);
      }
    }
    if (!newest) break;
    out.push_back(outcome_of(animal, night_of(settings_.zone, settings_.night_start_minute, *newest)));
    before = out.back().night.start;
    // An offer that a later offer followed waits no longer: nobody will ever know.
    if (out.size() > 1 && out.back().offer_open) {
      out.back().offer_open = false;
      if (out.back().outcome == "offered") out.back().outcome = "offered-lapsed";
    }
  }
  return out;
}

std::optional<Instant> Reader::dose_in_doubt(Thing animal, Instant since) {
  auto query =
      database_.prepare("SELECT at, detail FROM matter WHERE rule = ? AND subject = ? AND at >= ? ORDER BY at DESC");
  query.bind(static_cast<int>(RuleId::dosing), animal, since);
  while (query.step()) {
    if (parse_strict(query.text(1)).value.text("caution") == "perhaps-treated-twice") return query.integer(0);
  }
  return std::nullopt;
}

// ---- stories

StoryLine Reader::line_of(EventRow row) {
  StoryLine out;
  out.ref = book_.log().ref_of(row);
  out.event = book_.log().event_of(row);
  out.kind = out.event->kind;
  out.kind_name = out.event->kind_name;
  out.device = to_hex(out.ref.device);
  {
    auto query = database_.prepare("SELECT at, mark FROM event WHERE id = ?");
    query.bind(row).step();
    const std::int64_t mark = query.integer(1);
    out.at = query.integer(0);
    out.sure = (mark & kSure) != 0;
    out.said = (mark & kSaid) != 0;
    out.gone = (mark & kGone) != 0;
    out.disputed = (mark & kDisputed) != 0;
    out.read = (mark & kRead) != 0;
  }
  if (!out.event->by.empty()) {
    const auto helper = thing_of(out.event->by);
    out.by = helper ? label(*helper) : out.event->by;
  }
  if (const auto part = book_.sealed_of(row)) out.note = mend_text(parse_strict(part->text).value.text("note"));
  return out;
}

StoryLine Reader::line(EventRow row) {
  return line_of(row);
}

StoryLine Reader::line(const EventRef& ref) {
  const EventRow row = book_.log().find(ref);
  if (row == 0)
    throw Error(Fault::unknown_code, "This book does not hold the event " + to_text(ref) + ". Sync, and try again.");
  return line_of(row);
}

bool Reader::lives_here(Thing animal) {
  const auto gone = latest(animal, {Kind::left, Kind::died, Kind::moved, Kind::swapped});
  return !gone || (gone->kind != Kind::left && gone->kind != Kind::died);
}

std::optional<StoryLine> Reader::latest(Thing thing, std::initializer_list<Kind> kinds) {
  EventRow found = 0;
  {
    auto query = database_.prepare("SELECT event, kind FROM account WHERE subject = ? ORDER BY at DESC, event DESC");
    query.bind(thing);
    while (found == 0 && query.step()) {
      if (std::find(kinds.begin(), kinds.end(), static_cast<Kind>(query.integer(1))) != kinds.end())
        found = query.integer(0);
    }
  }
  if (found == 0) return std::nullopt;
  return line_of(found);
}

std::vector<StoryLine> Reader::story(Thing thing, int limit) {
  std::set<EventRow> rows;
  {
    auto query = database_.prepare("SELECT event FROM account WHERE subject = ? ORDER BY at DESC LIMIT ?");
    query.bind(thing, limit);
    while (query.step()) rows.insert(query.integer(0));
    auto scans = database_.prepare("SELECT event FROM scan WHERE place = ? ORDER BY at DESC LIMIT ?");
    scans.bind(thing, limit);
    while (scans.step()) rows.insert(scans.integer(0));
  }
  // What was withdrawn stays in the story, struck out: it is found by the withdrawals that live accounts do not show.
  const std::string code = named(thing).code;
  {
    auto voided = database_.prepare(
        "SELECT DISTINCT answer.target FROM answer JOIN event ON event.id = answer.target WHERE event.mark & 8 <> 0");
    while (voided.step()) {
      const auto event = book_.log().event_of(voided.integer(0));
      const auto& of = event->of;
      if (std::find(of.begin(), of.end(), code) != of.end() || event->place == code ||
          std::find(event->shown.begin(), event->shown.end(), code) != event->shown.end()) {
        rows.insert(voided.integer(0));
      }
    }
  }
  std::vector<StoryLine> out;
  for (EventRow row : rows) out.push_back(line_of(row));
  std::sort(out.begin(), out.end(),
            [](const StoryLine& a, const StoryLine& b) { return std::tie(a.at, a.ref) > std::tie(b.at, b.ref); });
  if (static_cast<int>(out.size()) > limit) out.resize(static_cast<std::size_t>(limit));
  return out;
}

std::vector<StoryLine> Reader::own_latest(int limit) {
  std::vector<StoryLine> out;
  const auto device = book_.log().find_device(book_.device());
  if (!device) return out;
  for (const Branch* branch : book_.log().branches_of(*device)) {
    for (std::uint32_t seq = branch->head_seq; seq > branch->base_seq && static_cast<int>(out.size()) < limit; --seq) {
      StoryLine line = line_of(make_row(branch->id, seq));
      if (info_of(line.kind).voidable) out.push_back(std::move(line));
    }
  }
  return out;
}

// ---- questions

std::vector<Question> Reader::questions(bool open_only, std::optional<RuleId> rule) {
  std::vector<Question> out;
  // Two texts: only with the number in it SQLite sees that the index of open questions will do.
  auto query = database_.prepare(
      open_only ? "SELECT rule, subject, at, outcome, answers, members, detail, asks, lead, amount FROM matter WHERE "
                  "answers <> '' AND asks = 1 AND rule BETWEEN ? AND ? ORDER BY rule, at, lead"
                : "SELECT rule, subject, at, outcome, answers, members, detail, asks, lead, amount FROM matter WHERE "
                  "answers <> '' AND rule BETWEEN ? AND ? ORDER BY rule, at, lead");
  query.bind(rule ? static_cast<int>(*rule) : 0, rule ? static_cast<int>(*rule) : INT32_MAX);
  while (query.step()) {
    Question one{.rule = static_cast<RuleId>(query.integer(0)), .subject = query.integer(1), .at = query.integer(2)};
    one.outcome = query.text(3);
    std::istringstream answers{std::string(query.text(4))};
    for (std::string answer; std::getline(answers, answer);) one.answers.push_back(answer);
    std::istringstream rows{std::string(query.text(5))};
    for (EventRow row = 0; rows >> row;) one.members.push_back(book_.log().ref_of(row));
    one.detail = parse_strict(query.text(6)).value;
    const EventRow lead = query.integer(8);
    one.amount = query.integer(9);
    if (one.rule == RuleId::withdrawal || one.rule == RuleId::field) {
      one.at = line_of(lead).at;
    }
    const std::string key =
        std::string(rule_of(one.rule).name) + "|" + named(one.subject).code + "|" + to_text(book_.log().ref_of(lead));
    one.id = to_hex(sha256(as_bytes(key))).substr(0, 8);
    out.push_back(std::move(one));
  }
  return out;
}

std::optional<Question> Reader::question(std::string_view id) {
  for (Question& one : questions(false)) {
    if (one.id == id) return std::move(one);
  }
  return std::nullopt;
}

}  // namespace rackside::core
