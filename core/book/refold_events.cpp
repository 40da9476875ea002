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

std::vector<Thing> things_in(std::string_view text) {
  std::vector<Thing> out;
  while (!text.empty()) {
    const std::size_t end = std::min(text.find(' '), text.size());
    out.push_back(std::stoll(std::string(text.substr(0, end))));
    text.remove_prefix(std::min(end + 1, text.size()));
  }
  return out;
}

std::string text_of_things(const std::vector<Thing>& things) {
  std::string out;
  for (Thing thing : things) out += (out.empty() ? "" : " ") + std::to_string(thing);
  return out;
}

}  // namespace

Account Refold::account_of(EventRow row) {
  auto event = log_.event_of(row);
  const Judged judged = log_.judged_of(row);
  return {.ref = log_.ref_of(row),
          .row = row,
          .kind = static_cast<Kind>(judged.mark >> kMarkKindShift),
          .observed = judged.at.value_or(0),
          .sure = (judged.mark & kSure) != 0,
          .said = (judged.mark & kSaid) != 0,
          .event = std::move(event)};
}

/// Whether a fold from nothing comes to this event later.
bool Refold::is_ahead(EventRow row) const {
  if (!reached_) return false;
  const auto found = reached_->find(branch_of(row));
  return found == reached_->end() || seq_of(row) > found->second;
}

void Refold::dirty_event(EventRow row) {
  if (!is_ahead(row) && (!fresh_wait_ || !is_fresh(row))) dirty_.insert(row);
}

// ---- what is told of an event, in memory and in its tables

Refold::Told& Refold::told(EventRow row) {
  const auto at = log_.fresh_index(row);
  if (!at) return told_before_[row];
  if (told_.size() < log_.fresh().size()) told_.resize(log_.fresh().size());
  return told_[*at];
}

Refold::Held<std::vector<Refold::Point>>& Refold::points_of(EventRow row) {
  auto& held = told(row).points;
  if (held.known || is_fresh(row)) return held;
  auto query = database_.prepare("SELECT subject, at FROM account WHERE event = ?");
  query.bind(row);
  while (query.step()) held.stored.emplace_back(query.integer(0), query.integer(1));
  std::sort(held.stored.begin(), held.stored.end());
  held.now = held.stored;
  held.known = true;
  return held;
}

Refold::Held<std::optional<Refold::ScanRow>>& Refold::scan_of(EventRow row) {
  auto& held = told(row).scan;
  if (held.known || is_fresh(row)) return held;
  auto query = database_.prepare("SELECT place, at, how, bound FROM scan WHERE event = ?");
  if (query.bind(row).step()) {
    held.stored = ScanRow{.place = query.integer(0),
                          .at = query.integer(1),
                          .how = static_cast<Binding::How>(query.integer(2)),
                          .bound = things_in(query.text(3))};
  }
  held.now = held.stored;
  held.known = true;
  return held;
}

void Refold::write_scans() {
  using Row = std::tuple<Thing, Instant, EventRow, const ScanRow*>;
  std::vector<Row> gone;
  std::vector<Row> come;
  std::vector<Row> bound_anew;
  std::sort(scans_changed_.begin(), scans_changed_.end());
  scans_changed_.erase(std::unique(scans_changed_.begin(), scans_changed_.end()), scans_changed_.end());
  for (const EventRow row : scans_changed_) {
    const auto& [known, now, stored] = scan_of(row);
    if (now == stored) continue;
    const bool stays = now && stored && now->place == stored->place && now->at == stored->at;
    if (stays) bound_anew.emplace_back(now->place, now->at, row, &*now);
    if (stored && !stays) gone.emplace_back(stored->place, stored->at, row, &*stored);
    if (now && !stays) come.emplace_back(now->place, now->at, row, &*now);
  }
  for (const auto& [place, at, row, scan] : gone)
    database_.prepare("DELETE FROM scan WHERE place = ? AND at = ? AND event = ?").bind(place, at, row).run();
  const auto write = [&](const char* sql, std::vector<Row>& rows) {
    std::sort(rows.begin(), rows.end());
    for (const auto& [place, at, row, scan] : rows)
      database_.prepare(sql).bind(static_cast<int>(scan->how), text_of_things(scan->bound), place, at, row).run();
  };
  write("INSERT INTO scan(how, bound, place, at, event) VALUES(?, ?, ?, ?, ?)", come);
  write("UPDATE scan SET how = ?, bound = ? WHERE place = ? AND at = ? AND event = ?", bound_anew);
  for (const EventRow row : scans_changed_) scan_of(row).stored = scan_of(row).now;
  scans_changed_.clear();
}

