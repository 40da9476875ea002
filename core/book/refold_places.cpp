// Stages 3 and 4: where every animal is, and whose a place scan was.
#include <algorithm>

#include "core/book/refold.h"

namespace rackside::core {
namespace {

std::string join(const std::vector<Thing>& things) {
  std::string out;
  for (Thing thing : things) out += (out.empty() ? "" : " ") + std::to_string(thing);
  return out;
}

constexpr Instant kFar = INT64_MAX / 4;

}  // namespace

Move Refold::move_from(Thing animal, const Account& account) {
  const Event& event = *account.event;
  Move move{.account = account};
  const auto index = [&](std::size_t i) { return i < event.of.size() ? std::optional(thing_of(event.of[i])) : std::nullopt; };
  switch (account.kind) {
    case Kind::moved:
      move.effect = Move::Effect::home;
      if (!event.place.empty()) move.place = thing_of(event.place);
      break;
    case Kind::swapped: {
      // `of` names two animals, `to` the two places they go to, in the same order.
      move.effect = Move::Effect::home;
      const Value* to = event.own.find("to");
      const std::size_t mine = index(0) == animal ? 0 : 1;
      if (to && to->as_array() && mine < to->as_array()->size() && (*to->as_array())[mine].as_string()) {
        move.place = thing_of(*(*to->as_array())[mine].as_string());
      }
      break;
    }
    case Kind::paired:
      // The first named is the visitor; the host stays where she is.
      move.effect = Move::Effect::visit;
      if (!event.place.empty()) move.place = thing_of(event.place);
      move.partner = index(1);
      break;
    case Kind::separated:
      move.effect = Move::Effect::end_visit;
      break;
    default:
      move.effect = Move::Effect::away;
  }
  return move;
}

std::vector<Move> Refold::load_moves(Thing animal) {
  std::vector<Move> moves;
  auto query = database_.prepare("SELECT event FROM move WHERE animal = ?");
  query.bind(animal);
  while (query.step()) {
    const Account account = account_of(query.integer(0));
    const bool host = account.kind == Kind::paired && !account.event->of.empty() && thing_of(account.event->of.front()) != animal;
    if (!host) moves.push_back(move_from(animal, account));
  }
  std::sort(moves.begin(), moves.end(), [](const Move& a, const Move& b) { return a.account.ref < b.account.ref; });
  return moves;
}

void Refold::fold_occupancy() {
  for (Thing animal : movers_) fold_animal(animal);
  for (Thing place : crowded_) judge_tub(place);
  movers_.clear();
  crowded_.clear();
}

void Refold::fold_animal(Thing animal) {
  ++stats_.animals;
  const std::vector<Move> moves = load_moves(animal);
  std::vector<Account> accounts;
  for (const Move& move : moves) accounts.push_back(move.account);
  const Group links = group_of(accounts);
  const auto members_of = [&](const std::vector<std::size_t>& indexes) {
    std::vector<Account> members;
    for (std::size_t i : indexes) members.push_back(accounts[i]);
    return members;
  };
  const Occupancy occupancy = fold_moves(moves, links, [&](RuleId rule, const std::vector<std::size_t>& members, Verdict verdict) {
    return settled(rule_of(rule), members_of(members), std::move(verdict));
  });
  clear_matters(RuleId::pairing, animal, -kFar, kFar);
  clear_matters(RuleId::whereabouts, animal, -kFar, kFar);
  for (const MoveMatter& matter : occupancy.matters) {
    const std::vector<Account> members = members_of(matter.members);
    write_matter(rule_of(matter.rule), animal, members.front().observed, members.back().row, members, matter.verdict);
  }
  replace_stays(animal, occupancy.stays);
}

void Refold::replace_stays(Thing animal, const std::vector<Stay>& stays) {
  std::vector<Stay> old;
  {
    auto query = database_.prepare("SELECT since, until, place, role, by, partner FROM stay WHERE animal = ?");
    query.bind(animal);
    while (query.step()) {
      Stay stay{.since = query.integer(0), .place = query.integer(2), .by = query.integer(4)};
      if (!query.null(1)) stay.until = query.integer(1);
      stay.role = static_cast<Stay::Role>(query.integer(3));
      if (!query.null(5)) stay.partner = query.integer(5);
      old.push_back(stay);
    }
  }
  for (const Stay& stay : old) {
    if (std::find(stays.begin(), stays.end(), stay) != stays.end()) continue;
    database_.prepare("DELETE FROM stay WHERE animal = ? AND since = ? AND by = ?").bind(animal, stay.since, stay.by).run();
    stay_changed(stay.place, stay.since, stay.until);
  }
  for (const Stay& stay : stays) {
    if (std::find(old.begin(), old.end(), stay) != old.end()) continue;
    database_.prepare("INSERT OR REPLACE INTO stay(animal, since, by, until, place, role, partner) VALUES(?, ?, ?, ?, ?, ?, ?)")
        .bind(animal, stay.since, stay.by, stay.until, stay.place, static_cast<int>(stay.role), stay.partner)
        .run();
    stay_changed(stay.place, stay.since, stay.until);
  }
  // While an animal visits elsewhere its own tub counts as empty: a changed visit changes who was found at home.
  for (const Stay& home : stays) {
    if (home.role == Stay::Role::home && stays != old) stay_changed(home.place, home.since, home.until);
  }
}

void Refold::stay_changed(Thing place, Instant since, std::optional<Instant> until) {
  crowded_.insert(place);
  auto query = database_.prepare("SELECT at, event FROM scan WHERE place = ? AND at BETWEEN ? AND ?");
  query.bind(place, since - kMoveNearby, until.value_or(kFar) + kMoveNearby);
  while (query.step()) unbound_.emplace(place, query.integer(0), query.integer(1));
}

/// Who was at a place: those at home there and not visiting elsewhere, and the visitors.
std::vector<Thing> Refold::occupants(Thing place, Instant at) {
  std::vector<Thing> out;
  auto query = database_.prepare("SELECT animal, role FROM stay WHERE place = ? AND since <= ? AND (until IS NULL OR until > ?)");
  query.bind(place, at, at);
  while (query.step()) {
    const Thing animal = query.integer(0);
    if (query.integer(1) == static_cast<int>(Stay::Role::home)) {
      auto away = database_.prepare(
          "SELECT 1 FROM stay WHERE animal = ? AND role = 1 AND place <> ? AND since <= ? AND (until IS NULL OR until > ?)");
      if (away.bind(animal, place, at, at).step()) continue;
    }
    if (std::find(out.begin(), out.end(), animal) == out.end()) out.push_back(animal);
  }
  std::sort(out.begin(), out.end());
  return out;
}

/// Two that live at one place now, neither as a visitor, are a question.
void Refold::judge_tub(Thing place) {
  clear_matters(RuleId::two_in_tub, place, -kFar, kFar);
  std::vector<std::tuple<Instant, EventRow, Thing>> living;
  {
    auto query = database_.prepare("SELECT since, by, animal FROM stay WHERE place = ? AND role = 0 AND until IS NULL");
    query.bind(place);
    while (query.step()) living.emplace_back(query.integer(0), query.integer(1), query.integer(2));
  }
  if (living.size() < 2) return;
  std::vector<Account> members;
  Verdict verdict{.outcome = "both", .asks = true};
  std::vector<std::string> animals;
  for (const auto& [since, by, animal] : living) {
    const Account account = account_of(by);
    const bool known = std::any_of(members.begin(), members.end(), [&](const Account& m) { return m.row == by; });
    if (!known) members.push_back(account);
    animals.push_back(text_of(animal));
  }
  std::sort(members.begin(), members.end(), [](const Account& a, const Account& b) { return a.ref < b.ref; });
  std::sort(animals.begin(), animals.end());
  Value::Array listed;
  for (const std::string& animal : animals) listed.emplace_back(animal);
  verdict.detail.set("animals", std::move(listed));
  verdict.answers = {"both"};
  const Rule& rule = rule_of(RuleId::two_in_tub);
  verdict = settled(rule, members, std::move(verdict));
  write_matter(rule, place, std::get<0>(living.front()), members.front().row, members, verdict);
}

// ---- binding

/// A move into or out of the place within 15 minutes that the scan neither names nor follows on its own line.
bool Refold::unnamed_move_nearby(Thing place, const Account& scan, const Event& event) {
  std::set<EventRow> moves;
  {
    auto begun = database_.prepare("SELECT by FROM stay WHERE place = ? AND since BETWEEN ? AND ?");
    begun.bind(place, scan.observed - kMoveNearby, scan.observed + kMoveNearby);
    while (begun.step()) moves.insert(begun.integer(0));
  }
  {
    // What ended a stay is the animal's next stay, or the move that took it away: its time is the end.
    auto ended = database_.prepare(
        "SELECT move.event FROM stay JOIN move ON move.animal = stay.animal JOIN event ON event.id = move.event "
        "WHERE stay.place = ? AND stay.until BETWEEN ? AND ? AND event.at BETWEEN ? AND ? AND event.id <> stay.by");
    ended.bind(place, scan.observed - kMoveNearby, scan.observed + kMoveNearby, scan.observed - kMoveNearby,
               scan.observed + kMoveNearby);
    while (ended.step()) moves.insert(ended.integer(0));
  }
  for (EventRow move : moves) {
    if (log_.on_line(move, scan.row)) continue;
    const EventRef ref = log_.ref_of(move);
    const bool named = std::any_of(event.re.begin(), event.re.end(), [&](const Answer& a) { return a.event == ref; });
    if (!named) return true;
  }
  return false;
}

void Refold::bind_scans() {
  // Binding an offer can make other events tell of other animals; they are derived, not bound, so this ends.
  for (const auto& [place, at, row] : unbound_) bind_one(place, at, row);
  unbound_.clear();
}

void Refold::bind_one(Thing place, Instant at, EventRow row) {
  auto current = database_.prepare("SELECT how, bound FROM scan WHERE place = ? AND at = ? AND event = ?");
  if (!current.bind(place, at, row).step()) return;
  ++stats_.bound;
  const Account account = account_of(row);
  PlaceScan scan{.account = account};
  for (const std::string& code : account.event->shown) scan.shown.push_back(thing_of(code));
  scan.there = occupants(place, account.observed);
  scan.unnamed_move_nearby = account.sure && unnamed_move_nearby(place, account, *account.event);
  Binding binding = bind_scan(scan);
  clear_matters(RuleId::whose, place, at, at);
  if (binding.how == Binding::How::question) {
    const Rule& rule = rule_of(RuleId::whose);
    Verdict verdict{.outcome = "unsure", .asks = true};
    for (Thing candidate : binding.candidates) verdict.answers.push_back(text_of(candidate));
    std::sort(verdict.answers.begin(), verdict.answers.end());
    verdict.answers.emplace_back("nobody");
    verdict = settled(rule, {account}, std::move(verdict));
    if (!verdict.asks) {
      binding.bound.clear();
      if (verdict.outcome != "nobody") binding.bound = {thing_of(verdict.outcome)};
    }
    write_matter(rule, place, at, row, {account}, verdict);
  }
  const std::string bound = join(binding.bound);
  const int how = static_cast<int>(binding.how);
  if (current.integer(0) != how || current.text(1) != bound) {
    database_.prepare("UPDATE scan SET how = ?, bound = ? WHERE place = ? AND at = ? AND event = ?")
        .bind(how, bound, place, at, row)
        .run();
  }
  const ObservedTime time{.at = account.observed, .sure = account.sure, .said = account.said};
  replace_accounts(row, account.kind, subjects_of(row, *account.event, time));
}

}  // namespace rackside::core
