// Stage 5: groups, their verdicts, and settlements.
#include <algorithm>

#include "core/book/refold.h"

namespace rackside::core {
namespace {

/// How far "named through others" is followed.
constexpr int kNamingDepth = 64;
constexpr Instant kLateEggs = 30 * kDay;

bool rule_groups(const Rule& rule, Kind kind) {
  return std::find(rule.kinds.begin(), rule.kinds.end(), kind) != rule.kinds.end();
}

bool earlier(const Account& a, const Account& b) {
  return std::tie(a.observed, a.ref) < std::tie(b.observed, b.ref);
}

}  // namespace

Group Refold::group_of(std::vector<Account> accounts) {
  stats_.grouped += accounts.size();
  Group group(std::move(accounts));
  if (group.size() > 1) find_links(group);
  return group;
}

namespace {

/// What Refold::for_each_named does, with `find` from a name to a row (0: not held) and `read` from a row to its event.
template <typename Find, typename Read, typename Use>
void walk_named(const Event& event, const Find& find, const Read& read, const Use& use) {
  std::unordered_set<EventRow> seen;
  std::vector<std::shared_ptr<const Event>> level;
  const Event* first = &event;
  for (int steps = 1; steps <= kNamingDepth && (first || !level.empty()); ++steps) {
    std::vector<std::shared_ptr<const Event>> next;
    const auto visit = [&](const Event& namer) {
      for (const Answer& answer : namer.re) {
        const EventRow named = find(answer.event);
        if (named == 0 || !seen.insert(named).second) continue;
        if (!use(named, steps)) return false;
        next.push_back(read(named));
      }
      return true;
    };
    if (first && !visit(*first)) return;
    for (const auto& namer : level) {
      if (!visit(*namer)) return;
    }
    first = nullptr;
    level = std::move(next);
  }
}

}  // namespace

/// Calls `use(row, steps)` for every held event that `event` names, directly (1 step) or through others, nearest first;
/// stops when it returns false.
template <typename Use>
void Refold::for_each_named(const Event& event, const Use& use) {
  walk_named(
      event, [&](const EventRef& ref) { return log_.find(ref); }, [&](EventRow row) { return log_.event_of(row); },
      use);
}

bool Refold::names(const Event& event, EventRow target) {
  bool found = false;
  for_each_named(event, [&](EventRow named, int) { return !(found = named == target); });
  return found;
}

/// Fills in what each account names, directly or through others, and which stand on one line of one device.
void Refold::find_links(Group& group) {
  std::unordered_map<EventRow, std::size_t> index;
  // Accounts of one matter name each other and the same others, in long chains: the log is asked once of each.
  std::map<EventRef, EventRow> rows;
  std::unordered_map<EventRow, std::shared_ptr<const Event>> events;
  for (std::size_t i = 0; i < group.size(); ++i) {
    index[group[i].row] = i;
    rows[group[i].ref] = group[i].row;
    events[group[i].row] = group[i].event;
  }
  const auto find = [&](const EventRef& ref) {
    const auto [known, is_new] = rows.try_emplace(ref);
    if (is_new) known->second = log_.find(ref);
    return known->second;
  };
  const auto read = [&](EventRow row) {
    const auto [known, is_new] = events.try_emplace(row);
    if (is_new) known->second = log_.event_of(row);
    return known->second;
  };
  for (std::size_t i = 0; i < group.size(); ++i) {
    for (const Answer& answer : group[i].event->re) {
      const auto member = index.find(find(answer.event));
      if (member == index.end()) continue;
      // Named twice with two relations: the one that says more (the order of the enumeration).
      std::optional<Relation>& named = group.link(i, member->second).named;
      named = std::max(named.value_or(answer.relation), answer.relation);
    }
    walk_named(*group[i].event, find, read, [&](EventRow row, int steps) {
      const auto member = steps > 1 ? index.find(row) : index.end();
      if (member != index.end() && !group.link(i, member->second).named)
        group.link(i, member->second).named = Relation::saw;
      return true;
    });
    for (std::size_t j = 0; j < group.size(); ++j) {
      if (i != j && log_.on_line(group[j].row, group[i].row)) group.link(i, j).after_on_line = true;
    }
  }
}

Settlement Refold::settlement_of(EventRow row) {
  const auto event = log_.event_of(row);
  const ObservedTime time = time_of(row, *event);
  return {.account = {.ref = log_.ref_of(row),
                      .row = row,
                      .kind = event->kind,
                      .observed = time.at,
                      .sure = time.sure,
                      .said = time.said,
                      .event = event},
          .answer = std::string(event->own.text("answer"))};
}

/// Leaves out the settlements that another of them names, directly or through others.
void Refold::drop_answered(std::vector<Settlement>& settlements) {
  std::vector<bool> answered(settlements.size());
  for (const Settlement& one : settlements) {
    for (std::size_t j = 0; j < settlements.size(); ++j) {
      answered[j] = answered[j] || names(*one.account.event, settlements[j].account.row);
    }
  }
  std::size_t at = 0;
  std::erase_if(settlements, [&](const Settlement&) { return static_cast<bool>(answered[at++]); });
}

/// Applies what people have settled. A settlement counts for a group whose live members it lists all.
Verdict Refold::settled(const Rule& rule, const std::vector<Account>& members, Verdict verdict) {
  if (!verdict.asks) return verdict;
  std::map<EventRow, std::size_t> listed;
  for (const Account& member : members) {
    std::set<EventRow> sources;
    for (const auto& [source, relation] : namers_of(member.row)) sources.insert(source);
    for (const EventRow source : sources) ++listed[source];
  }
  std::vector<Settlement> full;
  std::vector<Settlement> partial;
  for (const auto& [row, count] : listed) {
    const auto event = log_.event_of(row);
    if (event->kind != Kind::settled || event->own.text("rule") != rule.name || !is_read(row)) continue;
    (count >= members.size() ? full : partial).push_back(settlement_of(row));
  }
  drop_answered(full);
  drop_answered(partial);
  return settle(rule, verdict, full, partial);
}

void Refold::write_matter(const Rule& rule, Thing subject, Instant at, EventRow lead,
                          const std::vector<Account>& members, const Verdict& verdict) {
  std::string rows;
  for (const Account& member : members) rows += (rows.empty() ? "" : " ") + std::to_string(member.row);
  std::string answers;
  for (const std::string& answer : verdict.answers) answers += (answers.empty() ? "" : "\n") + answer;
  database_
      .prepare(
          "INSERT OR REPLACE INTO matter(rule, subject, at, lead, outcome, amount, asks, answers, members, detail) "
          "VALUES(?, ?, ?, ?, ?, ?, ?, ?, ?, ?)")
      .bind(static_cast<int>(rule.id), subject, at, lead, verdict.outcome, verdict.amount, verdict.asks, answers, rows,
            write_compact(verdict.detail))
      .run();
}

void Refold::clear_matters(RuleId rule, Thing subject, Instant from, Instant to) {
  database_.prepare("DELETE FROM matter WHERE rule = ? AND subject = ? AND at BETWEEN ? AND ?")
      .bind(static_cast<int>(rule), subject, from, to)
      .run();
}

void Refold::clear_matter(RuleId rule, Thing subject, Instant at, EventRow lead) {
  database_.prepare("DELETE FROM matter WHERE rule = ? AND subject = ? AND at = ? AND lead = ?")
      .bind(static_cast<int>(rule), subject, at, lead)
      .run();
}

void Refold::fold_groups() {
  std::sort(points_.begin(), points_.end());
  for (auto at = points_.begin(); at != points_.end();) {
    const auto [id, subject, first] = *at;
    std::set<Instant> instants;
    for (; at != points_.end() && std::get<0>(*at) == id && std::get<1>(*at) == subject; ++at)
      instants.insert(std::get<2>(*at));
    const Rule& rule = rule_of(id);
    if (rule.grouping.by == Grouping::By::night) {
      fold_nights(rule, subject, instants);
    } else {
      fold_windows(rule, subject, instants);
    }
  }
  points_.clear();
}

void Refold::fold_nights(const Rule& rule, Thing subject, const std::set<Instant>& points) {
  std::set<DayNumber> done;
  for (Instant at : points) {
    const Night night = night_of(settings_.zone, settings_.night_start_minute, at);
    if (done.insert(night.number).second) fold_night(rule, subject, night);
  }
}

/// One account alone says what it says; only several, or a question, get a row.
void Refold::fold_night(const Rule& rule, Thing subject, const Night& night) {
  std::vector<EventRow> rows;
  {
    auto query = database_.prepare("SELECT event, kind FROM account WHERE subject = ? AND at >= ? AND at < ?");
    query.bind(subject, night.start, night.end);
    while (query.step()) {
      if (rule_groups(rule, static_cast<Kind>(query.integer(1)))) rows.push_back(query.integer(0));
    }
  }
  std::sort(rows.begin(), rows.end());
  rows.erase(std::unique(rows.begin(), rows.end()), rows.end());
  clear_matters(rule.id, subject, night.start, night.start);
  if (rows.size() < 2) {
    ++stats_.grouped;
    return;
  }
  std::vector<Account> accounts;
  for (EventRow row : rows) accounts.push_back(account_of(row));
  std::sort(accounts.begin(), accounts.end(), earlier);
  const Group group = group_of(std::move(accounts));
  const Verdict verdict = settled(rule, group.accounts(), rule.judge(group));
  write_matter(rule, subject, night.start, group[0].row, group.accounts(), verdict);
}

/// The first live account at or after `from`, and all within the rule's window of it.
std::vector<Account> Refold::window_from(const Rule& rule, Thing subject, Instant from) {
  std::vector<Account> members;
  auto query = database_.prepare("SELECT event, kind, at FROM account WHERE subject = ? AND at >= ? ORDER BY at");
  query.bind(subject, from);
  while (query.step()) {
    if (!rule_groups(rule, static_cast<Kind>(query.integer(1)))) continue;
    const Instant at = query.integer(2);
    if (!members.empty()) {
      const Instant first = members.front().observed;
      const bool inside = rule.grouping.by == Grouping::By::hours
                              ? at < first + rule.grouping.length * kHour
                              : settings_.zone.day_of(at) - settings_.zone.day_of(first) < rule.grouping.length;
      if (!inside) break;
    }
    members.push_back(account_of(query.integer(0)));
  }
  std::sort(members.begin(), members.end(), earlier);
  return members;
}

/// Each group starts at its earliest account. The stored groups are the checkpoints: folding starts at the one before
/// the first change and ends at the first that is as it was, the one before it included.
void Refold::fold_windows(const Rule& rule, Thing subject, const std::set<Instant>& points) {
  const auto id = static_cast<int>(rule.id);
  const Instant last_change = *points.rbegin();
  Instant from = INT64_MIN;
  {
    auto before = database_.prepare("SELECT max(at) FROM matter WHERE rule = ? AND subject = ? AND at <= ?");
    if (before.bind(id, subject, *points.begin()).step() && !before.null(0)) from = before.integer(0);
  }
  std::optional<Instant> previous;
  {
    auto earlier_group = database_.prepare("SELECT max(at) FROM matter WHERE rule = ? AND subject = ? AND at < ?");
    if (earlier_group.bind(id, subject, from).step() && !earlier_group.null(0)) previous = earlier_group.integer(0);
  }
  bool boundary_held = false;
  for (;;) {
    std::vector<Account> members = window_from(rule, subject, from);
    if (members.empty()) {
      clear_matters(rule.id, subject, from, INT64_MAX);
      return;
    }
    const Instant start = members.front().observed;
    const EventRow lead = members.front().row;
    auto stored = database_.prepare("SELECT 1 FROM matter WHERE rule = ? AND subject = ? AND at = ? AND lead = ?");
    const bool same_start = stored.bind(id, subject, start, lead).step();
    if (start > last_change && same_start && boundary_held) {
      clear_matters(rule.id, subject, from, start - 1);
      return;
    }
    boundary_held = same_start;
    const Instant end = members.back().observed + 1;
    clear_matters(rule.id, subject, from, end - 1);
    Group group = group_of(std::move(members));
    if (previous && start - *previous < kLateEggs) group.previous_start = previous;
    const Verdict verdict = settled(rule, group.accounts(), rule.judge(group));
    write_matter(rule, subject, start, lead, group.accounts(), verdict);
    previous = start;
    from = end;
  }
}

}  // namespace rackside::core
