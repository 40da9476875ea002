// Stages 3 and 4: where every animal is, and whose a place scan was.
#include <algorithm>

#include "tests/simulation/reference/fold.h"

namespace rackside::simulation::reference {

using namespace core;

namespace {

constexpr Instant kNearby = 15 * kMinute;

bool covers(const Stay& stay, Instant at) {
  return stay.since <= at && (!stay.until || *stay.until > at);
}

}  // namespace

bool is_move(Kind kind) {
  return kind == Kind::moved || kind == Kind::swapped || kind == Kind::paired || kind == Kind::separated ||
         kind == Kind::left || kind == Kind::died;
}

bool is_place_scan(const Event& event) {
  return !event.place.empty() && event.of.empty() && info_of(event.kind).rebinding != Rebinding::never;
}

void Fold::moves() {
  std::map<std::string, std::vector<Index>> by_animal;
  for (Index i = 0; i < log_.size(); ++i) {
    const Event& event = log_[i].event;
    if (!is_move(event.kind) || !live(i)) continue;
    std::set<std::string> animals;
    for (const std::string& code : event.of) animals.insert(thing(code));
    // The host of a visit stays where she is.
    if (event.kind == Kind::paired && !event.of.empty()) animals = {thing(event.of.front())};
    for (const std::string& animal : animals) by_animal[animal].push_back(i);
  }
  for (auto& [animal, moves] : by_animal) fold_moves_of(animal, std::move(moves));
}

/// Empty when it leads nowhere.
std::string Fold::destination(Index move, const std::string& animal) const {
  const Event& event = log_[move].event;
  if (event.kind == Kind::moved || event.kind == Kind::paired) return event.place.empty() ? "" : thing(event.place);
  if (event.kind != Kind::swapped) return "";
  const Value* to = event.own.find("to");
  const std::size_t mine = thing(event.of.front()) == animal ? 0 : 1;
  if (!to || !to->as_array() || to->as_array()->size() <= mine) return "";
  const std::string* code = (*to->as_array())[mine].as_string();
  return code ? thing(*code) : "";
}

namespace {

enum class Effect : std::uint8_t { home, visit, end_visit, away };

Effect effect(Kind kind) {
  if (kind == Kind::moved || kind == Kind::swapped) return Effect::home;
  if (kind == Kind::paired) return Effect::visit;
  return kind == Kind::separated ? Effect::end_visit : Effect::away;
}

}  // namespace

/// Two accounts of one move, at least.
bool Fold::repeats(Index a, Index b, const std::string& animal) const {
  const Effect one = effect(log_[a].event.kind);
  if (one != effect(log_[b].event.kind)) return false;
  return one == Effect::end_visit || destination(a, animal) == destination(b, animal);
}

/// When a move takes effect: a sure one at the latest of its own time and those of sure moves that it names; an unsure
/// one at the latest sure one that it names, else at the earliest sure one that names it; else nobody knows.
std::optional<Instant> Fold::effect_of(Index move, const std::vector<Index>& moves) const {
  std::optional<Instant> latest;
  std::optional<Instant> earliest;
  for (const Index other : moves) {
    if (!time_[other].sure) continue;
    if (names(move, other)) latest = std::max(latest.value_or(time_[other].at), time_[other].at);
    if (names(other, move)) earliest = std::min(earliest.value_or(time_[other].at), time_[other].at);
  }
  if (time_[move].sure) return std::max(time_[move].at, latest.value_or(time_[move].at));
  return latest ? latest : earliest;
}

void Fold::fold_moves_of(const std::string& animal, std::vector<Index> moves) {
  std::vector<std::pair<Instant, Index>> order;
  std::vector<Index> timeless;
  for (const Index move : moves) {
    if (const auto at = effect_of(move, moves)) {
      order.emplace_back(*at, move);
    } else {
      timeless.push_back(move);
    }
  }
  // Equal instants: the naming after the named, then by reference (as the indexes ascend).
  const auto rank = [&](const std::pair<Instant, Index>& one) {
    const auto named = std::count_if(order.begin(), order.end(), [&](const auto& other) {
      return other.first == one.first && names(one.second, other.second);
    });
    return std::tuple(one.first, named, one.second);
  };
  std::vector<std::pair<Instant, Index>> sorted = order;
  std::sort(sorted.begin(), sorted.end(), [&](const auto& a, const auto& b) { return rank(a) < rank(b); });

  // Neighbours that nobody can put in order are one question; a visit right after another ended that one, unrecorded.
  struct Found {
    RuleId rule;
    std::vector<Index> members;
    Verdict verdict;
  };
  std::vector<Found> found;
  const auto visits = [&](Index move) { return effect(log_[move].event.kind) == Effect::visit; };
  for (std::size_t at = 0; at < sorted.size();) {
    std::vector<Index> run{sorted[at].second};
    while (at + run.size() < sorted.size() && this->order(run.back(), sorted[at + run.size()].second) == 0)
      run.push_back(sorted[at + run.size()].second);
    at += run.size();
    if (!std::all_of(run.begin(), run.end(), [&](Index one) { return repeats(run.front(), one, animal); })) {
      const bool all_visits = std::all_of(run.begin(), run.end(), visits);
      Verdict verdict{
          .outcome = all_visits ? "find-him" : "last-seen", .amount = 0, .asks = true, .answers = {}, .detail = {}};
      for (const Index one : run) verdict.answers.push_back(to_text(log_[one].ref));
      found.push_back({all_visits ? RuleId::pairing : RuleId::whereabouts, run, verdict});
    }
    if (at == sorted.size()) break;
    const Index next = sorted[at].second;
    if (visits(run.back()) && visits(next) && !repeats(run.back(), next, animal)) {
      found.push_back(
          {RuleId::pairing,
           {run.back(), next},
           {.outcome = "separation-not-recorded", .amount = 0, .asks = false, .answers = {}, .detail = {}}});
    }
  }
  for (const Index move : timeless) {
    found.push_back(
        {RuleId::whereabouts,
         {move},
         {.outcome = "not-moved", .amount = 0, .asks = true, .answers = {"moved", "not-moved"}, .detail = {}}});
  }

  std::set<Index> denied;
  for (Found& one : found) {
    one.verdict = settle(one.rule, one.members, one.verdict);
    matter(one.rule, animal, time_[one.members.front()].at, one.members.back(), one.members, one.verdict);
    if (one.members.size() == 1 && one.verdict.outcome == "moved")
      sorted.emplace_back(time_[one.members.front()].at, one.members.front());
    for (const Index chosen : one.members) {
      if (one.verdict.outcome != to_text(log_[chosen].ref)) continue;
      for (const Index other : one.members) {
        if (!repeats(chosen, other, animal)) denied.insert(other);
      }
    }
  }
  std::stable_sort(sorted.begin(), sorted.end(), [](const auto& a, const auto& b) { return a.first < b.first; });

  std::vector<Stay>& stays = stays_[animal];
  const auto end = [&](bool visit, Instant at, Index by) {
    for (Stay& stay : stays) {
      if (stay.visit != visit || stay.until) continue;
      stay.until = at;
      stay.ended_by = by;
    }
  };
  for (const auto& [at, move] : sorted) {
    if (denied.contains(move)) continue;
    const Effect what = effect(log_[move].event.kind);
    end(true, at, move);
    if (what == Effect::home || what == Effect::away) end(false, at, move);
    const std::string place = destination(move, animal);
    if (place.empty()) continue;
    const Event& event = log_[move].event;
    const std::string partner = what == Effect::visit && event.of.size() > 1 ? thing(event.of[1]) : "";
    stays.push_back({.since = at,
                     .until = {},
                     .ended_by = {},
                     .place = place,
                     .visit = what == Effect::visit,
                     .by = move,
                     .partner = partner});
  }
  std::erase_if(stays, [](const Stay& stay) { return stay.until && *stay.until <= stay.since; });
  for (const Stay& stay : stays) {
    rows_.insert(text(StayRowText{.animal = animal,
                                  .place = stay.place,
                                  .partner = stay.partner,
                                  .since = stay.since,
                                  .until = stay.until,
                                  .visit = stay.visit,
                                  .by = log_[stay.by].ref,
                                  .ended_by = stay.ended_by ? std::optional(log_[*stay.ended_by].ref) : std::nullopt}));
  }
}

/// Two that live at one place now are a question.
void Fold::tubs() {
  std::map<std::string, std::map<std::string, const Stay*>> living;
  for (const auto& [animal, stays] : stays_) {
    for (const Stay& stay : stays) {
      if (!stay.visit && !stay.until) living[stay.place][animal] = &stay;
    }
  }
  for (const auto& [place, animals] : living) {
    if (animals.size() < 2) continue;
    std::set<Index> members;
    Instant since = animals.begin()->second->since;
    std::string listed;
    for (const auto& [animal, stay] : animals) {
      members.insert(stay->by);
      since = std::min(since, stay->since);
      listed += (listed.empty() ? "[\"" : ",\"") + animal + "\"";
    }
    Verdict verdict{
        .outcome = "both", .amount = 0, .asks = true, .answers = {"both"}, .detail = {{"animals", listed + "]"}}};
    const std::vector<Index> all(members.begin(), members.end());
    matter(RuleId::two_in_tub, place, since, all.front(), all, settle(RuleId::two_in_tub, all, verdict));
  }
}

// ---- whose a scan was

std::set<std::string> Fold::found_at(const std::string& place, Instant at) const {
  std::set<std::string> out;
  for (const auto& [animal, stays] : stays_) {
    const bool elsewhere = std::any_of(stays.begin(), stays.end(), [&](const Stay& stay) {
      return stay.visit && stay.place != place && covers(stay, at);
    });
    for (const Stay& stay : stays) {
      if (stay.place == place && covers(stay, at) && (stay.visit || !elsewhere)) out.insert(animal);
    }
  }
  return out;
}

/// A move that began or ended a stay there, or a visit elsewhere of who lives there, within 15 minutes; not one that
/// the scan knows of, or that stands on its own line.
bool Fold::move_nearby(Index scan, const std::string& place) const {
  const Instant from = time_[scan].at - kNearby;
  const Instant to = time_[scan].at + kNearby;
  const auto overlaps = [&](const Stay& stay) { return stay.since <= to && (!stay.until || *stay.until >= from); };
  const auto unknown = [&](Index move) {
    return !names(scan, move) && !log_.on_line(move, scan) && !log_.on_line(scan, move);
  };
  for (const auto& [animal, stays] : stays_) {
    const bool lives_there = std::any_of(stays.begin(), stays.end(), [&](const Stay& stay) {
      return !stay.visit && stay.place == place && overlaps(stay);
    });
    for (const Stay& stay : stays) {
      if (stay.place != place && !(stay.visit && lives_there)) continue;
      if (stay.since >= from && stay.since <= to && unknown(stay.by)) return true;
      if (stay.until && *stay.until >= from && *stay.until <= to && unknown(*stay.ended_by)) return true;
    }
  }
  return false;
}

void Fold::scans() {
  for (Index i = 0; i < log_.size(); ++i) {
    if (live(i) && is_place_scan(log_[i].event)) bind(i);
  }
}

void Fold::bind(Index scan) {
  enum How { plain, silent, notice, question };
  const Event& event = log_[scan].event;
  const std::string place = thing(event.place);
  const Rebinding kind = info_of(event.kind).rebinding;
  std::vector<std::string> shown;
  for (const std::string& code : event.shown) shown.push_back(thing(code));
  const auto is_shown = [&](const std::string& animal) {
    return std::find(shown.begin(), shown.end(), animal) != shown.end();
  };
  const std::set<std::string> there = found_at(place, time_[scan].at);
  std::optional<std::string> target;
  bool doubt = false;
  if (!time_[scan].sure) {
    if (shown.size() == 1) target = shown.front();
    doubt = shown.size() > 1;
  } else {
    std::vector<std::string> fitting;
    for (const std::string& animal : there) {
      if (there.size() == 1 || is_shown(animal)) fitting.push_back(animal);
    }
    if (fitting.size() == 1) target = fitting.front();
    const bool other_shown = !shown.empty() && !(target && is_shown(*target));
    doubt = other_shown || (!target && !there.empty()) || move_nearby(scan, place);
  }
  std::set<std::string>& bound = bound_[scan];
  if (target) bound = {*target};
  int how = plain;
  if (doubt && kind == Rebinding::silent) {
    how = silent;
  } else if (doubt && kind == Rebinding::notice && target) {
    how = notice;
  } else if (doubt) {
    how = question;
    std::set<std::string> candidates = there;
    candidates.insert(shown.begin(), shown.end());
    bound = kind == Rebinding::both ? candidates : std::set<std::string>{};
    Verdict verdict{.outcome = "unsure",
                    .amount = 0,
                    .asks = true,
                    .answers = {candidates.begin(), candidates.end()},
                    .detail = {}};
    verdict.answers.emplace_back("nobody");
    verdict = settle(RuleId::whose, {scan}, verdict);
    if (!verdict.asks) bound = verdict.outcome == "nobody" ? std::set<std::string>{} : std::set{verdict.outcome};
    matter(RuleId::whose, place, time_[scan].at, scan, {scan}, verdict);
  }
  rows_.insert(scan_text(place, time_[scan].at, log_[scan].ref, how, bound));
}

}  // namespace rackside::simulation::reference
