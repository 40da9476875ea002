#include "core/book/fold_all.h"

#include <algorithm>
#include <charconv>

#include "core/book/schema.h"

namespace rackside::core {
namespace {

/// So many events are at hand at once.
constexpr std::size_t kChunk = 4096;
/// So many of one branch are taken up before the clocks of the others are looked at again.
constexpr std::size_t kSlice = 256;

constexpr std::string_view kPassNames[] = {"empty", "name", "judge", "done"};

std::size_t events_in(const LogStore& log) {
  std::size_t events = 0;
  for (const auto& [id, branch] : log.branches()) events += branch.head_seq - branch.base_seq;
  return events;
}

/// Takes the text up to the next separator.
std::string_view take_word(std::string_view& text, char separator) {
  const std::size_t end = std::min(text.find(separator), text.size());
  const std::string_view word = text.substr(0, end);
  text.remove_prefix(std::min(end + 1, text.size()));
  return word;
}

template <typename Number>
bool read_number(std::string_view word, Number& out) {
  const auto [end, fault] = std::from_chars(word.data(), word.data() + word.size(), out);
  return fault == std::errc{} && end == word.data() + word.size();
}

}  // namespace

std::string to_text(const FoldMark& mark) {
  std::string text(kPassNames[static_cast<std::size_t>(mark.pass)]);
  text += " " + std::to_string(mark.events);
  for (const auto& [branch, seq] : mark.reached) text += " " + std::to_string(branch) + ":" + std::to_string(seq);
  return text;
}

std::optional<FoldMark> parse_fold_mark(std::string_view text) {
  FoldMark mark;
  const auto pass = std::find(std::begin(kPassNames), std::end(kPassNames), take_word(text, ' '));
  if (pass == std::end(kPassNames) || !read_number(take_word(text, ' '), mark.events)) return std::nullopt;
  mark.pass = static_cast<FoldMark::Pass>(pass - std::begin(kPassNames));
  while (!text.empty()) {
    std::string_view word = take_word(text, ' ');
    std::int64_t branch = 0;
    std::uint32_t seq = 0;
    if (!read_number(take_word(word, ':'), branch) || !read_number(word, seq)) return std::nullopt;
    mark.reached[branch] = seq;
  }
  return mark;
}

FoldAll::FoldAll(LogStore& log, const std::optional<FoldMark>& mark) : log_(log) {
  mark_.events = events_in(log);
  if (mark && mark->events == mark_.events) mark_ = *mark;
}

void FoldAll::go_on(std::size_t events) {
  while (!done() && events > 0) {
    const std::size_t most = std::min(events, kChunk);
    const std::size_t taken = mark_.pass == FoldMark::Pass::empty ? empty_some(most) : take_up_chunk(most);
    if (taken < most) next_pass();
    events -= taken;
  }
}

std::size_t FoldAll::share_done() const {
  if (done()) return kWhole;
  constexpr std::size_t kBefore[] = {0, 5, 20};  // of the whole, where each pass begins
  constexpr std::size_t kAfter[] = {5, 20, kWhole};
  const auto pass = static_cast<std::size_t>(mark_.pass);
  std::size_t taken = 0;
  for (const auto& [id, branch] : log_.branches()) taken += reached(branch) - branch.base_seq;
  return kBefore[pass] + (kAfter[pass] - kBefore[pass]) * taken / std::max<std::size_t>(mark_.events, 1);
}

std::uint32_t FoldAll::reached(const Branch& branch) const {
  const auto found = mark_.reached.find(branch.id);
  return found == mark_.reached.end() ? branch.base_seq : found->second;
}

void FoldAll::next_pass() {
  mark_.pass = static_cast<FoldMark::Pass>(static_cast<int>(mark_.pass) + 1);
  mark_.reached.clear();
  next_times_.clear();
}

/// The folded tables at once, which is cheap; then what the log's own table holds of verdicts.
std::size_t FoldAll::empty_some(std::size_t most) {
  if (mark_.reached.empty()) {
    clear_folded(log_.database());
    log_.forget();
    log_.memory() = {};
  }
  std::size_t taken = 0;
  for (const auto& [id, branch] : log_.branches()) {
    const std::uint32_t from = reached(branch);
    const auto count = std::min<std::size_t>(branch.head_seq - from, most - taken);
    if (count == 0) continue;
    const std::uint32_t to = from + static_cast<std::uint32_t>(count);
    log_.database()
        .prepare("UPDATE event SET at = NULL, mark = 0 WHERE id BETWEEN ? AND ?")
        .bind(make_row(id, from + 1), make_row(id, to))
        .run();
    mark_.reached[id] = to;
    taken += count;
  }
  return taken;
}

std::size_t FoldAll::take_up_chunk(std::size_t most) {
  while (log_.fresh().size() < most && take_up_slice(most - log_.fresh().size())) {
  }
  const std::size_t taken = log_.fresh().size();
  if (mark_.pass == FoldMark::Pass::name) {
    name_chunk();
  } else {
    judge_chunk();
  }
  log_.forget();
  log_.memory().keep_small();
  return taken;
}

/// Of the branch whose next event has the earliest clock. What a fork grew out of comes before it. False when
/// everything has been taken up.
bool FoldAll::take_up_slice(std::size_t most) {
  const Branch* first = nullptr;
  for (const auto& [id, branch] : log_.branches()) {
    if (reached(branch) == branch.head_seq) continue;
    if (branch.parent && reached(log_.branch(*branch.parent)) < branch.base_seq) continue;
    if (!first || next_time(branch) < next_time(*first)) first = &branch;
  }
  if (!first) return false;
  const std::uint32_t from = reached(*first);
  const auto count = std::min({std::size_t{first->head_seq - from}, kSlice, most});
  const std::uint32_t to = from + static_cast<std::uint32_t>(count);
  log_.take_up(first->id, from + 1, to);
  mark_.reached[first->id] = to;
  return true;
}

Instant FoldAll::next_time(const Branch& branch) {
  const std::uint32_t next = reached(branch) + 1;
  const auto known = next_times_.find(branch.id);
  if (known != next_times_.end() && known->second.first == next) return known->second.second;
  const Instant time = log_.event_of(make_row(branch.id, next))->clock.wall_ms;
  next_times_[branch.id] = {next, time};
  return time;
}

/// Nothing has been judged yet that news of devices or codes could make wrong.
void FoldAll::name_chunk() {
  const std::map<std::int64_t, std::uint32_t> nothing;
  Refold refold(log_);
  refold.reached_ = &nothing;
  refold.link_answers();
  refold.administer();
}

void FoldAll::judge_chunk() {
  Refold refold(log_);
  refold.reached_ = &mark_.reached;
  for (const auto& [first, last] : log_.fresh_spans()) refold.load_namers(first, last);
  refold.fold_stages();
  log_.flush();
  stats_.derived += refold.stats_.derived;
  stats_.grouped += refold.stats_.grouped;
  stats_.bound += refold.stats_.bound;
  stats_.animals += refold.stats_.animals;
}

RefoldStats fold_all(LogStore& log) {
  FoldAll fold(log);
  while (!fold.done()) fold.go_on(kChunk);
  return fold.stats();
}

}  // namespace rackside::core