void Refold::write_accounts() {
  using Row = std::tuple<Thing, Instant, EventRow>;
  std::vector<Row> gone;
  std::vector<Row> come;
  std::sort(accounts_changed_.begin(), accounts_changed_.end());
  accounts_changed_.erase(std::unique(accounts_changed_.begin(), accounts_changed_.end()), accounts_changed_.end());
  for (const EventRow row : accounts_changed_) {
    auto& held = points_of(row);
    for (const auto& [subject, at] : held.stored) {
      if (!std::binary_search(held.now.begin(), held.now.end(), Point{subject, at}))
        gone.emplace_back(subject, at, row);
    }
    for (const auto& [subject, at] : held.now) {
      if (!std::binary_search(held.stored.begin(), held.stored.end(), Point{subject, at}))
        come.emplace_back(subject, at, row);
    }
    held.stored = held.now;
  }
  accounts_changed_.clear();
  for (const auto& [subject, at, row] : gone)
    database_.prepare("DELETE FROM account WHERE subject = ? AND at = ? AND event = ?").bind(subject, at, row).run();
  std::sort(come.begin(), come.end());
  for (const auto& [subject, at, row] : come) {
    database_.prepare("INSERT INTO account(subject, at, event, kind) VALUES(?, ?, ?, ?)")
        .bind(subject, at, row, static_cast<int>(log_.judged_of(row).mark >> kMarkKindShift))
        .run();
  }
}

// ---- who must be judged again

/// Everything whose own judgement may change because of what has just come.
void Refold::find_affected() {
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
  for (const FreshEvent& fresh : log_.fresh()) queue.push_back(fresh.row);
  while (!queue.empty()) {
    const EventRow row = queue.back();
    queue.pop_back();
    for (EventRow target : judged_by(row)) {
      if (!is_fresh(target) && dirty_.insert(target).second) queue.push_back(target);
    }
  }
}

std::vector<EventRow> Refold::judged_by(EventRow row) {
  const auto event = log_.event_of(row);
  std::vector<EventRow> targets;
  if (event->re.empty()) return targets;
  const bool judges = event->kind == Kind::voided || event->kind == Kind::restored || event->kind == Kind::settled;
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
  for (const auto& [source, relation] : namers_of(voided)) {
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
  for (const auto& [source, relation] : namers_of(row)) {
    const auto event = log_.event_of(source);
    const bool voids = event->kind == Kind::voided;
    const bool replaces = words == Words::all && relation == Relation::replaces;
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
      for (const Point& point : points_of(offer).now) {
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
    const auto& scan = scan_of(row).now;
    if (scan && scan->place == thing_of(event.place) && scan->at == time.at) {
      for (Thing thing : scan->bound) {
        const bool known = std::any_of(out.begin(), out.end(), [&](const Point& own) { return own.first == thing; });
        if (!known) out.emplace_back(thing, time.at);
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
  if (info_of(event->kind).grave && !is_fresh(row)) clear_matters(RuleId::withdrawal, 0, row, row);
  const VoidState state = read ? void_of(row, *event, time) : VoidState::live;
  const std::int64_t mark = kFolded | (read ? kRead : 0) | (time.sure ? kSure : 0) | (time.said ? kSaid : 0) |
                            (state == VoidState::gone ? kGone : 0) | (state == VoidState::disputed ? kDisputed : 0) |
                            (static_cast<std::int64_t>(event->kind) << kMarkKindShift);
  log_.judge(row, {time.at, mark});
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
  auto& now = scan_of(row).now;
  const bool moved = now && !(scan && *scan == Point{now->place, now->at});
  if (moved) {
    clear_matter(RuleId::whose, now->place, now->at, row);
    now.reset();
    scans_changed_.push_back(row);
  }
  if (!scan) return;
  if (!now) {
    now = ScanRow{.place = scan->first, .at = scan->second};
    scans_changed_.push_back(row);
  }
  unbound_.emplace_back(scan->first, scan->second, row);
}

void Refold::replace_accounts(EventRow row, Kind kind, std::vector<Point> subjects) {
  auto& held = points_of(row);
  for (const Point& point : held.now) touch(kind, point.first, point.second);
  if (held.now == subjects) return;
  for (const Point& point : subjects) touch(kind, point.first, point.second);
  held.now = std::move(subjects);
  accounts_changed_.push_back(row);
  if (kind != Kind::offered) return;
  // Whoever spoke of this offer speaks of the animal it now belongs to.
  for (const auto& [source, relation] : namers_of(row)) {
    if (speaks_of_offers(log_.event_of(source)->kind)) dirty_event(source);
  }
}

void Refold::touch(Kind kind, Thing subject, Instant at) {
  if (is_move(kind)) movers_.insert(subject);
  touch_doubts(kind, subject);
  for (RuleId rule : rules_for(kind)) points_.emplace_back(rule, subject, at);
  news_of_.push_back(subject);
}

/// The moves of each animal, with the place they lead to, so that a place whose code is joined is found.
void Refold::replace_moves(EventRow row, const Event& event, const std::vector<Point>& subjects) {
  if (!is_fresh(row)) database_.prepare("DELETE FROM move WHERE event = ?").bind(row).run();
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
  if (!is_fresh(row)) {
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
