#pragma once

#include "core/rules/rule.h"
#include "core/time/zone.h"
#include "tests/simulation/reference/log.h"
#include "tests/simulation/rows.h"

namespace rackside::simulation::reference {

struct Standing {
  core::Role role = core::Role::none;
  bool clock = false;
  bool retired = false;
  std::optional<core::EventRef> read_until;
  std::vector<std::pair<std::uint32_t, core::Role>> roles;
};

struct Time {
  core::Instant at = 0;
  bool sure = false;
  bool said = false;
};

enum class Void : std::uint8_t { live, gone, disputed };

struct Stay {
  core::Instant since = 0;
  std::optional<core::Instant> until;
  std::optional<Index> ended_by;
  std::string place;
  bool visit = false;
  Index by = 0;
  std::string partner;
};

struct Verdict {
  std::string outcome;
  std::int64_t amount = 0;
  bool asks = false;
  std::vector<std::string> answers;
  std::map<std::string, std::string> detail;  ///< values as compact JSON
};

/// The fold from nothing. Its stages, in order, each reading only those before it.
class Fold {
 public:
  explicit Fold(const Log& log);
  const Rows& rows() const { return rows_; }
  /// Rules of the product that this fold does not know: their rows must be left out of a comparison, and said.
  static std::vector<std::string> unknown_rules();

 private:
  // administration.cpp: stage 1
  void admit();
  bool founds(Index i) const;
  core::Role role_of(Index i) const;
  bool is_read(Index i) const { return role_of(i) >= core::Role::helper; }
  void settings();
  void codes();
  std::string thing(const std::string& code) const;

  // times.cpp: clocks, and stage 2
  void times();
  bool begins_stretch(Index i) const;
  Index stretch_of(Index i) const;
  std::optional<std::int64_t> correction(Index i) const;
  Time time_of(Index i) const;
  void voids();
  std::vector<Index> withdrawals(Index i) const;
  bool has_restored(Index i) const;
  bool withdrawn_by_word(Index i) const;
  Void void_by(Index i, const std::vector<Index>& withdrawers) const;
  Verdict dispute(Index i, std::vector<Index>& members) const;
  bool live(Index i) const { return is_read(i) && void_[i] != Void::gone; }

  // places.cpp: stages 3 and 4
  void moves();
  void fold_moves_of(const std::string& animal, std::vector<Index> moves);
  std::optional<core::Instant> effect_of(Index move, const std::vector<Index>& moves) const;
  std::string destination(Index move, const std::string& animal) const;
  bool repeats(Index a, Index b, const std::string& animal) const;
  void tubs();
  void scans();
  void bind(Index scan);
  std::set<std::string> found_at(const std::string& place, core::Instant at) const;
  bool move_nearby(Index scan, const std::string& place) const;

  // accounts.cpp: of whom an event tells; stages 5 and 6
  void accounts();
  void account(const std::string& subject, core::Instant at, Index i);
  void groups();
  void nights(core::RuleId rule, const std::string& subject);
  void windows(core::RuleId rule, const std::string& subject);
  std::vector<std::pair<core::Instant, Index>> told_of(core::RuleId rule, const std::string& subject) const;
  void registers();
  void field(const std::string& subject, const std::string& name, std::vector<Index> edits);

  // doubts.cpp: stage 7
  void doubts();
  void doubt(core::RuleId rule, const std::string& subject, std::vector<Index> members, const Verdict& verdict);
  std::string sex_of(const std::string& animal) const;
  void life_after_departure(const std::string& animal);
  void rings();
  void entries_of_retired();

  // judges.cpp
  int order(Index a, Index b) const;  ///< -1: a was before b; 1: after; 0: nobody can say
  bool names(Index a, Index b) const { return log_.knows(a).contains(b); }
  bool names_as(Index a, Index b, core::Relation relation) const;
  bool ranks_below(Index a, Index b) const;
  Verdict judge(core::RuleId rule, const std::vector<Index>& members, std::optional<core::Instant> previous) const;
  Verdict judge_feeding(const std::vector<Index>& members) const;
  Verdict judge_shed(const std::vector<Index>& members) const;
  Verdict judge_dosing(const std::vector<Index>& members) const;
  Verdict judge_hatching(const std::vector<Index>& members) const;
  Verdict judge_laying(const std::vector<Index>& members, bool late) const;
  Verdict apply(core::RuleId rule, Verdict verdict, const std::string& answer) const;
  Verdict settle(core::RuleId rule, const std::vector<Index>& members, Verdict verdict) const;
  std::vector<Index> unanswered(const std::vector<Index>& settlements) const;
  void matter(core::RuleId rule, const std::string& subject, core::Instant at, Index lead,
              const std::vector<Index>& members, const Verdict& verdict);
  void tell_events();

  const Log& log_;
  std::map<core::DeviceId, Standing> standings_;
  core::Zone zone_;
  int night_start_ = 12 * 60;
  std::map<std::string, std::string> joined_;
  std::vector<Time> time_;
  std::vector<Void> void_;
  std::map<std::string, std::vector<Stay>> stays_;                             ///< by animal
  std::map<Index, std::set<std::string>> bound_;                               ///< place scans: whose they are
  std::map<std::string, std::set<std::pair<core::Instant, Index>>> accounts_;  ///< by subject
  std::map<std::string, std::string> sex_;                                     ///< by animal, as the register has it
  Rows rows_;
};

bool is_move(core::Kind kind);
bool is_place_scan(const core::Event& event);

}  // namespace rackside::simulation::reference
