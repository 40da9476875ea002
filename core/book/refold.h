#pragma once

#include <map>
#include <memory>
#include <optional>
#include <set>
#include <string>
#include <tuple>
#include <unordered_set>
#include <vector>

#include "core/book/log_store.h"
#include "core/fold/admission.h"
#include "core/fold/binding.h"
#include "core/fold/clocks.h"
#include "core/fold/occupancy.h"
#include "core/fold/voids.h"
#include "core/rules/doubts.h"
#include "core/rules/rule.h"

namespace rackside::core {

/// Bits of event.mark; the kind stands above them.
constexpr std::int64_t kRead = 1;  ///< its device is admitted and was not retired before it
constexpr std::int64_t kSure = 2;
constexpr std::int64_t kSaid = 4;
constexpr std::int64_t kGone = 8;       ///< void
constexpr std::int64_t kDisputed = 16;  ///< a void of it waits for an answer
constexpr std::int64_t kFolded = 32;    ///< derived at least once
constexpr int kMarkKindShift = 8;

/// How much a run touched: tests hold late events to "only what they touch".
struct RefoldStats {
  std::size_t derived = 0;  ///< events whose time, void state and subjects were judged
  std::size_t grouped = 0;  ///< accounts that were read into a group
  std::size_t bound = 0;    ///< place scans that were bound
  std::size_t animals = 0;  ///< animals whose occupancy was folded
  bool all = false;         ///< a setting or an authority changed: everything was folded again
};

/// The settings that the fold reads.
struct FoldSettings {
  Zone zone;
  int night_start_minute = 12 * 60;
  bool operator==(const FoldSettings&) const = default;
};
FoldSettings load_settings(Database& database);

/// Carries the folded tables from one set of events to a larger one, inside the caller's write transaction. The stages
/// are those of core/fold and core/rules; this class only finds out what must be judged again, loads it, and writes
/// what changed. Equal sets give equal tables, whatever the order of arrival: `Book::check` compares with a fresh fold.
class Refold {
 public:
  explicit Refold(LogStore& log);
  /// A newly stored event. Call in the order of its line.
  void arrived(EventRow row, std::shared_ptr<const Event> event);
  RefoldStats run();

 private:
  friend class FoldAll;
  using Point = std::pair<Thing, Instant>;

  // stage 1: refold_administration.cpp
  void link_answers();
  void link(EventRow target, EventRow source, Relation relation);
  void release_awaited(EventRow row);
  void administer();
  void administer_one(EventRow row, const Event& event);
  void read_stretch(EventRow row, const Event& event);
  void note_clock_check(EventRow source, const Event& event);
  void judge_admissions();
  void write_standing(std::int64_t device, const Standing* standing);
  void judge_settings();
  void judge_codes();
  std::vector<EventRow> administration_of(std::initializer_list<Kind> kinds);
  bool is_read(EventRow row);
  Role role_at(EventRow row);
  std::optional<std::int64_t> correction(EventRow row, const Event& event);
  std::uint32_t stretch_start(std::int64_t branch, std::uint32_t seq);
  enum class Direction : std::uint8_t { forward, back };
  bool counts_as_check(EventRow check);
  bool has_forks(std::int64_t branch) const;
  std::optional<std::uint32_t> nearest_check(std::int64_t branch, std::uint32_t seq, Direction direction);
  void collect_checks(std::int64_t branch, std::uint32_t from, std::uint32_t to_seq, std::vector<ClockCheck>& out);
  std::vector<ClockCheck> checks_around(EventRow row);
  bool founds(const EventRef& ref, const Event& event);
  void dirty_device(std::int64_t device);
  void dirty_thing(Thing thing);

  // stage 2 and the accounts: refold_events.cpp
  void find_affected();
  void spread_judgements();
  std::vector<EventRow> judged_by(EventRow row);
  void dirty_event(EventRow row) { dirty_.insert(row); }
  void derive(EventRow row);
  ObservedTime time_of(EventRow row, const Event& event);
  VoidState void_of(EventRow row, const Event& event, const ObservedTime& time);
  enum class Words : std::uint8_t { all, voids };
  std::vector<Withdrawal> withdrawals_of(EventRow row, Words words);
  bool has_restored(EventRow voided);
  bool is_voided_by_word(EventRow row);
  Verdict settled_dispute(EventRow row, std::vector<Account>& members);
  void write_dispute(EventRow row, VoidState& state);
  std::vector<Point> subjects_of(EventRow row, const Event& event, const ObservedTime& time);
  void replace_accounts(EventRow row, Kind kind, const std::vector<Point>& subjects);
  void replace_moves(EventRow row, const Event& event, const std::vector<Point>& subjects);
  std::optional<Thing> destination(const Event& event, Thing animal);
  void replace_scan(EventRow row, const Event& event, std::optional<Point> scan);
  void replace_edits(EventRow row, const Event& event, Kind kind, const std::vector<Point>& subjects);
  void touch(Kind kind, Thing subject, Instant at);
  bool waits_for_binding(const Event& event) const;

