#pragma once

#include <optional>
#include <string>
#include <vector>

#include "cli/scan/finder.h"
#include "cli/scan/guard.h"
#include "cli/session.h"
#include "core/entry/compose.h"

namespace rackside::cli {

/// What came of one line.
struct LineOutcome {
  enum class What : std::uint8_t {
    shown,  ///< who it is, and what is due
    recorded,
    doubled,  ///< the same label and entry within seconds: not recorded again
    undone,
    set,             ///< a round began or ended, another helper
    asked,           ///< waits for an answer; the next line may give it
    nothing,         ///< understood, and there was nothing to do
    not_understood,  ///< nothing was recorded; `fault` says why
  };
  What what = What::nothing;
  std::string input;
  std::string message;                ///< one line for people
  std::vector<std::string> warnings;  ///< loud; the entry is saved all the same
  std::vector<std::string> notices;
  std::vector<std::string> details;  ///< for the screen: the lines of a card, or the options of a question
  std::string headline;              ///< whom it is about: a short ID, for large letters
  std::vector<core::Named> about;
  std::string place;  ///< code of a place that was scanned
  std::optional<core::EventRef> event;
  core::Fault fault = core::Fault::internal;
};
std::string_view word_of(LineOutcome::What what);

/// Turns the lines of a scanner and of people into entries. A thing then its entries, or an entry first and then every
/// thing gets it (a round) until `done` or another entry.
class Desk {
 public:
  enum class Asking : std::uint8_t { no, yes };
  struct Options {
    Asking asking = Asking::no;  ///< yes: somebody is there to answer
    core::Instant guard_ms = 10'000;
    std::string by;  ///< code of the helper; empty: this book's usual one
    std::optional<core::SaidTime> said;
  };
  Desk(Session& session, Options options);

  /// Does what the line says. Usually one outcome; two where a question was passed over and the line meant another
  /// thing. Errors: those of the book (disk, lock); what is not understood is an outcome.
  std::vector<LineOutcome> take(const std::string& line);
  /// At the end of the input: saves what was asked about and not answered.
  std::vector<LineOutcome> finish();

  int recorded() const { return recorded_; }
  /// Since the round began.
  int in_round() const { return in_round_; }
  bool round() const { return round_.has_value(); }
  /// What every code gets now, for people; empty outside a round.
  std::string round_text() const;

 private:
  struct Pending {
    Found found;
    core::Entry entry;
    core::Choices choices;
    core::Ask ask;
  };
  LineOutcome understand(const std::string& line);
  LineOutcome dispatch(const std::string& line);
  LineOutcome control(const std::string& word, const std::string& rest, bool& is_control);
  LineOutcome scanned(const Found& found);
  LineOutcome entered(const std::string& text);
  LineOutcome show(const Found& found);
  LineOutcome done();
  LineOutcome undo();
  LineOutcome rest_ate(const std::string& rack);
  LineOutcome record(const Found& found, const core::Entry& entry, const core::Choices& choices, Asking asking);
  LineOutcome write(const Found& found, const core::Scene& scene, const core::Entry& entry, core::Composition made);
  void describe(core::Reader& reader, const core::Scene& scene, const core::Entry& entry, const core::Ask& ask,
                LineOutcome& out) const;
  LineOutcome ask(Pending pending);
  std::optional<LineOutcome> answered(const std::string& line);
  bool is_pending_again(const std::string& line);
  LineOutcome pass_over();

  Session& session_;
  Options options_;
  DoubleScanGuard guard_;
  std::optional<core::Entry> round_;
  std::optional<Found> current_;
  std::optional<Pending> pending_;
  int recorded_ = 0;
  int in_round_ = 0;
};

}  // namespace rackside::cli
