// Clocks, and stage 2: what is void.
#include <algorithm>

#include "tests/simulation/reference/fold.h"

namespace rackside::simulation::reference {

using namespace core;

namespace {

constexpr std::int64_t kJitter = 2'000;
constexpr Instant kNewYear2026 = 1'767'225'600'000;
constexpr int kNoon = 12 * 60;
constexpr int kLastMinute = 24 * 60 - 1;

}  // namespace

bool Fold::begins_stretch(Index i) const {
  if (!log_[i].parent) return true;
  const ClockReading& before = log_[*log_[i].parent].event.clock;
  const ClockReading& now = log_[i].event.clock;
  if (before.wall_ms - now.wall_ms > kJitter) return true;
  const std::int64_t drift = (now.wall_ms - now.run_ms) - (before.wall_ms - before.run_ms);
  return now.run == before.run && (drift < -kJitter || drift > kDay);
}

Index Fold::stretch_of(Index i) const {
  while (!begins_stretch(i)) i = *log_[i].parent;
  return i;
}

/// Of the checks that count, name an event on a line with this one, and lie in its stretch: the first at or after it;
/// else the last before it, if that was at most a day ago.
std::optional<std::int64_t> Fold::correction(Index i) const {
  if (standings_.at(log_[i].ref.device).clock) return 0;
  struct Check {
    Index named, by;
  };
  std::optional<Check> next;
  std::optional<Check> last;
  const auto rank = [](const Check& check, const Log& log) { return std::pair(log[check.named].ref.seq, check.by); };
  for (Index by = 0; by < log_.size(); ++by) {
    const Event& event = log_[by].event;
    if (event.kind != Kind::clock_checked || event.re.empty() || !is_read(by)) continue;
    if (!standings_.at(log_[by].ref.device).clock) continue;
    const auto named = log_.find(event.re.front().event);
    if (!named || log_[*named].ref.device != log_[i].ref.device) continue;
    const Check check{*named, by};
    if (log_.on_line(i, *named) && stretch_of(*named) == stretch_of(i)) {
      if (!next || rank(check, log_) < rank(*next, log_)) next = check;
    } else if (log_.on_line(*named, i) && stretch_of(*named) == stretch_of(i)) {
      const bool fresh = log_[i].event.clock.wall_ms - log_[*named].event.clock.wall_ms <= kDay;
      if (fresh && (!last || rank(check, log_) > rank(*last, log_))) last = check;
    }
  }
  if (!next && !last) return std::nullopt;
  return log_[(next ? next : last)->by].event.own.number("offset");
}

Time Fold::time_of(Index i) const {
  const Event& event = log_[i].event;
  if (!is_read(i)) return {.at = event.clock.wall_ms};
  const auto offset = correction(i);
  Time time{.at = event.clock.wall_ms + offset.value_or(0)};
  time.sure = offset && time.at >= kNewYear2026;
  if (!event.said) return time;
  time.said = true;
  const SaidTime& said = *event.said;
  if (said.minutes_ago) {
    time.at -= *said.minutes_ago * kMinute;
  } else if (said.day) {
    time.at = zone_.first_instant_of(*said.day, std::clamp(said.minute.value_or(kNoon), 0, kLastMinute));
    time.sure = true;
  } else {
    const int minute = std::clamp(said.minute.value_or(0), 0, kLastMinute);
    const DayNumber today = zone_.day_of(time.at);
    const Instant this_day = zone_.first_instant_of(today, minute);
    time.at = this_day <= time.at ? this_day : zone_.first_instant_of(today - 1, minute);
  }
  return time;
}

void Fold::times() {
  for (Index i = 0; i < log_.size(); ++i) time_.push_back(time_of(i));
}

// ---- voids

bool Fold::has_restored(Index i) const {
  for (Index by = 0; by < log_.size(); ++by) {
    if (log_[by].event.kind != Kind::restored || !is_read(by)) continue;
    for (const auto& [named, relation] : log_[by].names) {
      if (named == i) return true;
    }
  }
  return false;
}

/// Whatever withdraws an event now: a read `voided` that no read `restored` names, or a read event that says `replaces`
/// and is not itself void by a `voided`.
std::vector<Index> Fold::withdrawals(Index i) const {
  std::vector<Index> out;
  for (Index by = 0; by < log_.size(); ++by) {
    if (!is_read(by)) continue;
    for (const auto& [named, relation] : log_[by].names) {
      if (named != i) continue;
      if (log_[by].event.kind == Kind::voided) {
        if (!has_restored(by)) out.push_back(by);
      } else if (relation == Relation::replaces && !withdrawn_by_word(by)) {
        out.push_back(by);
      }
    }
  }
  return out;
}

/// Void by a `voided`: being replaced takes no force from a replacement.
bool Fold::withdrawn_by_word(Index i) const {
  std::vector<Index> words = withdrawals(i);
  std::erase_if(words, [&](Index by) { return log_[by].event.kind != Kind::voided; });
  const Void state = void_by(i, words);
  if (state != Void::disputed) return state == Void::gone;
  std::vector<Index> members;
  const Verdict verdict = dispute(i, members);
  return !verdict.asks && verdict.outcome == "gone";
}

Void Fold::void_by(Index i, const std::vector<Index>& withdrawers) const {
  const KindInfo& info = info_of(log_[i].event.kind);
  if (!info.voidable || withdrawers.empty()) return Void::live;
  for (const Index by : withdrawers) {
    const bool own = log_[i].ref.device == log_[by].ref.device;
    const bool same_day = zone_.day_of(time_[i].at) == zone_.day_of(time_[by].at);
    if (!info.grave || (own && same_day)) return Void::gone;
  }
  return Void::disputed;
}

Verdict Fold::dispute(Index i, std::vector<Index>& members) const {
  members = withdrawals(i);
  members.insert(members.begin(), i);
  return settle(RuleId::withdrawal, members,
                {.outcome = "stands", .amount = 0, .asks = true, .answers = {"gone", "stands"}, .detail = {}});
}

void Fold::voids() {
  for (Index i = 0; i < log_.size(); ++i) {
    Void state = is_read(i) ? void_by(i, withdrawals(i)) : Void::live;
    if (state == Void::disputed) {
      std::vector<Index> members;
      const Verdict verdict = dispute(i, members);
      matter(RuleId::withdrawal, "", 0, i, members, verdict);
      if (!verdict.asks && verdict.outcome == "gone") state = Void::gone;
    }
    void_.push_back(state);
  }
}

}  // namespace rackside::simulation::reference
