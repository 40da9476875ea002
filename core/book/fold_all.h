#pragma once

#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <string_view>

#include "core/book/refold.h"

namespace rackside::core {

/// Where a fold from nothing stands.
struct FoldMark {
  /// Its passes over the log: what was folded is emptied; who names whom, admission, clocks, settings and codes are
  /// read; everything else is judged.
  enum class Pass : std::uint8_t { empty, name, judge, done };
  Pass pass = Pass::empty;
  std::size_t events = 0;                         ///< so many were in the log when it began
  std::map<std::int64_t, std::uint32_t> reached;  ///< by branch: the last number that this pass has taken up
  bool operator==(const FoldMark&) const = default;
};
/// One line, for a book to keep; `parse_fold_mark` reads it back, and answers nothing to anything else.
std::string to_text(const FoldMark& mark);
std::optional<FoldMark> parse_fold_mark(std::string_view text);

/// Folds a log of any size from nothing, in the caller's write transaction or, step by step, in several: each step
/// leaves the tables such that another object, in another process, can go on from its mark. Administration and naming
/// are read in a pass of their own, so that whatever is judged later finds standing, clocks, settings, codes and
/// withdrawals complete. Events are taken up about in the order of their clocks, all branches abreast: whatever comes
/// late makes the fold look at an animal's life again. The order decides the cost alone, never the result.
class FoldAll {
 public:
  /// Begins, or goes on from a mark. A mark of a log that has grown since is not used: it begins anew.
  explicit FoldAll(LogStore& log, const std::optional<FoldMark>& mark = std::nullopt);
  /// Takes up so many events more, if there are so many; each is taken up once in each pass.
  void go_on(std::size_t events);
  bool done() const { return mark_.pass == FoldMark::Pass::done; }
  const FoldMark& mark() const { return mark_; }
  const RefoldStats& stats() const { return stats_; }
  /// How far it is, of `kWhole`, by about the time that each pass takes.
  static constexpr std::size_t kWhole = 100;
  std::size_t share_done() const;

 private:
  std::size_t empty_some(std::size_t most);
  std::size_t take_up_chunk(std::size_t most);
  bool take_up_slice(std::size_t most);
  void name_chunk();
  void judge_chunk();
  void next_pass();
  std::uint32_t reached(const Branch& branch) const;
  Instant next_time(const Branch& branch);

  LogStore& log_;
  FoldMark mark_;
  RefoldStats stats_{.all = true};
  std::map<std::int64_t, std::pair<std::uint32_t, Instant>> next_times_;  ///< by branch: of which number, its clock
};

/// Folds the whole log again from nothing, in the caller's write transaction.
RefoldStats fold_all(LogStore& log);

}  // namespace rackside::core
