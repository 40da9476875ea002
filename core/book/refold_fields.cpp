// Stage 6 and the run itself: the register, and the order of the stages.
#include <algorithm>

#include "core/book/fold_all.h"
#include "core/book/refold.h"
#include "core/book/schema.h"
#include "core/crypto/sha256.h"
#include "core/fold/registers.h"

namespace rackside::core {
namespace {

std::string value_in(const Event& event, const std::string& field) {
  if (field == "registered") return write_compact(Value(event.kind_name));
  const Value* set = event.own.find("set");
  const Value* value = set ? set->find(field) : nullptr;
  return value ? write_compact(*value) : "null";
}

std::string setting_text(Database& database, const char* key) {
  auto query = database.prepare("SELECT value FROM setting WHERE key = ?");
  return query.bind(key).step() ? std::string(query.text(0)) : std::string();
}

/// What core/read/rack_map reads.
bool tells_of_places(const std::string& field) {
  return field == "rack" || field == "position" || field == "short";
}

}  // namespace

FoldSettings load_settings(Database& database) {
  FoldSettings settings;
  const Value zone = parse_strict(setting_text(database, "zone")).value;
  if (const Value::Array* steps = zone.as_array()) {
    for (const Value& step : *steps) {
      settings.zone.steps.push_back(
          {step.number("from"), static_cast<int>(std::clamp<std::int64_t>(step.number("minutes"), -1440, 1440))});
    }
    std::stable_sort(settings.zone.steps.begin(), settings.zone.steps.end(),
                     [](const Zone::Step& a, const Zone::Step& b) { return a.from < b.from; });
  }
  const Value night = parse_strict(setting_text(database, "night_start")).value;
  if (night.as_int())
    settings.night_start_minute = static_cast<int>(std::clamp<std::int64_t>(*night.as_int(), 0, 1439));
  return settings;
}

void Refold::fold_fields() {
  for (const auto& [subject, field] : fields_) {
    fold_field_of(subject, field);
    news_of_.push_back(subject);
    if (tells_of_places(field)) news_of_.push_back(kRowOfPlaces);
  }
  fields_.clear();
}

void Refold::fold_field_of(Thing subject, const std::string& field) {
  if (field == "sex") {
    egg_bearers_.insert(subject);
    sexed_.insert(subject);
  }
  std::vector<Account> accounts;
  {
    auto query = database_.prepare("SELECT event FROM edit WHERE subject = ? AND field = ?");
    query.bind(subject, field);
    while (query.step()) accounts.push_back(account_of(query.integer(0)));
  }
  {
    std::vector<std::pair<Instant, EventRow>> stale;
    auto query = database_.prepare("SELECT at, lead, detail FROM matter WHERE rule = ? AND subject = ?");
    query.bind(static_cast<int>(RuleId::field), subject);
    while (query.step()) {
      if (parse_strict(query.text(2)).value.text("field") == field)
        stale.emplace_back(query.integer(0), query.integer(1));
    }
    for (const auto& [at, lead] : stale) {
      database_.prepare("DELETE FROM matter WHERE rule = ? AND subject = ? AND at = ? AND lead = ?")
          .bind(static_cast<int>(RuleId::field), subject, at, lead)
          .run();
    }
  }
  database_.prepare("DELETE FROM field WHERE subject = ? AND name = ?").bind(subject, field).run();
  if (accounts.empty()) return;
  std::sort(accounts.begin(), accounts.end(), [](const Account& a, const Account& b) { return a.ref < b.ref; });
  std::vector<std::string> values;
  for (const Account& account : accounts) values.push_back(value_in(*account.event, field));
  const Group edits = group_of(accounts);
  FieldFold fold = fold_field(field, edits, values);
  std::vector<Account> candidates;
  std::string others;
  for (std::size_t i : fold.candidates) {
    candidates.push_back(accounts[i]);
    if (i != fold.believed) others += (others.empty() ? "" : " ") + std::to_string(accounts[i].row);
  }
  std::string value = values[fold.believed];
  if (fold.verdict.asks) {
    fold.verdict.detail.set("field", field);
    const Verdict verdict = settled(rule_of(RuleId::field), candidates, fold.verdict);
    if (!verdict.asks) value = verdict.outcome;
    // Several fields of one subject may be asked about: a number drawn from the name keeps their rows apart.
    const Hash digest = sha256(as_bytes(field));
    Instant slot = 0;
    for (std::size_t i = 0; i < 6; ++i) slot = slot * 256 + digest[i];
    write_matter(rule_of(RuleId::field), subject, slot, candidates.front().row, candidates, verdict);
  }
  database_.prepare("INSERT INTO field(subject, name, value, event, others) VALUES(?, ?, ?, ?, ?)")
      .bind(subject, field, value, accounts[fold.believed].row, others)
      .run();
}

// ---- the run

Refold::Refold(LogStore& log) : log_(log), database_(log.database()), settings_(load_settings(log.database())) {}

RefoldStats Refold::run() {
  log_.memory().keep_small();
  link_answers();
  administer();
  if (fold_all_ && nothing_folded_yet()) {
    dirty_everything();
    stats_.all = true;
  } else if (fold_all_) {
    log_.flush();
    RefoldStats stats = fold_all(log_);
    stats.all = true;
    return stats;
  }
  find_affected();
  fold_stages();
  log_.flush();
  return stats_;
}

/// Whether no older event has left anything that a change of settings could make wrong: a book's first merge.
bool Refold::nothing_folded_yet() {
  constexpr std::size_t kFew = 1024;
  std::size_t events = 0;
  for (const auto& [id, branch] : log_.branches()) events += branch.head_seq - branch.base_seq;
  if (events - log_.fresh().size() > kFew) return false;
  for (const char* sql : {"SELECT 1 FROM account LIMIT 1", "SELECT 1 FROM scan LIMIT 1", "SELECT 1 FROM edit LIMIT 1",
                          "SELECT 1 FROM move LIMIT 1", "SELECT 1 FROM stay LIMIT 1", "SELECT 1 FROM matter LIMIT 1",
                          "SELECT 1 FROM parent LIMIT 1"}) {
    if (database_.prepare(sql).step()) return false;
  }
  return true;
}

void Refold::dirty_everything() {
  for (const auto& [id, branch] : log_.branches()) {
    for (std::uint32_t seq = branch.base_seq + 1; seq <= branch.head_seq; ++seq) dirty_event(make_row(id, seq));
  }
}

void Refold::fold_stages() {
  std::vector<EventRow> batch(dirty_.begin(), dirty_.end());
  for (const FreshEvent& fresh : log_.fresh()) batch.push_back(fresh.row);
  std::sort(batch.begin(), batch.end());
  dirty_.clear();
  fresh_wait_ = false;
  // Deriving can make more events dirty: those that speak of an offer whose animal changed. They make none dirty.
  while (!batch.empty() || !unbound_.empty() || !movers_.empty()) {
    derive_all(batch, Waiting::no);
    fold_occupancy();
    bind_scans();
    derive_all(batch, Waiting::yes);
    batch.assign(dirty_.begin(), dirty_.end());
    dirty_.clear();
  }
  write_scans();
  write_accounts();
  fold_groups();
  fold_fields();
  fold_doubts();
  forget_due();
}

/// What lists had read of these animals, or of all places, holds no more.
void Refold::forget_due() {
  if (database_.prepare("SELECT 1 FROM due LIMIT 1").step()) {
    std::sort(news_of_.begin(), news_of_.end());
    news_of_.erase(std::unique(news_of_.begin(), news_of_.end()), news_of_.end());
    for (const Thing thing : news_of_) database_.prepare("DELETE FROM due WHERE animal = ?").bind(thing).run();
  }
  news_of_.clear();
}

/// Leftovers and "the rest ate" are derived after their offers are bound.
void Refold::derive_all(const std::vector<EventRow>& batch, Waiting which) {
  for (EventRow row : batch) {
    const bool waits = waits_for_binding(*log_.event_of(row));
    if (waits != (which == Waiting::yes)) continue;
    derive(row);
    if (waits) dirty_.erase(row);
  }
}

}  // namespace rackside::core
