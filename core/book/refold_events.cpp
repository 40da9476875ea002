// Stage 2 and the accounts: which events must be judged again, whether they are void, when they were seen and of whom
// they tell.
#include <algorithm>

#include "core/book/refold.h"

namespace rackside::core {
namespace {

bool is_move(Kind kind) {
  switch (kind) {
    case Kind::moved:
    case Kind::swapped:
    case Kind::paired:
    case Kind::separated:
    case Kind::left:
    case Kind::died:
      return true;
    default:
      return false;
  }
}

bool edits_register(Kind kind) {
  const KindInfo& info = info_of(kind);
  return info.kind_class == KindClass::registration && kind != Kind::coded;
}

bool speaks_of_offers(Kind kind) {
  return kind == Kind::ate || kind == Kind::leftover;
}

bool is_place_scan(const Event& event) {
  return !event.place.empty() && event.of.empty() && info_of(event.kind).rebinding != Rebinding::never;
}

}  // namespace

Account Refold::account_of(EventRow row) {
  auto query = database_.prepare("SELECT at, mark FROM event WHERE id = ?");
  query.bind(row).step();
  const std::int64_t mark = query.integer(1);
  return {.ref = log_.ref_of(row),
          .row = row,
          .kind = static_cast<Kind>(mark >> kMarkKindShift),
          .observed = query.integer(0),
          .sure = (mark & kSure) != 0,
          .said = (mark & kSaid) != 0,
          .event = log_.event_of(row)};
}

/// Everything whose own judgement may change because of what has just come.
void Refold::find_affected() {
  for (const auto& fresh : fresh_) dirty_event(fresh.first);
  // An event that came late may lie between two others of one group: all that name it, at any remove, are judged again.
  std::vector<EventRow> queue = relinked_;
  std::unordered_set<EventRow> seen(queue.begin(), queue.end());
  while (!queue.empty()) {
    const EventRow row = queue.back();
    queue.pop_back();
    dirty_event(row);
    auto namers = database_.prepare("SELECT source FROM answer WHERE target = ?");
    namers.bind(row);
    while (namers.step()) {
      if (seen.insert(namers.integer(0)).second) queue.push_back(namers.integer(0));
    }
  }
  spread_judgements();
}

/// Whoever is judged by an event that is judged again is judged again too: what a void or an answer is worth depends on
/// its author's standing and on its time.
void Refold::spread_judgements() {
  std::vector<EventRow> queue(dirty_.begin(), dirty_.end());
  while (!queue.empty()) {
    const EventRow row = queue.back();
    queue.pop_back();
    for (EventRow target : judged_by(row)) {
      if (dirty_.insert(target).second) queue.push_back(target);
    }
  }
}

std::vector<EventRow> Refold::judged_by(EventRow row) {
  const auto event = log_.event_of(row);
  const bool judges = event->kind == Kind::voided || event->kind == Kind::restored || event->kind == Kind::settled;
  std::vector<EventRow> targets;
  for (const Answer& answer : event->re) {
    if (!judges && answer.relation != Relation::replaces) continue;
    if (const EventRow target = log_.find(answer.event)) targets.push_back(target);
  }
  return targets;
}

ObservedTime Refold::time_of(EventRow row, const Event& event) {
  return observed_time(event, correction(row, event), settings_.zone);
}

bool Refold::has_restored(EventRow voided) {
  auto query = database_.prepare("SELECT source FROM answer WHERE target = ?");
  query.bind(voided);
  while (query.step()) {
    const EventRow source = query.integer(0);
    if (log_.event_of(source)->kind == Kind::restored && is_read(source)) return true;
  }
  return false;
}

/// Void by a `voided` (being replaced does not count): what a `replaces` loses its force by.
bool Refold::is_voided_by_word(EventRow row) {
  const std::vector<Withdrawal> voids = withdrawals_of(row, Words::voids);
  if (voids.empty()) return false;
  const auto event = log_.event_of(row);
  const ObservedTime time = time_of(row, *event);
  const Account account{.ref = log_.ref_of(row),
                        .row = row,
                        .kind = event->kind,
                        .observed = time.at,
                        .sure = time.sure,
                        .said = time.said,
                        .event = event};
  const VoidState state = void_state(account, voids, settings_.zone);
  if (state != VoidState::disputed) return state == VoidState::gone;
  std::vector<Account> members;
  const Verdict verdict = settled_dispute(row, members);
  return !verdict.asks && verdict.outcome == "gone";
}

std::vector<Withdrawal> Refold::withdrawals_of(EventRow row, Words words) {
  std::vector<Withdrawal> out;
  std::set<EventRow> seen;
  auto query = database_.prepare("SELECT source, relation FROM answer WHERE target = ?");
  query.bind(row);
  while (query.step()) {
    const EventRow source = query.integer(0);
    const auto event = log_.event_of(source);
    const bool voids = event->kind == Kind::voided;
    const bool replaces = words == Words::all && static_cast<Relation>(query.integer(1)) == Relation::replaces;
    if ((!voids && !replaces) || !is_read(source) || !seen.insert(source).second) continue;
    const ObservedTime time = time_of(source, *event);
    Withdrawal one{.by = {.ref = log_.ref_of(source),
                          .row = source,
                          .kind = event->kind,
                          .observed = time.at,
                          .sure = time.sure,
                          .said = time.said,
                          .event = event}};
    if (voids) {
      one.restored = has_restored(source);
    } else {
      one.withdrawn = is_voided_by_word(source);
    }
    out.push_back(std::move(one));
  }
  return out;
}

VoidState Refold::void_of(EventRow row, const Event& event, const ObservedTime& time) {
  const std::vector<Withdrawal> withdrawals = withdrawals_of(row, Words::all);
  if (withdrawals.empty()) return VoidState::live;
  const Account account{.ref = log_.ref_of(row),
                        .row = row,
                        .kind = event.kind,
                        .observed = time.at,
                        .sure = time.sure,
                        .said = time.said};
  VoidState state = void_state(account, withdrawals, settings_.zone);
  if (state == VoidState::disputed) write_dispute(row, state);
  return state;
}

/// What people answered to a disputed withdrawal: "gone" or "stands". Its members: the account and what withdraws it.
Verdict Refold::settled_dispute(EventRow row, std::vector<Account>& members) {
  Account judged;
  judged.ref = log_.ref_of(row);
  judged.row = row;
  judged.event = log_.event_of(row);
  members = {judged};
  for (const Withdrawal& one : withdrawals_of(row, Words::all)) {
    if (!one.restored && !one.withdrawn) members.push_back(one.by);
  }
  return settled(rule_of(RuleId::withdrawal), members,
                 {.outcome = "stands", .asks = true, .answers = {"gone", "stands"}});
}

void Refold::write_dispute(EventRow row, VoidState& state) {
  std::vector<Account> members;
  const Verdict verdict = settled_dispute(row, members);
  write_matter(rule_of(RuleId::withdrawal), 0, row, row, members, verdict);
  if (!verdict.asks && verdict.outcome == "gone") state = VoidState::gone;
}

bool Refold::waits_for_binding(const Event& event) const {
  return speaks_of_offers(event.kind) && !event.re.empty();
}

/// Whom an event tells of, and the time that groups it. A leftover, and "the rest ate", belong to the night of their
/// offer.
std::vector<Refold::Point> Refold::subjects_of(EventRow row, const Event& event, const ObservedTime& time) {
  std::vector<Point> out;
  std::vector<Point> offers;  // apart: an offer of this very instant must not be taken for the event's own time
  for (const std::string& code : event.of) out.emplace_back(thing_of(code), time.at);
  if (speaks_of_offers(event.kind)) {
    for (const Answer& answer : event.re) {
      const EventRow offer = log_.find(answer.event);
      if (offer == 0 || log_.event_of(offer)->kind != Kind::offered) continue;
      auto query = database_.prepare("SELECT subject, at FROM account WHERE event = ?");
      query.bind(offer);
      while (query.step()) {
        const Point point{query.integer(0), query.integer(1)};
        const bool of_others =
            !event.of.empty() && std::none_of(event.of.begin(), event.of.end(),
                                              [&](const std::string& code) { return thing_of(code) == point.first; });
        if (of_others) continue;
        std::erase_if(out, [&](const Point& own) { return own.first == point.first; });
        offers.push_back(point);
      }
    }
  }
  out.insert(out.end(), offers.begin(), offers.end());
  if (is_place_scan(event)) {
    auto query = database_.prepare("SELECT bound FROM scan WHERE place = ? AND at = ? AND event = ?");
    if (query.bind(thing_of(event.place), time.at, row).step()) {
      std::string_view bound = query.text(0);
      while (!bound.empty()) {
        const std::size_t end = std::min(bound.find(' '), bound.size());
        const Thing thing = std::stoll(std::string(bound.substr(0, end)));
        const bool known = std::any_of(out.begin(), out.end(), [&](const Point& own) { return own.first == thing; });
        if (!known) out.emplace_back(thing, time.at);
        bound.remove_prefix(std::min(end + 1, bound.size()));
      }
    }
  }
  std::sort(out.begin(), out.end());
  out.erase(std::unique(out.begin(), out.end()), out.end());
  return out;
}

/// Judges one event: is it read, void, when was it seen, of whom does it tell; and marks what depends on that.
void Refold::derive(EventRow row) {
  ++stats_.derived;
  const auto event = log_.event_of(row);
  const bool read = role_at(row) >= Role::helper;
  const ObservedTime time = read ? time_of(row, *event) : ObservedTime{.at = event->clock.wall_ms};
  if (info_of(event->kind).grave && !fresh_rows_.contains(row)) clear_matters(RuleId::withdrawal, 0, row, row);
  const VoidState state = read ? void_of(row, *event, time) : VoidState::live;
  const std::int64_t mark = kFolded | (read ? kRead : 0) | (time.sure ? kSure : 0) | (time.said ? kSaid : 0) |
                            (state == VoidState::gone ? kGone : 0) | (state == VoidState::disputed ? kDisputed : 0) |
                            (static_cast<std::int64_t>(event->kind) << kMarkKindShift);
  bool changed = true;
  {
    auto old = database_.prepare("SELECT at, mark FROM event WHERE id = ?");
    old.bind(row).step();
    changed = old.null(0) || old.integer(0) != time.at || old.integer(1) != mark;
  }
  if (changed) database_.prepare("UPDATE event SET at = ?, mark = ? WHERE id = ?").bind(time.at, mark, row).run();
  const bool live = read && state != VoidState::gone;
  std::optional<Point> scan;
  if (live && is_place_scan(*event)) scan = Point{thing_of(event->place), time.at};
  replace_scan(row, *event, scan);
  const std::vector<Point> subjects = live ? subjects_of(row, *event, time) : std::vector<Point>{};
  replace_accounts(row, event->kind, subjects);
  if (is_move(event->kind)) replace_moves(row, *event, subjects);
  replace_parents(row, *event, subjects);
  if (edits_register(event->kind)) replace_edits(row, *event, event->kind, subjects);
}

void Refold::replace_scan(EventRow row, const Event& event, std::optional<Point> scan) {
  if (!is_place_scan(event)) return;
  if (!fresh_rows_.contains(row)) {
    std::vector<Point> old;
    {
      auto query = database_.prepare("SELECT place, at FROM scan WHERE event = ?");
      query.bind(row);
      while (query.step()) old.emplace_back(query.integer(0), query.integer(1));
    }
    for (const auto& [place, at] : old) {
      if (scan && *scan == Point{place, at}) continue;
      database_.prepare("DELETE FROM scan WHERE place = ? AND at = ? AND event = ?").bind(place, at, row).run();
      clear_matter(RuleId::whose, place, at, row);
    }
  }
  if (!scan) return;
  database_.prepare("INSERT OR IGNORE INTO scan(place, at, event) VALUES(?, ?, ?)")
      .bind(scan->first, scan->second, row)
      .run();
  unbound_.emplace(scan->first, scan->second, row);
}

void Refold::replace_accounts(EventRow row, Kind kind, const std::vector<Point>& subjects) {
  std::vector<Point> old;
  if (!fresh_rows_.contains(row) || info_of(kind).rebinding != Rebinding::never) {
    auto query = database_.prepare("SELECT subject, at FROM account WHERE event = ?");
    query.bind(row);
    while (query.step()) old.emplace_back(query.integer(0), query.integer(1));
  }
  for (const Point& point : old) {
    if (std::find(subjects.begin(), subjects.end(), point) == subjects.end()) {
      database_.prepare("DELETE FROM account WHERE subject = ? AND at = ? AND event = ?")
          .bind(point.first, point.second, row)
          .run();
    }
    touch(kind, point.first, point.second);
  }
  for (const Point& point : subjects) {
    if (std::find(old.begin(), old.end(), point) == old.end()) {
      database_.prepare("INSERT OR IGNORE INTO account(subject, at, event, kind) VALUES(?, ?, ?, ?)")
          .bind(point.first, point.second, row, static_cast<int>(kind))
          .run();
    }
    touch(kind, point.first, point.second);
  }
  if (kind != Kind::offered || (old == subjects)) return;
  // Whoever spoke of this offer speaks of the animal it now belongs to.
  auto namers = database_.prepare("SELECT source FROM answer WHERE target = ?");
  namers.bind(row);
  while (namers.step()) {
    if (speaks_of_offers(log_.event_of(namers.integer(0))->kind)) dirty_event(namers.integer(0));
  }
}

void Refold::touch(Kind kind, Thing subject, Instant at) {
  if (is_move(kind)) movers_.insert(subject);
  touch_doubts(kind, subject);
  for (RuleId rule : rules_for(kind)) points_[{rule, subject}].insert(at);
}

/// The moves of each animal, with the place they lead to, so that a place whose code is joined is found.
void Refold::replace_moves(EventRow row, const Event& event, const std::vector<Point>& subjects) {
  if (!fresh_rows_.contains(row)) database_.prepare("DELETE FROM move WHERE event = ?").bind(row).run();
  for (const Point& point : subjects) {
    database_.prepare("INSERT OR IGNORE INTO move(animal, event, place) VALUES(?, ?, ?)")
        .bind(point.first, row, destination(event, point.first))
        .run();
  }
}

void Refold::replace_edits(EventRow row, const Event& event, Kind kind, const std::vector<Point>& subjects) {
  std::vector<std::pair<Thing, std::string>> wanted;
  const Value* set = event.own.find("set");
  for (const Point& point : subjects) {
    if (kind != Kind::edited) wanted.emplace_back(point.first, "registered");
    if (!set || !set->as_object()) continue;
    for (const auto& [name, value] : *set->as_object()) wanted.emplace_back(point.first, name);
  }
  if (!fresh_rows_.contains(row)) {
    auto query = database_.prepare("SELECT subject, field FROM edit WHERE event = ?");
    query.bind(row);
    while (query.step()) fields_.emplace(query.integer(0), std::string(query.text(1)));
    database_.prepare("DELETE FROM edit WHERE event = ?").bind(row).run();
  }
  for (const auto& [subject, field] : wanted) {
    database_.prepare("INSERT OR IGNORE INTO edit(subject, field, event) VALUES(?, ?, ?)")
        .bind(subject, field, row)
        .run();
    fields_.emplace(subject, field);
  }
}

}  // namespace rackside::core