  // stages 3 and 4: refold_places.cpp
  void fold_occupancy();
  void fold_animal(Thing animal);
  std::vector<Move> load_moves(Thing animal);
  Move move_from(Thing animal, const Account& account);
  void replace_stays(Thing animal, const std::vector<Stay>& stays);
  void span_changed(const Stay& stay, Instant from, Instant to, const std::vector<Stay>& stays);
  void rescan(Thing place, Instant from, Instant to);
  std::vector<Stay> load_stays(Thing animal);
  bool knew(const Account& scan, const Event& event, EventRow move);
  void judge_tub(Thing place);
  void bind_scans();
  void bind_one(Thing place, Instant at, EventRow row);
  bool unnamed_move_nearby(Thing place, const Account& scan, const Event& event);
  std::vector<Thing> occupants(Thing place, Instant at);

  // stage 5: refold_groups.cpp
  void fold_groups();
  void fold_nights(const Rule& rule, Thing subject, const std::set<Instant>& points);
  void fold_night(const Rule& rule, Thing subject, const Night& night);
  void fold_windows(const Rule& rule, Thing subject, const std::set<Instant>& points);
  std::vector<Account> window_from(const Rule& rule, Thing subject, Instant from);
  Group group_of(std::vector<Account> accounts);
  void find_links(Group& group);
  template <typename Use>
  void for_each_named(const Event& event, const Use& use);
  bool names(const Event& event, EventRow target);
  Settlement settlement_of(EventRow row);
  void drop_answered(std::vector<Settlement>& settlements);
  Verdict settled(const Rule& rule, const std::vector<Account>& members, Verdict verdict);
  void write_matter(const Rule& rule, Thing subject, Instant at, EventRow lead, const std::vector<Account>& members,
                    const Verdict& verdict);
  void clear_matters(RuleId rule, Thing subject, Instant from, Instant to);
  void clear_matter(RuleId rule, Thing subject, Instant at, EventRow lead);

  // stage 6: refold_fields.cpp
  void fold_fields();
  void fold_field_of(Thing subject, const std::string& field);

  // stage 7: refold_doubts.cpp
  void touch_doubts(Kind kind, Thing subject);
  void fold_doubts();
  std::vector<Account> rare_accounts(Thing subject, bool (*wanted)(Kind));
  void write_doubt(RuleId id, Thing subject, std::vector<Account> members, Verdict verdict);
  void fold_departure(Thing animal);
  std::string sex_of(Thing animal);
  void fold_eggs_of_male(Thing animal);
  std::vector<Account> pairings_of(Thing animal);
  void fold_pairs_of_one_sex();
  void replace_parents(EventRow row, const Event& event, const std::vector<Point>& subjects);
  Parents parents_above(Thing animal);
  void break_rings(std::set<Thing>& animals);
  void fold_ancestry();
  void write_ring(const std::set<Thing>& ring);
  void fold_unread(std::int64_t device);
  std::vector<Account> without_followers(std::vector<Account> members);
  std::optional<EventRow> retired_head(std::int64_t device);

  enum class Waiting : std::uint8_t { no, yes };
  void derive_all(const std::set<EventRow>& batch, Waiting which);
  void fold_stages();
  Account account_of(EventRow row);
  Thing thing_of(std::string_view code);  ///< after joined codes were followed; makes the code known
  Thing code_row(std::string_view code);
  std::string text_of(Thing thing);
  bool anything_awaited();

  LogStore& log_;
  Database& database_;
  FoldSettings settings_;
  RefoldStats stats_;
  bool fold_all_ = false;
  bool admissions_changed_ = false;
  bool settings_changed_ = false;
  bool codes_changed_ = false;
  std::vector<std::pair<EventRow, std::shared_ptr<const Event>>> fresh_;
  std::unordered_set<EventRow> fresh_rows_;
  std::vector<EventRow> relinked_;  ///< older events that name one that has just come
  std::set<EventRow> dirty_;
  std::set<Thing> movers_;
  std::set<std::tuple<Thing, Instant, EventRow>> unbound_;  ///< scans to bind: place, time, event
  std::set<Thing> crowded_;                                 ///< places whose occupants changed
  std::map<std::pair<RuleId, Thing>, std::set<Instant>> points_;
  std::set<std::pair<Thing, std::string>> fields_;
  std::set<Thing> lives_;            ///< animals of which something new was told
  std::set<Thing> egg_bearers_;      ///< with an account of eggs, or whose sex changed
  std::set<Thing> paired_;           ///< in a pairing that changed, or whose sex changed
  std::set<Thing> children_;         ///< whose parents changed
  std::set<std::int64_t> retirees_;  ///< retired devices that wrote, or whose retirement changed
  std::map<std::int64_t, std::optional<Standing>> standings_;
  std::unordered_map<std::string, Thing> things_;
};

/// Folds the whole log again from nothing, in the caller's write transaction.
RefoldStats fold_all(LogStore& log);

}  // namespace rackside::core
