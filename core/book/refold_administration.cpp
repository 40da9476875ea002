// Stage 1: who names whom, admission, clocks, settings, codes.
#include <algorithm>
#include <charconv>

#include "core/book/refold.h"
#include "core/book/schema.h"
#include "core/crypto/key.h"
#include "core/crypto/sha256.h"

namespace rackside::core {

/// Writes who names whom, in the order of the table's key.
void Refold::write_links(std::vector<Naming>& links) {
  std::sort(links.begin(), links.end());
  links.erase(std::unique(links.begin(), links.end()), links.end());
  for (const auto& [target, source, relation] : links) {
    database_.prepare("INSERT OR IGNORE INTO answer(target, source, relation) VALUES(?, ?, ?)")
        .bind(target, source, static_cast<int>(relation))
        .run();
    if (is_fresh(target)) told(target).namers.emplace_back(source, relation);
  }
}

/// Who names the events at hand in [first, last], for a fold from nothing, which has linked them in a pass before.
void Refold::load_namers(EventRow first, EventRow last) {
  auto query = database_.prepare(
      "SELECT target, source, relation FROM answer WHERE target BETWEEN ? AND ? ORDER BY target, source, relation");
  query.bind(first, last);
  while (query.step())
    told(query.integer(0)).namers.emplace_back(query.integer(1), static_cast<Relation>(query.integer(2)));
}

std::vector<Refold::Namer> Refold::namers_of(EventRow row) {
  if (is_fresh(row)) return told(row).namers;
  std::vector<Namer> namers;
  auto query = database_.prepare("SELECT source, relation FROM answer WHERE target = ?");
  query.bind(row);
  while (query.step()) namers.emplace_back(query.integer(0), static_cast<Relation>(query.integer(1)));
  return namers;
}

void Refold::link_answers() {
  std::vector<Naming> links;
  for (const FreshEvent& fresh : log_.fresh()) {
    for (const Answer& answer : fresh.event->re) {
      if (const EventRow target = log_.find(answer.event)) {
        links.emplace_back(target, fresh.row, answer.relation);
      } else {
        database_.prepare("INSERT OR IGNORE INTO awaited(device, seq, hash, source, relation) VALUES(?, ?, ?, ?, ?)")
            .bind(answer.event.device, answer.event.seq, answer.event.hash, fresh.row,
                  static_cast<int>(answer.relation))
            .run();
      }
    }
  }
  if (anything_awaited()) {
    for (const auto& [first, last] : log_.fresh_spans()) release_awaited(first, last, links);
  }
  write_links(links);
}

bool Refold::anything_awaited() {
  return database_.prepare("SELECT 1 FROM awaited LIMIT 1").step();
}

/// Events at hand of one branch that others named before they came: their naming takes effect now.
void Refold::release_awaited(EventRow first, EventRow last, std::vector<Naming>& links) {
  const DeviceId device = log_.device_name(log_.branch(branch_of(first)).device);
  std::set<EventRow> released;
  {
    auto query =
        database_.prepare("SELECT seq, hash, source, relation FROM awaited WHERE device = ? AND seq BETWEEN ? AND ?");
    query.bind(device, seq_of(first), seq_of(last));
    while (query.step()) {
      const EventRow row = make_row(branch_of(first), static_cast<std::uint32_t>(query.integer(0)));
      if (shorten(log_.hash_of(row)) != query.bytes<16>(1)) continue;  // another branch's
      const EventRow source = query.integer(2);
      links.emplace_back(row, source, static_cast<Relation>(query.integer(3)));
      if (!is_fresh(source)) relinked_.push_back(source);
      released.insert(row);
    }
  }
  for (const EventRow row : released) {
    const EventRef ref = log_.ref_of(row);
    database_.prepare("DELETE FROM awaited WHERE device = ? AND seq = ? AND hash = ?")
        .bind(ref.device, ref.seq, ref.hash)
        .run();
  }
}

void Refold::administer() {
  for (const FreshEvent& fresh : log_.fresh()) {
    read_stretch(fresh.row, *fresh.event);
    administer_one(fresh.row, *fresh.event);
  }
  for (EventRow row : relinked_) administer_one(row, *log_.event_of(row));
  if (admissions_changed_) judge_admissions();
  if (settings_changed_) judge_settings();
  if (codes_changed_) judge_codes();
  span_ = {};
}

void Refold::administer_one(EventRow row, const Event& event) {
  const KindInfo& info = info_of(event.kind);
  const bool joins = event.kind == Kind::coded;
  if (info.kind_class != KindClass::administration && !joins) return;
  switch (event.kind) {
    case Kind::founded:
    case Kind::admitted:
    case Kind::retired:
    case Kind::succeeded:
      admissions_changed_ = true;
      break;
    case Kind::clock_checked:
      note_clock_check(row, event);
      return;
    case Kind::set:
      settings_changed_ = true;
      break;
    case Kind::coded:
      codes_changed_ = true;
      break;
    case Kind::printed:
    case Kind::stocked:
      break;  // only kept at hand, for core/read/prints and core/read/freezer
    default:
      return;
  }
  database_.prepare("INSERT OR IGNORE INTO administration(event, kind) VALUES(?, ?)")
      .bind(row, static_cast<int>(event.kind))
      .run();
}

std::vector<EventRow> Refold::administration_of(std::initializer_list<Kind> kinds) {
  std::vector<EventRow> out;
  auto query = database_.prepare("SELECT event, kind FROM administration");
  while (query.step()) {
    if (std::find(kinds.begin(), kinds.end(), static_cast<Kind>(query.integer(1))) != kinds.end())
      out.push_back(query.integer(0));
  }
  return out;
}

// ---- clocks

void Refold::read_stretch(EventRow row, const Event& event) {
  const EventRow previous = log_.row_on_line(branch_of(row), seq_of(row) - 1);
  if (previous != 0 && !begins_stretch(log_.event_of(previous)->clock, event.clock)) return;
  database_.prepare("INSERT OR IGNORE INTO stretch(branch, first_seq) VALUES(?, ?)")
      .bind(branch_of(row), seq_of(row))
      .run();
}

/// The number at which the stretch of an event began, on its line.
std::uint32_t Refold::stretch_start(std::int64_t branch, std::uint32_t seq) {
  const Branch* line = &log_.branch(branch);
  for (;;) {
    auto query = database_.prepare("SELECT max(first_seq) FROM stretch WHERE branch = ? AND first_seq <= ?");
    if (query.bind(line->id, seq).step() && !query.null(0)) return static_cast<std::uint32_t>(query.integer(0));
    if (!line->parent) return 1;
    seq = std::min(seq, line->base_seq);
    line = &log_.branch(*line->parent);
  }
}

/// Whether a check counts: it is read, and its author is admitted as a clock.
bool Refold::counts_as_check(EventRow check) {
  return is_read(check) && standings_.at(log_.branch(branch_of(check)).device)->clock;
}

bool Refold::has_forks(std::int64_t branch) const {
  return log_.branches_of(log_.branch(branch).device).size() > 1;
}

/// A check takes effect on the events of its stretch that it covers: those after the check before it, and those after
/// it until the next. Of a forked device everything is judged again: that is rare, and lines cross.
void Refold::note_clock_check(EventRow source, const Event& event) {
  if (event.re.empty()) return;
  const EventRow named = log_.find(event.re.front().event);
  if (named == 0) return;
  const std::int64_t branch = branch_of(named);
  database_.prepare("INSERT OR IGNORE INTO clock_check(branch, seq, source, offset_ms) VALUES(?, ?, ?, ?)")
      .bind(branch, seq_of(named), source, event.own.number("offset"))
      .run();
  if (has_forks(branch)) {
    for (const Branch* line : log_.branches_of(log_.branch(branch).device)) {
      for (std::uint32_t seq = line->base_seq + 1; seq <= line->head_seq; ++seq) dirty_event(make_row(line->id, seq));
    }
    return;
  }
  const std::uint32_t start = stretch_start(branch, seq_of(named));
  const auto before = seq_of(named) > 1 ? nearest_check(branch, seq_of(named) - 1, Direction::back) : std::nullopt;
  const auto after = nearest_check(branch, seq_of(named) + 1, Direction::forward);
  const std::uint32_t to = after.value_or(log_.branch(branch).head_seq);
  for (std::uint32_t seq = std::max(start, before.value_or(0) + 1); seq <= to; ++seq)
    dirty_event(make_row(branch, seq));
}

/// The nearest number from `seq` on, itself included, that a check which counts names.
std::optional<std::uint32_t> Refold::nearest_check(std::int64_t branch, std::uint32_t seq, Direction direction) {
  auto query =
      database_.prepare(direction == Direction::forward
                            ? "SELECT seq, source FROM clock_check WHERE branch = ? AND seq >= ? ORDER BY seq"
                            : "SELECT seq, source FROM clock_check WHERE branch = ? AND seq <= ? ORDER BY seq DESC");
  query.bind(branch, seq);
  while (query.step()) {
    if (counts_as_check(query.integer(1))) return static_cast<std::uint32_t>(query.integer(0));
  }
  return std::nullopt;
}

/// The checks that count and name events of one branch in [from, to].
void Refold::collect_checks(std::int64_t branch, std::uint32_t from, std::uint32_t to, std::vector<ClockCheck>& out) {
  auto query =
      database_.prepare("SELECT seq, source, offset_ms FROM clock_check WHERE branch = ? AND seq BETWEEN ? AND ?");
  query.bind(branch, from, to);
  while (query.step()) {
    const EventRow source = query.integer(1);
    if (!counts_as_check(source)) continue;
    const auto seq = static_cast<std::uint32_t>(query.integer(0));
    out.push_back({seq, log_.event_of(make_row(branch, seq))->clock.wall_ms, query.integer(2), log_.ref_of(source)});
  }
}

/// Of the checks on an event's line and in its stretch only the nearest matter: the next one at or after it, and the
/// last before it. On a forked device the line has several ends, so all that share the stretch are given.
std::vector<ClockCheck> Refold::checks_around(EventRow row) {
  const std::int64_t branch = branch_of(row);
  const std::uint32_t seq = seq_of(row);
  const std::uint32_t start = stretch_start(branch, seq);
  std::vector<ClockCheck> checks;
  if (has_forks(branch)) {
    for (const Branch* line : log_.branches_of(log_.branch(branch).device)) {
      std::vector<ClockCheck> all;
      collect_checks(line->id, line->base_seq + 1, line->head_seq, all);
      for (const ClockCheck& check : all) {
        const EventRow named = make_row(line->id, check.seq);
        const bool later = log_.on_line(row, named) && stretch_start(line->id, check.seq) <= seq;
        const bool earlier = log_.on_line(named, row) && start <= check.seq;
        if (later || earlier) checks.push_back(check);
      }
    }
    return checks;
  }
  const auto next = nearest_check(branch, seq, Direction::forward);
  if (next && stretch_start(branch, *next) == start) collect_checks(branch, *next, *next, checks);
  const auto last = seq > start ? nearest_check(branch, seq - 1, Direction::back) : std::nullopt;
  if (last && *last >= start) collect_checks(branch, *last, *last, checks);
  return checks;
}

/// The same, remembered for the events that lie between the same checks: most of a device's day.
const std::vector<ClockCheck>& Refold::checks_of_span(EventRow row) {
  const std::int64_t branch = branch_of(row);
  const std::uint32_t seq = seq_of(row);
  if (span_.branch == branch && span_.first <= seq && seq <= span_.last) return span_.checks;
  span_ = {.branch = branch, .first = seq, .last = seq, .checks = checks_around(row)};
  if (has_forks(branch)) return span_.checks;
  const auto next = nearest_check(branch, seq, Direction::forward);
  span_.last = next.value_or(UINT32_MAX);
  auto query = database_.prepare("SELECT min(first_seq) FROM stretch WHERE branch = ? AND first_seq > ?");
  if (query.bind(branch, seq).step() && !query.null(0))
    span_.last = std::min(span_.last, static_cast<std::uint32_t>(query.integer(0)) - 1);
  return span_.checks;
}

std::optional<std::int64_t> Refold::correction(EventRow row, const Event& event) {
  const auto& standing = standings_.at(log_.branch(branch_of(row)).device);
  if (standing && standing->clock) return 0;  // the hub's own clock is taken as it is
  return correction_for(seq_of(row), event.clock.wall_ms, checks_of_span(row));
}

// ---- admission

bool Refold::is_read(EventRow row) {
  return role_at(row) >= Role::helper;
}

/// The role under which an event was written; none when it is not read.
Role Refold::role_at(EventRow row) {
  const std::int64_t device = log_.branch(branch_of(row)).device;
  auto found = standings_.find(device);
  if (found == standings_.end()) {
    std::optional<Standing> standing;
    auto query = database_.prepare("SELECT role, clock, retired, read_until, text FROM standing WHERE device = ?");
    if (query.bind(device).step()) {
      standing.emplace();
      standing->role = static_cast<Role>(query.integer(0));
      standing->clock = query.integer(1) != 0;
      standing->retired = query.integer(2) != 0;
      if (!query.null(3)) standing->read_until = log_.ref_of(query.integer(3));
      std::string_view text = query.text(4);
      while (!text.empty()) {
        std::uint32_t from = 0;
        int role = 0;
        auto end = std::from_chars(text.data(), text.data() + text.size(), from).ptr + 1;
        end = std::from_chars(end, text.data() + text.size(), role).ptr;
        standing->roles.emplace_back(from, static_cast<Role>(role));
        text.remove_prefix(std::min(text.size(), static_cast<std::size_t>(end - text.data()) + 1));
      }
    }
    found = standings_.emplace(device, standing).first;
  }
  if (!found->second) return Role::none;
  const Standing& standing = *found->second;
  if (standing.retired) {
    const EventRow head = standing.read_until ? log_.find(*standing.read_until) : 0;
    if (head == 0 || !log_.on_line(row, head)) {
      retirees_.insert(device);
      return Role::none;
    }
  }
  return standing.role_at(seq_of(row));
}

/// Whether a `founded` is this collection's own: its key and salt give the collection's name.
bool Refold::founds(const EventRef& ref, const Event& event) {
  const auto key = array_from_hex<65>(event.own.text("key"));
  const auto salt = array_from_hex<16>(event.own.text("salt"));
  if (ref.seq != 1 || !key || !salt || device_id_of(*key) != ref.device) return false;
  auto query = database_.prepare("SELECT value FROM meta WHERE key = 'collection'");
  const Hash name = sha256({ByteSpan(*key), ByteSpan(*salt)});
  return query.step() && query.text(0) == to_hex(ByteSpan(name).first(16));
}

void Refold::judge_admissions() {
  std::vector<AdmissionEvent> events;
  std::optional<DeviceId> root;
  for (EventRow row : administration_of({Kind::founded, Kind::admitted, Kind::retired, Kind::succeeded})) {
    const auto event = log_.event_of(row);
    const EventRef ref = log_.ref_of(row);
    if (event->kind == Kind::founded) {
      if (founds(ref, *event)) root = ref.device;
      continue;
    }
    AdmissionEvent admission{.ref = ref, .kind = event->kind};
    const auto device = array_from_hex<8>(event->own.text("device"));
    if (!device) continue;
    admission.device = *device;
    admission.role = role_of(event->own.text("role")).value_or(Role::none);
    if (admission.role == Role::root) admission.role = Role::keeper;
    admission.clock = event->own.flag("clock");
    admission.from = static_cast<std::uint32_t>(std::clamp<std::int64_t>(event->own.number("from"), 0, UINT32_MAX));
    if (!event->re.empty()) admission.head = event->re.front().event;
    events.push_back(admission);
  }
  if (!root) return;
  const auto on_line = [this](const EventRef& event, const EventRef& head) {
    const EventRow a = log_.find(event);
    const EventRow b = log_.find(head);
    return a != 0 && b != 0 && log_.on_line(a, b);
  };
  const Admission admission = read_admissions(*root, events, on_line);
  standings_.clear();
  for (const auto& [device, standing] : admission) write_standing(log_.device_row(device), &standing);
  std::vector<std::int64_t> dropped;
  auto known = database_.prepare("SELECT device FROM standing");
  while (known.step()) {
    if (!admission.contains(log_.device_name(known.integer(0)))) dropped.push_back(known.integer(0));
  }
  for (std::int64_t device : dropped) write_standing(device, nullptr);
}

/// Writes a device's standing; where it changed, all its events are judged again.
void Refold::write_standing(std::int64_t device, const Standing* standing) {
  std::string text;
  std::optional<std::int64_t> until;
  if (standing) {
    for (const auto& [from, role] : standing->roles) {
      text += (text.empty() ? "" : ",") + std::to_string(from) + ":" + std::to_string(static_cast<int>(role));
    }
    if (standing->read_until) {
      if (const EventRow head = log_.find(*standing->read_until)) until = head;
    }
  }
  {
    auto query = database_.prepare("SELECT role, clock, retired, read_until, text FROM standing WHERE device = ?");
    const bool known = query.bind(device).step();
    if (!known && !standing) return;
    if (known && standing && query.integer(0) == static_cast<int>(standing->role) &&
        (query.integer(1) != 0) == standing->clock && (query.integer(2) != 0) == standing->retired &&
        query.null(3) == !until && query.integer(3) == until.value_or(0) && query.text(4) == text) {
      return;
    }
  }
  database_.prepare("DELETE FROM standing WHERE device = ?").bind(device).run();
  if (standing) {
    database_.prepare("INSERT INTO standing(device, role, clock, retired, read_until, text) VALUES(?, ?, ?, ?, ?, ?)")
        .bind(device, static_cast<int>(standing->role), standing->clock, standing->retired, until, text)
        .run();
  }
  retirees_.insert(device);
  dirty_device(device);
}

void Refold::dirty_device(std::int64_t device) {
  bool administers = false;
  for (const Branch* branch : log_.branches_of(device)) {
    for (std::uint32_t seq = branch->base_seq + 1; seq <= branch->head_seq; ++seq)
      dirty_event(make_row(branch->id, seq));
    auto query = database_.prepare("SELECT 1 FROM administration WHERE event BETWEEN ? AND ? LIMIT 1");
    administers = administers || query.bind(make_row(branch->id, 0), make_row(branch->id, UINT32_MAX)).step();
    // Its clock checks count or no longer count: what they corrected is judged again.
    auto checks = database_.prepare("SELECT branch, seq FROM clock_check WHERE source BETWEEN ? AND ?");
    checks.bind(make_row(branch->id, 0), make_row(branch->id, UINT32_MAX));
    while (checks.step()) fold_all_ = true;
  }
  if (administers) {
    settings_changed_ = true;
    codes_changed_ = true;
  }
}

// ---- settings and codes

/// Of the keepers' edits of a setting, the greatest (valid-from, device, seq, hash) holds.
void Refold::judge_settings() {
  std::map<std::string, std::tuple<std::int64_t, EventRef, std::string>> best;
  for (EventRow row : administration_of({Kind::set})) {
    if (role_at(row) < Role::keeper) continue;
    const auto event = log_.event_of(row);
    const Value* value = event->own.find("value");
    if (!value) continue;
    auto candidate = std::make_tuple(event->own.number("from"), log_.ref_of(row), write_compact(*value));
    auto [held, fresh] = best.emplace(std::string(event->own.text("key")), candidate);
    if (!fresh && std::tie(std::get<0>(candidate), std::get<1>(candidate)) >
                      std::tie(std::get<0>(held->second), std::get<1>(held->second))) {
      held->second = candidate;
    }
  }
  database_.prepare("DELETE FROM setting").run();
  for (const auto& [key, held] : best) {
    database_.prepare("INSERT INTO setting(key, value) VALUES(?, ?)").bind(key, std::get<2>(held)).run();
  }
  const FoldSettings now = load_settings(database_);
  if (!(now == settings_)) fold_all_ = true;
  settings_ = now;
}

/// A joined code stands for the thing it was joined to; of two joinings of one code the greater event holds, and in a
/// ring the smallest code does.
void Refold::judge_codes() {
  std::map<std::string, std::pair<EventRef, std::string>> joined;
  for (EventRow row : administration_of({Kind::coded})) {
    if (role_at(row) < Role::keeper) continue;
    const auto event = log_.event_of(row);
    const std::string code(event->own.text("code"));
    if (event->of.empty() || code.empty() || code == event->of.front()) continue;
    const EventRef ref = log_.ref_of(row);
    auto [held, fresh] = joined.emplace(code, std::make_pair(ref, event->of.front()));
    if (!fresh && ref > held->second.first) held->second = {ref, event->of.front()};
  }
  std::map<std::string, std::string> final_code;
  for (const auto& [code, to] : joined) {
    std::vector<std::string> way{code};
    std::string end = to.second;
    while (joined.contains(end) && std::find(way.begin(), way.end(), end) == way.end()) {
      way.push_back(end);
      end = joined.at(end).second;
    }
    // A code may lead into a ring that it is no part of.
    const auto ring = std::find(way.begin(), way.end(), end);
    if (ring != way.end()) end = *std::min_element(ring, way.end());
    if (end != code) final_code[code] = end;
  }
  std::map<Thing, std::optional<Thing>> changed;
  {
    auto query = database_.prepare("SELECT id, joined, text FROM code WHERE joined IS NOT NULL");
    while (query.step()) {
      if (!final_code.contains(std::string(query.text(2)))) changed[query.integer(0)] = std::nullopt;
    }
  }
  for (const auto& [code, end] : final_code) {
    const Thing from = code_row(code);
    const Thing to = code_row(end);
    auto query = database_.prepare("SELECT joined FROM code WHERE id = ?");
    query.bind(from).step();
    if (query.null(0) || query.integer(0) != to) changed[from] = to;
  }
  for (const auto& [code, to] : changed) {
    auto before = database_.prepare("SELECT joined FROM code WHERE id = ? AND joined IS NOT NULL");
    dirty_thing(code);
    if (to) dirty_thing(*to);
    if (before.bind(code).step()) dirty_thing(before.integer(0));
  }
  for (const auto& [code, to] : changed)
    database_.prepare("UPDATE code SET joined = ? WHERE id = ?").bind(to, code).run();
  if (changed.empty()) return;
  log_.memory().things.clear();
  news_of_.push_back(kRowOfPlaces);  // a rack may have come under another code
  // A scan in doubt may have shown the same animal under another code.
  auto doubtful = database_.prepare("SELECT event FROM scan WHERE how <> 0");
  while (doubtful.step()) dirty_event(doubtful.integer(0));
}

/// What was told of a thing may stand under another name from now on.
void Refold::dirty_thing(Thing thing) {
  for (const char* sql : {"SELECT event FROM account WHERE subject = ?", "SELECT event FROM scan WHERE place = ?",
                          "SELECT event FROM move WHERE place = ?", "SELECT event FROM parent WHERE parent = ?"}) {
    auto query = database_.prepare(sql);
    query.bind(thing);
    while (query.step()) dirty_event(query.integer(0));
  }
}

Thing Refold::code_row(std::string_view code) {
  auto query = database_.prepare("SELECT id FROM code WHERE text = ?");
  if (query.bind(code).step()) return query.integer(0);
  database_.prepare("INSERT INTO code(text) VALUES(?)").bind(code).run();
  return database_.last_row();
}

Thing Refold::thing_of(std::string_view code) {
  auto& things = log_.memory().things;
  const auto found = things.find(code);
  if (found != things.end()) return found->second;
  Thing thing = code_row(code);
  auto query = database_.prepare("SELECT joined FROM code WHERE id = ? AND joined IS NOT NULL");
  if (query.bind(thing).step()) thing = query.integer(0);
  things.emplace(std::string(code), thing);
  return thing;
}

std::string Refold::text_of(Thing thing) {
  auto query = database_.prepare("SELECT text FROM code WHERE id = ?");
  return query.bind(thing).step() ? std::string(query.text(0)) : std::string();
}

}  // namespace rackside::core
