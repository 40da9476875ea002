// Stage 7: what cannot be. Judged last, because it reads places, groups and the register, and changes none of them.
#include <algorithm>

#include "core/book/refold.h"
#include "core/rules/doubts.h"

namespace rackside::core {
namespace {

constexpr Instant kFar = INT64_MAX / 4;

bool earlier(const Account& a, const Account& b) {
  return std::tie(a.observed, a.ref) < std::tie(b.observed, b.ref);
}

bool leaves_or_comes_home(Kind kind) {
  return kind == Kind::left || kind == Kind::died || kind == Kind::moved || kind == Kind::swapped;
}

}  // namespace

/// Marks what an account may contradict. Called for every account that comes, goes or changes.
void Refold::touch_doubts(Kind kind, Thing subject) {
  if (tells_of_life(kind) || leaves_or_comes_home(kind)) lives_.insert(subject);
  if (tells_of_eggs(kind)) egg_bearers_.insert(subject);
  if (kind == Kind::paired) paired_.insert(subject);
}

void Refold::fold_doubts() {
  for (Thing animal : lives_) fold_departure(animal);
  for (Thing animal : egg_bearers_) fold_eggs_of_male(animal);
  fold_pairs_of_one_sex();
  fold_ancestry();
  for (std::int64_t device : retirees_) fold_unread(device);
  lives_.clear();
  egg_bearers_.clear();
  retirees_.clear();
}

std::vector<Account> Refold::rare_accounts(Thing subject, bool (*wanted)(Kind)) {
  std::vector<Account> out;
  auto query = database_.prepare(
      "SELECT event, kind FROM account INDEXED BY account_rare WHERE subject = ? AND (kind BETWEEN 20 AND 21 OR kind "
      "BETWEEN 39 AND 42)");
  query.bind(subject);
  while (query.step()) {
    if (wanted(static_cast<Kind>(query.integer(1)))) out.push_back(account_of(query.integer(0)));
  }
  return out;
}

/// One question about all members, settled where people have answered it.
void Refold::write_doubt(RuleId id, Thing subject, std::vector<Account> members, Verdict verdict) {
  std::sort(members.begin(), members.end(), earlier);
  const Rule& rule = rule_of(id);
  verdict = settled(rule, members, std::move(verdict));
  write_matter(rule, subject, members.front().observed, members.front().row, members, verdict);
}

/// **Bound:** what was told of the animal since it left.
void Refold::fold_departure(Thing animal) {
  clear_matters(RuleId::gone, animal, -kFar, kFar);
  std::vector<Account> accounts =
      rare_accounts(animal, [](Kind kind) { return kind == Kind::left || kind == Kind::died; });
  if (accounts.empty()) return;
  const Instant since = std::min_element(accounts.begin(), accounts.end(), earlier)->observed;
  {
    std::set<EventRow> rows;  // a leftover of two offers tells of the animal twice
    auto query = database_.prepare("SELECT event, kind FROM account WHERE subject = ? AND at >= ?");
    query.bind(animal, since);
    while (query.step()) {
      const Kind kind = static_cast<Kind>(query.integer(1));
      const bool matters = tells_of_life(kind) || kind == Kind::moved || kind == Kind::swapped;
      if (matters && rows.insert(query.integer(0)).second) accounts.push_back(account_of(query.integer(0)));
    }
  }
  std::sort(accounts.begin(), accounts.end(), earlier);
  const Group group = group_of(std::move(accounts));
  std::vector<Account> members;
  for (std::size_t i : contradictions_of_departure(group)) members.push_back(group[i]);
  if (!members.empty()) write_doubt(RuleId::gone, animal, std::move(members), stands_until_answered());
}

std::string Refold::sex_of(Thing animal) {
  auto query = database_.prepare("SELECT value FROM field WHERE subject = ? AND name = 'sex'");
  return query.bind(animal).step() ? std::string(query.text(0)) : std::string();
}

/// **Bound:** the animal's own accounts of eggs.
void Refold::fold_eggs_of_male(Thing animal) {
  clear_matters(RuleId::male_eggs, animal, -kFar, kFar);
  if (sex_of(animal) != "\"male\"") return;
  std::vector<Account> accounts = rare_accounts(animal, tells_of_eggs);
  if (!accounts.empty()) write_doubt(RuleId::male_eggs, animal, std::move(accounts), stands_until_answered());
}

std::vector<Account> Refold::pairings_of(Thing animal) {
  std::vector<Account> out;
  auto query = database_.prepare("SELECT event FROM move WHERE animal = ?");
  query.bind(animal);
  while (query.step()) {
    const EventRow row = query.integer(0);
    if (static_cast<Kind>(log_.judged_of(row).mark >> kMarkKindShift) == Kind::paired) out.push_back(account_of(row));
  }
  return out;
}

/// A pairing is asked about at its visitor, which is among those that it tells of. Those that visited an animal earlier
/// are concerned only where its sex has changed.
/// **Bound:** the pairings of the animals concerned, and of those that visited whoever's sex changed.
void Refold::fold_pairs_of_one_sex() {
  std::set<Thing> visitors = std::move(paired_);
  paired_.clear();
  visitors.insert(sexed_.begin(), sexed_.end());
  for (Thing animal : sexed_) {
    for (const Account& pairing : pairings_of(animal)) visitors.insert(thing_of(pairing.event->of.front()));
  }
  sexed_.clear();
  for (Thing visitor : visitors) {
    clear_matters(RuleId::one_sex_pair, visitor, -kFar, kFar);
    const std::string sex = sex_of(visitor);
    for (Account& pairing : pairings_of(visitor)) {
      const auto& of = pairing.event->of;
      if (of.size() < 2 || thing_of(of.front()) != visitor) continue;
      const Thing host = thing_of(of[1]);
      const bool known = sex == "\"male\"" || sex == "\"female\"";
      if (host != visitor && (!known || sex != sex_of(host))) continue;
      write_doubt(RuleId::one_sex_pair, visitor, {std::move(pairing)}, stands_until_answered());
    }
  }
}

// ---- ancestry

/// The parents that a statement names, each with the child: `parent` sire or dam. What is only possible contradicts
/// nothing.
void Refold::replace_parents(EventRow row, const Event& event, const std::vector<Point>& subjects) {
  if (event.kind != Kind::says) return;
  if (!is_fresh(row)) {
    auto query = database_.prepare("SELECT child FROM parent WHERE event = ?");
    query.bind(row);
    while (query.step()) children_.insert(query.integer(0));
    database_.prepare("DELETE FROM parent WHERE event = ?").bind(row).run();
  }
  const std::string_view role = event.own.text("parent");
  const std::string_view code = event.own.text("animal");
  if ((role != "sire" && role != "dam") || code.empty()) return;
  for (const Point& point : subjects) {
    database_.prepare("INSERT OR IGNORE INTO parent(child, parent, event) VALUES(?, ?, ?)")
        .bind(point.first, thing_of(code), row)
        .run();
    children_.insert(point.first);
  }
}

/// The parents of an animal, theirs, and so on.
Parents Refold::parents_above(Thing animal) {
  Parents parents;
  std::vector<Thing> open{animal};
  while (!open.empty()) {
    const Thing child = open.back();
    open.pop_back();
    if (parents.contains(child)) continue;
    auto query = database_.prepare("SELECT parent FROM parent WHERE child = ?");
    query.bind(child);
    std::set<Thing>& mine = parents[child];
    while (query.step()) {
      mine.insert(query.integer(0));
      open.push_back(query.integer(0));
    }
  }
  return parents;
}

/// Every open or settled question of rings in which one of `animals` stands goes; its animals are to be judged again.
void Refold::break_rings(std::set<Thing>& animals) {
  std::vector<std::tuple<Thing, Instant, EventRow>> stale;
  {
    auto query = database_.prepare("SELECT subject, at, lead, detail FROM matter WHERE rule = ?");
    query.bind(static_cast<int>(RuleId::ancestry));
    while (query.step()) {
      std::set<Thing> ring;
      const Value detail = parse_strict(query.text(3)).value;  // kept: a loop's range does not keep it alive
      for (const Value& code : *detail.find("animals")->as_array()) ring.insert(thing_of(*code.as_string()));
      const bool concerned = std::any_of(ring.begin(), ring.end(), [&](Thing one) { return animals.contains(one); });
      if (!concerned) continue;
      stale.emplace_back(query.integer(0), query.integer(1), query.integer(2));
      animals.insert(ring.begin(), ring.end());
    }
  }
  for (const auto& [subject, at, lead] : stale) clear_matter(RuleId::ancestry, subject, at, lead);
}

/// **Bound:** the ancestors of the animals whose parents changed, and of those in a ring with them.
void Refold::fold_ancestry() {
  if (children_.empty()) return;
  std::set<Thing> animals = std::move(children_);
  children_.clear();
  break_rings(animals);
  std::set<Thing> judged;
  std::vector<std::set<Thing>> rings;
  for (Thing animal : animals) {
    if (judged.contains(animal)) continue;
    const std::set<Thing> ring = ring_of_ancestors(parents_above(animal), animal);
    judged.insert(ring.begin(), ring.end());
    if (!ring.empty()) rings.push_back(ring);
  }
  break_rings(judged);  // a smaller ring of before that a new one takes in, though no parent in it changed
  for (const std::set<Thing>& ring : rings) write_ring(ring);
}

void Refold::write_ring(const std::set<Thing>& ring) {
  std::vector<Account> members;
  std::map<std::string, Thing> animals;
  for (Thing child : ring) {
    animals[text_of(child)] = child;
    auto query = database_.prepare("SELECT parent, event FROM parent WHERE child = ?");
    query.bind(child);
    while (query.step()) {
      if (!ring.contains(query.integer(0))) continue;
      const EventRow row = query.integer(1);
      const bool listed =
          std::any_of(members.begin(), members.end(), [&](const Account& one) { return one.row == row; });
      if (!listed) members.push_back(account_of(row));
    }
  }
  Verdict verdict{.outcome = "doubted", .asks = true};
  for (const Account& member : members) verdict.answers.push_back(to_text(member.ref));
  std::sort(verdict.answers.begin(), verdict.answers.end());
  Value::Array listed;
  for (const auto& [code, thing] : animals) listed.emplace_back(code);
  verdict.detail.set("animals", std::move(listed));
  write_doubt(RuleId::ancestry, animals.begin()->second, std::move(members), std::move(verdict));
}

// ---- entries of a retired device

/// **Bound:** what the device wrote behind the head up to which it is read. Its clock marks and the like are no matter:
/// a device that does not know yet that it was retired writes them at every contact.
void Refold::fold_unread(std::int64_t device) {
  std::vector<std::pair<Instant, EventRow>> stale;
  {
    auto query = database_.prepare("SELECT at, lead FROM matter WHERE rule = ? AND subject = 0");
    query.bind(static_cast<int>(RuleId::unread));
    while (query.step()) {
      if (log_.branch(branch_of(query.integer(1))).device == device)
        stale.emplace_back(query.integer(0), query.integer(1));
    }
  }
  for (const auto& [at, lead] : stale) clear_matter(RuleId::unread, 0, at, lead);
  const auto head = retired_head(device);
  if (!head) return;
  std::vector<Account> members;
  std::int64_t unread = 0;
  for (const Branch* branch : log_.branches_of(device)) {
    std::optional<EventRow> first;
    for (std::uint32_t seq = branch->head_seq; seq > branch->base_seq; --seq) {
      const EventRow row = make_row(branch->id, seq);
      if (log_.on_line(row, *head)) break;
      if (info_of(log_.event_of(row)->kind).kind_class == KindClass::administration) continue;
      first = row;
      ++unread;
    }
    if (first) members.push_back(account_of(*first));
  }
  if (members.empty()) return;
  members = without_followers(std::move(members));
  for (Account& member : members) member.observed = member.event->clock.wall_ms;
  Verdict verdict{.outcome = "left-out", .amount = unread, .asks = true, .answers = {"left-out"}};
  verdict.detail.set("device", to_hex(log_.device_name(device)));
  write_doubt(RuleId::unread, 0, std::move(members), std::move(verdict));
}

/// Those that follow none of the others on their line: on a forked device, which branch an event stands on depends on
/// which line came first, and that must not matter.
std::vector<Account> Refold::without_followers(std::vector<Account> members) {
  std::vector<Account> out;
  for (const Account& one : members) {
    const bool follows = std::any_of(members.begin(), members.end(), [&](const Account& other) {
      return other.row != one.row && log_.on_line(other.row, one.row);
    });
    if (!follows) out.push_back(one);
  }
  return out;
}

/// The row of the head up to which a retired device is read; nothing for one that is not retired, or whose head is not
/// held: then nobody can say what came after it.
std::optional<EventRow> Refold::retired_head(std::int64_t device) {
  auto query = database_.prepare("SELECT read_until FROM standing WHERE device = ? AND retired = 1");
  if (!query.bind(device).step() || query.null(0)) return std::nullopt;
  return query.integer(0);
}

}  // namespace rackside::core
