#include "sync/hub/aisle_copy.h"

#include <algorithm>
#include <charconv>
#include <chrono>
#include <ctime>
#include <optional>
#include <set>

#include "core/crypto/key.h"
#include "sync/hub/newest.h"
#include "sync/protocol/lines.h"

namespace rackside::sync::hub {

using core::Value;

namespace {

/// What is "of the last days" moves on without an event.
constexpr std::int64_t kMostAgeMs = 10 * 60 * 1000;
/// A large collection takes a while to gather, so it is gathered for at most this part of the time.
constexpr std::int64_t kPause = 9;
/// What is gathered in so short a time is gathered while the phone waits: it then holds what the phone just sent.
constexpr std::int64_t kAtOnceMs = 150;
constexpr std::int64_t kGatheringMs = 1000;
constexpr std::string_view kOdds = "odds:";
constexpr std::string_view kQuestions = "question:";
/// Events that are looked into one by one.
constexpr std::size_t kMostAtOnce = 200;
/// When to ask again for odds of genes that are being reckoned.
constexpr std::int64_t kOddsComeMs = 2000;

std::int64_t steady_ms() {
  using namespace std::chrono;
  return duration_cast<milliseconds>(steady_clock::now().time_since_epoch()).count();
}

/// What this thread has worked: on a busy machine a gathering takes long and costs no more.
std::int64_t worked_ms() {
  timespec worked{};
  ::clock_gettime(CLOCK_THREAD_CPUTIME_ID, &worked);
  return std::int64_t{worked.tv_sec} * 1000 + worked.tv_nsec / 1'000'000;
}

/// "EPOCH.17" gives 17 when the epoch is that one, else -1.
std::int64_t version_of(const std::string& since, const std::string& epoch) {
  if (!since.starts_with(epoch + ".")) return -1;
  std::int64_t out = -1;
  const char* begin = since.data() + epoch.size() + 1;
  const auto [end, error] = std::from_chars(begin, since.data() + since.size(), out);
  return error == std::errc{} && end == since.data() + since.size() ? out : -1;
}

}  // namespace

AisleCopy::AisleCopy(std::function<std::shared_ptr<core::Book>()> open, GeneDesk& genes)
    : genes_(genes), epoch_(core::to_hex(core::random_array<8>())), open_(std::move(open)) {
  worker_ = std::thread([this] { work(); });
}

AisleCopy::~AisleCopy() {
  {
    const std::lock_guard lock(mutex_);
    ending_ = true;
  }
  changed_.notify_all();
  worker_.join();
}

void AisleCopy::take(const std::string& key, std::string text) {
  Line& line = lines_[key];
  if (line.text == text && line.version > 0) return;
  line.text = std::move(text);
  line.version = version_;
}

AisleCopy::Gathered AisleCopy::gather(core::Book& book, std::int64_t now_ms) {
  const std::int64_t begun = worked_ms();
  Gathered out{{}, newest_of_all(book), 0};
  core::Reader reader(book);
  out.lines = core::aisle_lines(reader, now_ms);
  out.took_ms = worked_ms() - begun;
  return out;
}

/// `whole_sort`: lines whose keys begin so and that did not come are gone; "": of every sort but the odds.
void AisleCopy::take_lines(std::vector<core::AisleLine> lines, std::string_view whole_sort) {
  std::set<std::string> present;
  for (core::AisleLine& line : lines) {
    present.insert(line.key);
    take(line.key, std::move(line.text));
  }
  for (auto line = lines_.lower_bound(std::string(whole_sort));
       line != lines_.end() && line->first.starts_with(whole_sort); ++line) {
    if (!present.contains(line->first) && !line->first.starts_with(kOdds)) take(line->first, "");
  }
}

void AisleCopy::install(Gathered gathered) {
  ++version_;
  take_lines(std::move(gathered.lines), "");
  heads_ = gathered.heads;
  gathered_ = std::move(gathered.heads);
  took_ms_ = gathered.took_ms;
  made_ms_ = steady_ms();
  genes_.nudge();
}

void AisleCopy::take_newest(core::Book& book, const std::vector<core::Head>& heads, std::int64_t now_ms) {
  std::map<core::DeviceId, std::uint32_t> known;
  for (const core::Head& head : heads_) known[head.device] = std::max(known[head.device], head.seq);
  std::vector<core::EventRow> rows;
  for (const core::Head& head : heads) {
    const core::EventRow newest = book.log().find({head.device, head.seq, core::shorten(head.hash)});
    for (std::uint32_t back = 0; newest != 0 && head.seq - back > known[head.device]; ++back) {
      if (rows.size() >= kMostAtOnce) return;
      rows.push_back(newest - back);
    }
  }
  core::Reader reader(book);
  ++version_;
  take_lines(core::aisle_lines_of(reader, core::told_of(reader, rows), now_ms), kQuestions);
  heads_ = heads;
}

std::int64_t AisleCopy::refresh(core::Book& book, std::int64_t now_ms) {
  const bool is_first = made_ms_ == INT64_MIN;
  const std::int64_t age = is_first ? 0 : steady_ms() - made_ms_;
  const bool aged = is_first || age > kMostAgeMs;
  const std::vector<core::Head> heads = newest_of_all(book);
  if (!aged && heads == gathered_) return 0;
  if (is_first || (took_ms_ <= kAtOnceMs && kPause * took_ms_ <= age)) {
    install(gather(book, now_ms));
    return 0;
  }
  if (heads != heads_) take_newest(book, heads, now_ms);
  const std::int64_t pause = aged ? 0 : kPause * took_ms_ - age;
  if (gathering_) return kGatheringMs;
  if (pause > 0) return pause;
  gathering_ = true;
  changed_.notify_all();
  return kGatheringMs;
}

void AisleCopy::work() {
  std::unique_lock lock(mutex_);
  while (true) {
    changed_.wait(lock, [this] { return ending_ || gathering_; });
    if (ending_) return;
    lock.unlock();
    std::optional<Gathered> gathered;
    try {
      using namespace std::chrono;
      const auto book = open_();
      gathered = gather(*book, duration_cast<milliseconds>(system_clock::now().time_since_epoch()).count());
    } catch (const std::exception&) {
      // Whoever asks next finds the book unreadable and says so.
    }
    lock.lock();
    if (gathered) install(std::move(*gathered));
    gathering_ = false;
  }
}

void AisleCopy::take_genes() {
  auto fresh = genes_.lines();
  if (fresh == odds_) return;
  ++version_;
  for (auto line = lines_.lower_bound(std::string(kOdds)); line != lines_.end() && line->first.starts_with(kOdds);
       ++line) {
    if (!fresh->contains(line->first)) take(line->first, "");
  }
  for (const auto& [key, text] : *fresh) take(key, text);
  odds_ = std::move(fresh);
}

std::string AisleCopy::answer(core::Book& book, const core::DeviceId& device, const std::string& since,
                              std::int64_t now_ms) {
  const std::lock_guard lock(mutex_);
  std::int64_t pause = refresh(book, now_ms);
  take_genes();
  if (pause == 0 && genes_.is_busy()) pause = kOddsComeMs;
  const std::int64_t known = version_of(since, epoch_);
  Value head = Value::Object{{"rackside", kProtocolVersion},
                             {"aisle", epoch_ + "." + std::to_string(version_)},
                             {"since", known < 0 ? std::string() : since},
                             {"wall", now_ms}};
  if (pause > 0) head.set("again_ms", pause);
  for (const core::Head& one : heads_) {
    if (one.device == device) head.set("mine", head_value(one));
  }
  std::string out = to_line(head);
  std::int64_t count = 0;
  for (const auto& [key, line] : lines_) {
    if (line.version <= known || (line.text.empty() && known < 0)) continue;
    out += line.text.empty() ? to_line(Value::Object{{"gone", key}}) : line.text + "\n";
    ++count;
  }
  return out + to_line(Value::Object{{"end", count}});
}

}  // namespace rackside::sync::hub
