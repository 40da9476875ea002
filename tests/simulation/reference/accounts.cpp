// Of whom an event tells, and stages 5 and 6: groups and the register.
#include <algorithm>

#include "tests/simulation/reference/fold.h"

namespace rackside::simulation::reference {

using namespace core;

namespace {

constexpr Instant kEggsApart = 30 * kDay;

/// How each rule cuts its groups, as FOLD.md says: the product's own table is not asked.
struct Cut {
  RuleId rule;
  std::vector<Kind> kinds;
  enum class By : std::uint8_t { night, days, hours } by;
  int length;
};
const std::vector<Cut>& cuts() {
  static const std::vector<Cut> all = {
      {RuleId::feeding, {Kind::fed, Kind::refused, Kind::offered, Kind::leftover, Kind::ate}, Cut::By::night, 1},
      {RuleId::shed, {Kind::shed, Kind::cleared}, Cut::By::days, 7},
      {RuleId::laying, {Kind::laid}, Cut::By::hours, 48},
      {RuleId::dosing, {Kind::treated}, Cut::By::hours, 24},
      {RuleId::hatching, {Kind::hatched}, Cut::By::days, 14},
  };
  return all;
}
const Cut& cut_of(RuleId rule) {
  return *std::find_if(cuts().begin(), cuts().end(), [&](const Cut& cut) { return cut.rule == rule; });
}

bool speaks_of_offers(Kind kind) {
  return kind == Kind::leftover || kind == Kind::ate;
}

bool asks(const std::string& field) {
  static const std::set<std::string> asking = {"sex", "hatched", "species", "registered"};
  return asking.contains(field);
}

}  // namespace

Fold::Fold(const Log& log) : log_(log) {
  admit();
  settings();
  codes();
  times();
  voids();
  moves();
  tubs();
  scans();
  accounts();
  groups();
  registers();
  doubts();
  tell_events();
}

std::vector<std::string> Fold::unknown_rules() {
  static const std::set<std::string> known = {
      "feeding", "shed",   "laying",   "pairing", "whereabouts", "two-in-tub",   "whose",    "withdrawal",
      "field",   "dosing", "hatching", "gone",    "male-eggs",   "one-sex-pair", "ancestry", "unread"};
  std::vector<std::string> out;
  for (const Rule& rule : rule_table()) {
    if (!known.contains(std::string(rule.name))) out.emplace_back(rule.name);
  }
  return out;
}

void Fold::tell_events() {
  for (Index i = 0; i < log_.size(); ++i) {
    rows_.insert(text(EventRowText{.event = log_[i].ref,
                                   .at = time_[i].at,
                                   .kind = log_[i].event.kind,
                                   .read = is_read(i),
                                   .sure = time_[i].sure,
                                   .said = time_[i].said,
                                   .gone = void_[i] == Void::gone,
                                   .disputed = void_[i] == Void::disputed}));
  }
}

void Fold::account(const std::string& subject, Instant at, Index i) {
  accounts_[subject].emplace(at, i);
}

/// First what tells of the animals that it names, or whose scan was bound; then leftovers and "the rest ate", which
/// belong to the night of the offers that they name.
void Fold::accounts() {
  std::vector<Index> of_offers;
  for (Index i = 0; i < log_.size(); ++i) {
    if (!live(i)) continue;
    const Event& event = log_[i].event;
    if (speaks_of_offers(event.kind) && !event.re.empty()) {
      of_offers.push_back(i);
      continue;
    }
    for (const std::string& code : event.of) account(thing(code), time_[i].at, i);
    if (bound_.contains(i)) {
      for (const std::string& animal : bound_.at(i)) account(animal, time_[i].at, i);
    }
  }
  std::vector<std::tuple<std::string, Instant, Index>> told;
  for (const Index i : of_offers) {
    std::set<std::string> named;
    for (const std::string& code : log_[i].event.of) named.insert(thing(code));
    std::set<std::string> answered;
    for (const auto& [offer, relation] : log_[i].names) {
      if (log_[offer].event.kind != Kind::offered) continue;
      for (const auto& [subject, all] : accounts_) {
        for (const auto& [at, event] : all) {
          if (event != offer || (!named.empty() && !named.contains(subject))) continue;
          told.emplace_back(subject, at, i);
          answered.insert(subject);
        }
      }
    }
    if (bound_.contains(i)) named.insert(bound_.at(i).begin(), bound_.at(i).end());
    for (const std::string& animal : named) {
      if (!answered.contains(animal)) told.emplace_back(animal, time_[i].at, i);
    }
  }
  for (const auto& [subject, at, i] : told) account(subject, at, i);
  for (const auto& [subject, all] : accounts_) {
    for (const auto& [at, i] : all) rows_.insert(account_text(subject, at, log_[i].ref));
  }
}

// ---- stage 5

std::vector<std::pair<Instant, Index>> Fold::told_of(RuleId rule, const std::string& subject) const {
  const std::vector<Kind>& kinds = cut_of(rule).kinds;
  std::vector<std::pair<Instant, Index>> out;
  for (const auto& [at, i] : accounts_.at(subject)) {
    if (std::find(kinds.begin(), kinds.end(), log_[i].event.kind) != kinds.end()) out.emplace_back(at, i);
  }
  return out;
}

void Fold::groups() {
  for (const auto& [subject, all] : accounts_) {
    for (const Cut& cut : cuts()) {
      if (cut.by == Cut::By::night) {
        nights(cut.rule, subject);
      } else {
        windows(cut.rule, subject);
      }
    }
  }
}

/// One account alone says what it says: only several get a verdict.
void Fold::nights(RuleId rule, const std::string& subject) {
  std::map<Instant, std::set<Index>> by_night;
  for (const auto& [at, i] : told_of(rule, subject)) by_night[night_of(zone_, night_start_, at).start].insert(i);
  for (const auto& [start, events] : by_night) {
    if (events.size() < 2) continue;
    std::vector<Index> members(events.begin(), events.end());
    std::stable_sort(members.begin(), members.end(), [&](Index a, Index b) { return time_[a].at < time_[b].at; });
    matter(rule, subject, start, members.front(), members, settle(rule, members, judge(rule, members, std::nullopt)));
  }
}

/// A group starts at its earliest account and holds what falls within the window of that one.
void Fold::windows(RuleId rule, const std::string& subject) {
  const Cut& cut = cut_of(rule);
  const auto told = told_of(rule, subject);
  std::optional<Instant> previous;
  for (std::size_t at = 0; at < told.size();) {
    const Instant start = told[at].first;
    std::vector<Index> members;
    for (; at < told.size(); ++at) {
      const Instant now = told[at].first;
      const bool inside = cut.by == Cut::By::hours ? now < start + cut.length * kHour
                                                   : zone_.day_of(now) - zone_.day_of(start) < cut.length;
      if (!inside) break;
      members.push_back(told[at].second);
    }
    const bool near = previous && start - *previous < kEggsApart;
    const Verdict verdict = judge(rule, members, near ? previous : std::nullopt);
    matter(rule, subject, start, members.front(), members, settle(rule, members, verdict));
    previous = start;
  }
}

// ---- stage 6

void Fold::registers() {
  std::map<std::pair<std::string, std::string>, std::set<Index>> edits;
  for (const auto& [subject, all] : accounts_) {
    for (const auto& [at, i] : all) {
      const Event& event = log_[i].event;
      if (info_of(event.kind).kind_class != KindClass::registration || event.kind == Kind::coded) continue;
      if (event.kind != Kind::edited) edits[{subject, "registered"}].insert(i);
      const Value* set = event.own.find("set");
      if (!set || !set->as_object()) continue;
      for (const auto& [name, value] : *set->as_object()) edits[{subject, name}].insert(i);
    }
  }
  for (const auto& [key, events] : edits) field(key.first, key.second, {events.begin(), events.end()});
}

/// Candidates are the edits that no other names; the one that ranks highest is believed.
void Fold::field(const std::string& subject, const std::string& name, std::vector<Index> edits) {
  const auto value_of = [&](Index i) {
    if (name == "registered" && log_[i].event.kind != Kind::edited) return "\"" + log_[i].event.kind_name + "\"";
    return write_compact(*log_[i].event.own.find("set")->find(name));
  };
  std::vector<Index> candidates;
  for (const Index edit : edits) {
    if (std::none_of(edits.begin(), edits.end(), [&](Index other) { return names(other, edit); }))
      candidates.push_back(edit);
  }
  const Index believed =
      *std::max_element(candidates.begin(), candidates.end(), [&](Index a, Index b) { return ranks_below(a, b); });
  std::string value = value_of(believed);
  const bool differ =
      std::any_of(candidates.begin(), candidates.end(), [&](Index i) { return value_of(i) != value_of(believed); });
  std::set<std::string> marks;
  for (const Index i : candidates) marks.insert(std::string(log_[i].event.own.text("young")));
  const bool one_young = marks.size() == 1 && !marks.begin()->empty();
  if (asks(name) && (differ || (name == "registered" && candidates.size() > 1 && !one_young))) {
    Verdict verdict{
        .outcome = value, .amount = 0, .asks = true, .answers = {}, .detail = {{"field", "\"" + name + "\""}}};
    for (const Index i : candidates) verdict.answers.push_back(value_of(i));
    verdict = settle(RuleId::field, candidates, verdict);
    if (!verdict.asks) value = verdict.outcome;
    matter(RuleId::field, subject, 0, candidates.front(), candidates, verdict);
  }
  std::vector<EventRef> others;
  for (const Index i : candidates) {
    if (i != believed) others.push_back(log_[i].ref);
  }
  if (name == "sex") sex_[subject] = value;
  rows_.insert(field_text(subject, name, value, log_[believed].ref, others));
}

}  // namespace rackside::simulation::reference
