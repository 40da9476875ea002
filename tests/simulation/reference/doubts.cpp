// Stage 7: what cannot be. Asked last, changes nothing before it.
#include <algorithm>

#include "tests/simulation/reference/fold.h"

namespace rackside::simulation::reference {

using namespace core;

namespace {

constexpr Instant kApart = 30 * kMinute;

bool departs(Kind kind) {
  return kind == Kind::left || kind == Kind::died;
}
bool comes_home(Kind kind) {
  return kind == Kind::moved || kind == Kind::swapped;
}
bool is_of_eggs(Kind kind) {
  static const std::set<Kind> kinds = {Kind::palpated, Kind::ovulated, Kind::gravid, Kind::laid};
  return kinds.contains(kind);
}
bool is_sign_of_life(Kind kind) {
  static const std::set<Kind> kinds = {Kind::paired,   Kind::fed,    Kind::refused,      Kind::offered,
                                       Kind::leftover, Kind::ate,    Kind::regurgitated, Kind::shed,
                                       Kind::cleared,  Kind::opaque, Kind::locked,       Kind::treated};
  return kinds.contains(kind) || is_of_eggs(kind);
}

Verdict stands() {
  return {.outcome = "stands", .amount = 0, .asks = true, .answers = {"stands"}, .detail = {}};
}

}  // namespace

/// One question about all members.
void Fold::doubt(RuleId rule, const std::string& subject, std::vector<Index> members, const Verdict& verdict) {
  const auto when = [&](Index i) {  // of what is not read only the raw clock is known, and that is its time
    return std::pair(time_[i].at, i);
  };
  std::sort(members.begin(), members.end(), [&](Index a, Index b) { return when(a) < when(b); });
  matter(rule, subject, time_[members.front()].at, members.front(), members, settle(rule, members, verdict));
}

void Fold::doubts() {
  for (const auto& [subject, told] : accounts_) {
    std::vector<Index> eggs;
    for (const auto& [at, i] : told) {
      if (is_of_eggs(log_[i].event.kind)) eggs.push_back(i);
    }
    if (sex_of(subject) == "\"male\"" && !eggs.empty()) doubt(RuleId::male_eggs, subject, eggs, stands());
    life_after_departure(subject);
  }
  for (Index i = 0; i < log_.size(); ++i) {
    const Event& event = log_[i].event;
    if (event.kind != Kind::paired || !live(i) || event.of.size() < 2) continue;
    const std::string visitor = thing(event.of[0]);
    const std::string host = thing(event.of[1]);
    const std::string sex = sex_of(visitor);
    const bool one_sex = (sex == "\"male\"" || sex == "\"female\"") && sex == sex_of(host);
    if (visitor == host || one_sex) doubt(RuleId::one_sex_pair, visitor, {i}, stands());
  }
  rings();
  entries_of_retired();
}

std::string Fold::sex_of(const std::string& animal) const {
  const auto found = sex_.find(animal);
  return found == sex_.end() ? "" : found->second;
}

/// The earliest departure that no later move home ended, with all that was told since and contradicts it.
void Fold::life_after_departure(const std::string& animal) {
  std::optional<Instant> first;
  for (const auto& [at, i] : accounts_.at(animal)) {
    if (departs(log_[i].event.kind)) first = std::min(first.value_or(at), at);
  }
  if (!first) return;
  std::set<Index> since;
  for (const auto& [at, i] : accounts_.at(animal)) {
    const Kind kind = log_[i].event.kind;
    if (at >= *first && (departs(kind) || comes_home(kind) || is_sign_of_life(kind))) since.insert(i);
  }
  const auto after = [&](Index later, Index earlier) {
    const int known = order(earlier, later);
    return known < 0 || (known == 0 && time_[later].at - time_[earlier].at >= kApart);
  };
  std::optional<Index> departure;
  for (const Index i : since) {
    const Kind kind = log_[i].event.kind;
    if (!departs(kind)) continue;
    const bool ended = kind == Kind::left && std::any_of(since.begin(), since.end(), [&](Index home) {
                         return comes_home(log_[home].event.kind) && after(home, i);
                       });
    if (!ended && (!departure || std::pair(time_[i].at, i) < std::pair(time_[*departure].at, *departure)))
      departure = i;
  }
  if (!departure) return;
  std::vector<Index> members{*departure};
  for (const Index i : since) {
    const Kind kind = log_[i].event.kind;
    const bool contradicts = is_sign_of_life(kind) || (comes_home(kind) && log_[*departure].event.kind == Kind::died);
    if (contradicts && after(i, *departure)) members.push_back(i);
  }
  if (members.size() > 1) doubt(RuleId::gone, animal, members, stands());
}

/// Animals that are each among the other's ancestors, or their own parents.
void Fold::rings() {
  std::map<std::string, std::map<std::string, std::set<Index>>> parents;
  for (Index i = 0; i < log_.size(); ++i) {
    const Event& event = log_[i].event;
    const std::string_view role = event.own.text("parent");
    const std::string code(event.own.text("animal"));
    if (event.kind != Kind::says || !live(i) || (role != "sire" && role != "dam") || code.empty()) continue;
    for (const std::string& child : event.of) parents[thing(child)][thing(code)].insert(i);
  }
  const auto ancestors = [&](const std::string& animal) {
    std::set<std::string> found;
    std::vector<std::string> open{animal};
    while (!open.empty()) {
      const std::string child = open.back();
      open.pop_back();
      for (const auto& [parent, statements] : parents[child]) {
        if (found.insert(parent).second) open.push_back(parent);
      }
    }
    return found;
  };
  std::set<std::string> children;
  for (const auto& [child, all] : parents) children.insert(child);
  std::set<std::string> judged;
  for (const std::string& child : children) {
    const std::set<std::string> above = ancestors(child);
    if (!above.contains(child) || judged.contains(child)) continue;
    std::set<std::string> ring;
    for (const std::string& one : above) {
      if (ancestors(one).contains(child)) ring.insert(one);
    }
    judged.insert(ring.begin(), ring.end());
    std::set<Index> members;
    std::string listed;
    for (const std::string& one : ring) {
      listed += (listed.empty() ? "[\"" : ",\"") + one + "\"";
      for (const auto& [parent, statements] : parents[one]) {
        if (ring.contains(parent)) members.insert(statements.begin(), statements.end());
      }
    }
    Verdict verdict{
        .outcome = "doubted", .amount = 0, .asks = true, .answers = {}, .detail = {{"animals", listed + "]"}}};
    for (const Index i : members) verdict.answers.push_back(to_text(log_[i].ref));
    doubt(RuleId::ancestry, *ring.begin(), {members.begin(), members.end()}, verdict);
  }
}

/// What a retired device wrote off the line of its head: one question a device, which names the first such of each
/// line.
void Fold::entries_of_retired() {
  for (const auto& [device, standing] : standings_) {
    const auto head = standing.retired && standing.read_until ? log_.find(*standing.read_until) : std::nullopt;
    if (!head) continue;
    std::vector<Index> unread;
    for (Index i = 0; i < log_.size(); ++i) {
      const bool own_affairs = info_of(log_[i].event.kind).kind_class == KindClass::administration;
      if (log_[i].ref.device == device && !own_affairs && !log_.on_line(i, *head)) unread.push_back(i);
    }
    std::vector<Index> first;
    for (const Index i : unread) {
      if (std::none_of(unread.begin(), unread.end(), [&](Index j) { return j != i && log_.on_line(j, i); }))
        first.push_back(i);
    }
    if (first.empty()) continue;
    Verdict verdict{.outcome = "left-out",
                    .amount = static_cast<std::int64_t>(unread.size()),
                    .asks = true,
                    .answers = {"left-out"},
                    .detail = {}};
    verdict.detail["device"] = "\"" + to_hex(device) + "\"";
    doubt(RuleId::unread, "", first, verdict);
  }
}

}  // namespace rackside::simulation::reference
