#pragma once

#include <map>
#include <memory>
#include <optional>
#include <set>
#include <string>
#include <tuple>
#include <unordered_map>
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
/// One run is one unit of work: events at hand, and whom they tell of, stay in memory until they are bound, and are
/// then written once, in the order of their tables' keys.
class Refold {
 public:
  explicit Refold(LogStore& log);
  /// Folds in the events that are at hand in the log, and writes them.
  RefoldStats run();

 private:
  friend class FoldAll;
  using Point = std::pair<Thing, Instant>;
  using Namer = std::pair<EventRow, Relation>;
  using Naming = std::tuple<EventRow, EventRow, Relation>;  ///< target, source

  /// A row of the table of place scans, but for its event.
  struct ScanRow {
    Thing place = 0;
    Instant at = 0;
    Binding::How how = Binding::How::plain;
    std::vector<Thing> bound;
    bool operator==(const ScanRow&) const = default;
  };
  /// Something of an event as the fold has it now, and as its table has it.
  template <typename Rows>
  struct Held {
    bool known = false;  ///< read, where the event is an older one
    Rows now;
    Rows stored;
  };
  struct Told {
    Held<std::vector<Point>> points;  ///< its accounts, ascending
    Held<std::optional<ScanRow>> scan;
    std::vector<Namer> namers;  ///< of an event at hand: who names it, ascending
  };

  // stage 1: refold_administration.cpp
  void link_answers();
  void write_links(std::vector<Naming>& links);
  void load_namers(EventRow first, EventRow last);
  void release_awaited(EventRow first, EventRow last, std::vector<Naming>& links);
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
  const std::vector<ClockCheck>& checks_of_span(EventRow row);
  bool founds(const EventRef& ref, const Event& event);
  void dirty_device(std::int64_t device);
  void dirty_thing(Thing thing);

  // stage 2 and the accounts: refold_events.cpp
  void find_affected();
  void spread_judgements();
  std::vector<EventRow> judged_by(EventRow row);
  void dirty_event(EventRow row);
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
  void replace_accounts(EventRow row, Kind kind, std::vector<Point> subjects);
  void replace_moves(EventRow row, const Event& event, const std::vector<Point>& subjects);
  std::optional<Thing> destination(const Event& event, Thing animal);
  void replace_scan(EventRow row, const Event& event, std::optional<Point> scan);
  void replace_edits(EventRow row, const Event& event, Kind kind, const std::vector<Point>& subjects);
  void touch(Kind kind, Thing subject, Instant at);
  bool waits_for_binding(const Event& event) const;
  bool is_fresh(EventRow row) const { return log_.fresh_index(row).has_value(); }
  Told& told(EventRow row);
  Held<std::vector<Point>>& points_of(EventRow row);
  Held<std::optional<ScanRow>>& scan_of(EventRow row);
  std::vector<Namer> namers_of(EventRow row);
  void write_scans();
  void write_accounts();

  // stages 3 and 4: refold_places.cpp
  void fold_occupancy();
  void fold_animal(Thing animal);
  std::vector<Move> load_moves(Thing animal);
  Move move_from(Thing animal, const Account& account);
  void replace_stays(Thing animal, const std::vector<Stay>& stays);
  void span_changed(const Stay& stay, Instant from, Instant to, const std::vector<Stay>& stays);
  void rescan(Thing place, Instant from, Instant to);
  const std::vector<Stay>& stays_of(Thing animal);
  const std::vector<PlaceStay>& stays_since(Thing place, Instant from);
  void write_stays(Thing animal, const std::vector<Stay>& old, const std::vector<Stay>& stays);
  bool knew(const Account& scan, const Event& event, EventRow move);
  void judge_tub(Thing place);
  void bind_scans();
  void bind_one(Thing place, Instant at, EventRow row);
  Verdict whose_verdict(const Account& account, Binding& binding);
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
  void derive_all(const std::vector<EventRow>& batch, Waiting which);
  void fold_stages();
  void forget_due();
  bool nothing_folded_yet();
  void dirty_everything();
  bool is_ahead(EventRow row) const;
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
  bool fresh_wait_ = true;  ///< the events at hand are not judged yet: all of them will be
  /// By branch, how far a fold from nothing has come: what lies beyond is not judged yet. None: everything is.
  const std::map<std::int64_t, std::uint32_t>* reached_ = nullptr;
  std::vector<EventRow> relinked_;  ///< older events that name one that has just come
  std::set<EventRow> dirty_;        ///< to be judged again, beside the events at hand
  std::set<Thing> movers_;
  std::vector<std::tuple<Thing, Instant, EventRow>> unbound_;  ///< scans to bind: place, time, event
  std::set<Thing> crowded_;                                    ///< places whose occupants changed
  std::vector<std::tuple<RuleId, Thing, Instant>> points_;     ///< where groups change
  std::set<std::pair<Thing, std::string>> fields_;
  std::vector<Thing> news_of_;       ///< of whom something new was told, with repetitions
  std::set<Thing> lives_;            ///< animals of which something new was told
  std::set<Thing> egg_bearers_;      ///< with an account of eggs, or whose sex changed
  std::set<Thing> paired_;           ///< in a pairing that changed
  std::set<Thing> sexed_;            ///< whose sex changed
  std::set<Thing> children_;         ///< whose parents changed
  std::set<std::int64_t> retirees_;  ///< retired devices that wrote, or whose retirement changed
  std::vector<Told> told_;           ///< of the events at hand, in their order
  std::unordered_map<EventRow, Told> told_before_;
  std::vector<EventRow> scans_changed_;
  std::vector<EventRow> accounts_changed_;
  std::map<std::int64_t, std::optional<Standing>> standings_;
  /// The numbers of one branch that lie between the same clock checks, and those checks.
  struct ClockSpan {
    std::int64_t branch = 0;
    std::uint32_t first = 0;
    std::uint32_t last = 0;
    std::vector<ClockCheck> checks;
  };
  ClockSpan span_;
};

}  // namespace rackside::core
