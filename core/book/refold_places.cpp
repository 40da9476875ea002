// Stages 3 and 4: where every animal is, and whose a place scan was.
#include <algorithm>

#include "core/book/refold.h"

namespace rackside::core {
namespace {

constexpr Instant kFar = INT64_MAX / 4;

bool lasts_at(const Stay& stay, Instant at) {
  return stay.since <= at && (!stay.until || *stay.until > at);
}

/// Whether it began or ended, or went on, within a span.
bool overlaps(const Stay& stay, Instant from, Instant to) {
  return stay.since <= to && (!stay.until || *stay.until >= from);
}

/// The time in which a stay differs from the one of the same beginning in another list: all of it where there is none.
std::pair<Instant, Instant> changed_span(const Stay& stay, const std::vector<Stay>& others) {
  const Instant end = stay.until.value_or(kFar);
  for (const Stay& other : others) {
    if (other.since != stay.since || other.by != stay.by || other.place != stay.place || other.role != stay.role)
      continue;
    return {std::min(end, other.until.value_or(kFar)), std::max(end, other.until.value_or(kFar))};
  }
  return {stay.since, end};
}

}  // namespace

/// The place that a move leads an animal to, for a home or a visit.
std::optional<Thing> Refold::destination(const Event& event, Thing animal) {
  if (event.kind == Kind::swapped) {
    // `of` names two animals, `to` the two places they go to, in the same order.
    const Value* to = event.own.find("to");
    const std::size_t mine = !event.of.empty() && thing_of(event.of.front()) == animal ? 0 : 1;
    const bool told = to && to->as_array() && mine < to->as_array()->size() && (*to->as_array())[mine].as_string();
    return told ? std::optional(thing_of(*(*to->as_array())[mine].as_string())) : std::nullopt;
  }
  const bool leads = event.kind == Kind::moved || event.kind == Kind::paired;
  return leads && !event.place.empty() ? std::optional(thing_of(event.place)) : std::nullopt;
}

Move Refold::move_from(Thing animal, const Account& account) {
  const Event& event = *account.event;
  Move move{.account = account, .place = destination(event, animal)};
  switch (account.kind) {
    case Kind::moved:
    case Kind::swapped:
      move.effect = Move::Effect::home;
      break;
    case Kind::paired:
      // The first named is the visitor; the host stays where she is.
      move.effect = Move::Effect::visit;
      if (event.of.size() > 1) move.partner = thing_of(event.of[1]);
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
    const bool host =
        account.kind == Kind::paired && !account.event->of.empty() && thing_of(account.event->of.front()) != animal;
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
  const Occupancy occupancy =
      fold_moves(moves, links, [&](RuleId rule, const std::vector<std::size_t>& members, Verdict verdict) {
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

namespace {

/// Reads a stay out of since, until, ended_by, place, role, by, partner.
Stay stay_in(const Statement& query) {
  Stay stay{.since = query.integer(0), .ended_by = query.integer(2), .place = query.integer(3), .by = query.integer(5)};
  if (!query.null(1)) stay.until = query.integer(1);
  stay.role = static_cast<Stay::Role>(query.integer(4));
  if (!query.null(6)) stay.partner = query.integer(6);
  return stay;
}

}  // namespace

const std::vector<Stay>& Refold::stays_of(Thing animal) {
  const auto [found, missing] = log_.memory().stays_of.try_emplace(animal);
  if (!missing) return found->second;
  auto query = database_.prepare("SELECT since, until, ended_by, place, role, by, partner FROM stay WHERE animal = ?");
  query.bind(animal);
  while (query.step()) found->second.push_back(stay_in(query));
  return found->second;
}

/// At least those at the place that had not ended before `from`: a place sees a new animal many times in ten years, and
/// what is asked is mostly about now.
const std::vector<PlaceStay>& Refold::stays_since(Thing place, Instant from) {
  const auto [found, missing] = log_.memory().stays_at.try_emplace(place);
  PlaceStays& held = found->second;
  if (!missing && held.from <= from) return held.stays;
  held = {.from = from - kMoveNearby};  // a scan asks about its time, then about a little before it
  const auto add_all = [&](Statement& query) {
    while (query.step()) held.stays.push_back({query.integer(7), stay_in(query)});
  };
  auto lasting = database_.prepare(
      "SELECT since, until, ended_by, place, role, by, partner, animal FROM stay WHERE place = ? AND until IS NULL");
  add_all(lasting.bind(place));
  auto ended = database_.prepare(
      "SELECT since, until, ended_by, place, role, by, partner, animal FROM stay WHERE place = ? AND until >= ?");
  add_all(ended.bind(place, held.from));
  return held.stays;
}

void Refold::replace_stays(Thing animal, const std::vector<Stay>& stays) {
  const std::vector<Stay> old = stays_of(animal);
  write_stays(animal, old, stays);
  std::vector<Stay> either = old;
  either.insert(either.end(), stays.begin(), stays.end());
  for (const Stay& stay : old) {
    if (std::find(stays.begin(), stays.end(), stay) != stays.end()) continue;
    const auto [from, to] = changed_span(stay, stays);
    span_changed(stay, from, to, either);
  }
  for (const Stay& stay : stays) {
    if (!stay.until) crowded_.insert(stay.place);
    if (std::find(old.begin(), old.end(), stay) != old.end()) continue;
    const auto [from, to] = changed_span(stay, old);
    span_changed(stay, from, to, either);
  }
}

void Refold::write_stays(Thing animal, const std::vector<Stay>& old, const std::vector<Stay>& stays) {
  FoldMemory& memory = log_.memory();
  const auto change = [&](const std::vector<Stay>& from, const std::vector<Stay>& others, const auto& write) {
    for (const Stay& stay : from) {
      if (std::find(others.begin(), others.end(), stay) != others.end()) continue;
      memory.stays_at.erase(stay.place);
      write(stay);
    }
  };
  change(old, stays, [&](const Stay& stay) {
    database_.prepare("DELETE FROM stay WHERE animal = ? AND since = ? AND by = ?")
        .bind(animal, stay.since, stay.by)
        .run();
  });
  change(stays, old, [&](const Stay& stay) {
    database_
        .prepare(
            "INSERT OR REPLACE INTO stay(animal, since, by, until, ended_by, place, role, partner) VALUES(?, ?, ?, ?, "
            "?, ?, ?, ?)")
        .bind(animal, stay.since, stay.by, stay.until, stay.ended_by, stay.place, static_cast<int>(stay.role),
              stay.partner)
        .run();
  });
  memory.stays_of[animal] = stays;
}

/// Between `from` and `to` something changed about a stay: scans there are bound again, and while an animal visits
/// elsewhere its own tub counts as empty, so those at its home too.
void Refold::span_changed(const Stay& stay, Instant from, Instant to, const std::vector<Stay>& stays) {
  crowded_.insert(stay.place);
  rescan(stay.place, from, to);
  if (stay.role == Stay::Role::home) return;
  for (const Stay& home : stays) {
    // A scan up to 15 minutes from the visit's edge looks at who lived there up to 15 minutes from itself.
    const bool lived_near = home.since <= to + 2 * kMoveNearby && home.until.value_or(kFar) >= from - 2 * kMoveNearby;
    if (home.role == Stay::Role::home && lived_near) rescan(home.place, from, to);
  }
}

void Refold::rescan(Thing place, Instant from, Instant to) {
  auto query = database_.prepare("SELECT at, event FROM scan WHERE place = ? AND at BETWEEN ? AND ?");
  query.bind(place, from - kMoveNearby, to + kMoveNearby);
  while (query.step()) unbound_.emplace_back(place, query.integer(0), query.integer(1));
}

/// Who was at a place: those at home there and not visiting elsewhere, and the visitors.
std::vector<Thing> Refold::occupants(Thing place, Instant at) {
  std::vector<Thing> out;
  for (const PlaceStay& there : stays_since(place, at)) {
    if (!lasts_at(there.stay, at)) continue;
    const auto& all = stays_of(there.animal);
    const bool away = there.stay.role == Stay::Role::home && std::any_of(all.begin(), all.end(), [&](const Stay& one) {
                        return one.role == Stay::Role::visiting && one.place != place && lasts_at(one, at);
                      });
    if (!away) out.push_back(there.animal);
  }
  std::sort(out.begin(), out.end());
  out.erase(std::unique(out.begin(), out.end()), out.end());
  return out;
}

/// Two that live at one place now, neither as a visitor, are a question.
void Refold::judge_tub(Thing place) {
  clear_matters(RuleId::two_in_tub, place, -kFar, kFar);
  std::vector<std::tuple<Instant, EventRow, Thing>> living;
  for (const auto& [animal, stay] : stays_since(place, kFar)) {
    if (stay.role == Stay::Role::home && !stay.until) living.emplace_back(stay.since, stay.by, animal);
  }
  if (living.size() < 2) return;
  std::sort(living.begin(), living.end(), [](const auto& a, const auto& b) {
    return std::tie(std::get<0>(a), std::get<2>(a)) < std::tie(std::get<0>(b), std::get<2>(b));
  });
  std::vector<Account> members;
  Verdict verdict{.outcome = "both", .asks = true};
  std::vector<std::string> animals;
  for (const auto& [since, by, animal] : living) {
    const Account account = account_of(by);
    const bool known =
        std::any_of(members.begin(), members.end(), [&, by = by](const Account& m) { return m.row == by; });
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
  const Instant from = scan.observed - kMoveNearby;
  const Instant to = scan.observed + kMoveNearby;
  const auto unnamed_in = [&](const Stay& stay) {
    if (!overlaps(stay, from, to)) return false;
    const bool begun = stay.since >= from && stay.since <= to;
    const bool ended = stay.until && *stay.until >= from && *stay.until <= to;
    return (begun && !knew(scan, event, stay.by)) || (ended && !knew(scan, event, stay.ended_by));
  };
  for (const PlaceStay& there : stays_since(place, from)) {
    if (unnamed_in(there.stay)) return true;
    if (there.stay.role != Stay::Role::home || !overlaps(there.stay, from, to)) continue;
    // Visits elsewhere of those who live there: they went out of it and came back.
    for (const Stay& visit : stays_of(there.animal)) {
      if (visit.role == Stay::Role::visiting && visit.place != place && unnamed_in(visit)) return true;
    }
  }
  return false;
}

/// Whether a scan's author answered for a move, directly or through others, or wrote it himself before.
bool Refold::knew(const Account& scan, const Event& event, EventRow move) {
  // On its own line the author knows which came first.
  return log_.on_line(move, scan.row) || log_.on_line(scan.row, move) || names(event, move);
}

void Refold::bind_scans() {
  // Binding an offer can make other events tell of other animals; they are derived, not bound, so this ends.
  std::sort(unbound_.begin(), unbound_.end());
  unbound_.erase(std::unique(unbound_.begin(), unbound_.end()), unbound_.end());
  for (const auto& [place, at, row] : unbound_) bind_one(place, at, row);
  unbound_.clear();
  write_scans();
}

void Refold::bind_one(Thing place, Instant at, EventRow row) {
  auto& current = scan_of(row).now;
  if (!current || current->place != place || current->at != at) return;
  ++stats_.bound;
  const Account account = account_of(row);
  PlaceScan scan{.account = account};
  for (const std::string& code : account.event->shown) scan.shown.push_back(thing_of(code));
  scan.there = occupants(place, account.observed);
  scan.unnamed_move_nearby = account.sure && unnamed_move_nearby(place, account, *account.event);
  Binding binding = bind_scan(scan);
  // Only a question has a row, and only of a scan that was bound before.
  if (scan_of(row).stored) clear_matter(RuleId::whose, place, at, row);
  if (binding.how == Binding::How::question) {
    const Verdict verdict = whose_verdict(account, binding);
    write_matter(rule_of(RuleId::whose), place, at, row, {account}, verdict);
  }
  const bool changed = current->how != binding.how || current->bound != binding.bound;
  if (changed) {
    current->how = binding.how;
    current->bound = binding.bound;
    scans_changed_.push_back(row);
  } else if (scan_of(row).stored == current) {
    return;  // bound as it was: it tells of whom it told
  }
  const ObservedTime time{.at = account.observed, .sure = account.sure, .said = account.said};
  replace_accounts(row, account.kind, subjects_of(row, *account.event, time));
}

/// The question whose scan it was, as people have answered it; an answer binds.
Verdict Refold::whose_verdict(const Account& account, Binding& binding) {
  Verdict verdict{.outcome = "unsure", .asks = true};
  for (Thing candidate : binding.candidates) verdict.answers.push_back(text_of(candidate));
  std::sort(verdict.answers.begin(), verdict.answers.end());
  verdict.answers.emplace_back("nobody");
  verdict = settled(rule_of(RuleId::whose), {account}, std::move(verdict));
  if (!verdict.asks) {
    binding.bound.clear();
    if (verdict.outcome != "nobody") binding.bound = {thing_of(verdict.outcome)};
  }
  return verdict;
}

}  // namespace rackside::core
