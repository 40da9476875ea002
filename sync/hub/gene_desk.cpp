#include "sync/hub/gene_desk.h"

#include <algorithm>
#include <chrono>

#include "core/codes/code.h"
#include "sync/protocol/lines.h"

namespace rackside::sync::hub {

using core::Error;
using core::Fault;
using core::GeneChance;
using core::GeneOdds;
using core::LocusOdds;
using core::PairOdds;
using core::Reader;
using core::Value;

namespace {

/// Reckoning rests this many times as long as it took.
constexpr int kPause = 9;
/// What a card has room for.
constexpr std::size_t kMostLoci = 8;

Value chances_value(const std::vector<GeneChance>& chances) {
  Value::Array out;
  for (const GeneChance& one : chances) out.push_back(Value::Array{one.chance, one.phrase});
  return out;
}

core::Millionths of_carrying(const LocusOdds& locus) {
  core::Millionths sum = locus.no_answer ? 2'000'000 : 0;
  for (const GeneChance& one : locus.chances) sum += one.chance;
  return sum;
}

/// The likeliest to carry first; the rest of a long list is left out.
std::string odds_line(const std::string& code, std::vector<LocusOdds> loci) {
  std::stable_sort(loci.begin(), loci.end(),
                   [](const LocusOdds& a, const LocusOdds& b) { return of_carrying(a) > of_carrying(b); });
  Value::Array all;
  for (std::size_t i = 0; i < std::min(loci.size(), kMostLoci); ++i) {
    Value locus = Value::Object{{"locus", loci[i].locus}};
    if (loci[i].no_answer) locus.set("no_answer", 1);
    if (loci[i].sampled) locus.set("about", 1);
    if (!loci[i].chances.empty()) locus.set("chances", chances_value(loci[i].chances));
    all.push_back(std::move(locus));
  }
  Value line = Value::Object{{"t", "odds"}, {"id", code}, {"loci", std::move(all)}};
  if (loci.size() > kMostLoci) line.set("more", static_cast<std::int64_t>(loci.size() - kMostLoci));
  return write_compact(line);
}

GeneDesk::Lines lines_of(Reader& reader, const GeneOdds& odds) {
  GeneDesk::Lines out;
  for (GeneOdds::AnimalOdds& one : odds.all()) {
    const std::string code = reader.named(one.animal).code;
    out["odds:" + code] = odds_line(code, std::move(one.loci));
  }
  return out;
}

Value harms_value(const PairOdds& odds) {
  Value::Array out;
  for (const PairOdds::Harm& harm : odds.harms) {
    Value line =
        Value::Object{{"pair", harm.pair}, {"what", harm.what}, {"source", harm.source}, {"chance", harm.chance}};
    if (harm.lethal) line.set("lethal", 1);
    if (harm.lethal && !harm.established) line.set("as_most_say", 1);
    out.push_back(std::move(line));
  }
  return out;
}

std::string forecast_line(Reader& reader, const PairOdds& odds) {
  Value::Array young;
  for (const PairOdds::Young& one : odds.young) {
    Value line = Value::Object{{"chance", one.chance}, {"look", one.look}};
    if (one.sex != core::genetics::Sex::unknown) line.set("sex", std::string(word_of(one.sex)));
    if (!one.carries.empty()) line.set("carries", chances_value(one.carries));
    young.push_back(std::move(line));
  }
  Value::Array unanswered;
  for (const std::string& locus : odds.unanswered) unanswered.push_back(locus);
  return to_line(Value::Object{{"sire", reader.named(odds.sire).code},
                               {"dam", reader.named(odds.dam).code},
                               {"species", odds.species},
                               {"young", std::move(young)},
                               {"rest", odds.rest},
                               {"lost", odds.lost},
                               {"error", odds.error},
                               {"harms", harms_value(odds)},
                               {"inbreeding", odds.inbreeding},
                               {"parents_known", odds.parents_known},
                               {"at_least", odds.at_least},
                               {"unanswered", std::move(unanswered)},
                               {"problems", static_cast<std::int64_t>(odds.problems)}});
}

core::Thing animal_of(Reader& reader, std::string_view text) {
  const core::CodeReading code = core::read_code(text);
  const auto thing = code.code ? reader.thing_of(code.code->str()) : std::nullopt;
  if (!thing) throw Error(Fault::unknown_code, "The hub's book does not know one of the two yet: no forecast.");
  return *thing;
}

}  // namespace

GeneDesk::GeneDesk(std::function<std::shared_ptr<core::Book>()> open) : open_(std::move(open)) {
  worker_ = std::thread([this] { work(); });
}

GeneDesk::~GeneDesk() {
  {
    const std::lock_guard lock(mutex_);
    ending_ = true;
  }
  changed_.notify_all();
  worker_.join();
}

void GeneDesk::nudge() {
  {
    const std::lock_guard lock(mutex_);
    nudged_ = true;
  }
  changed_.notify_all();
}

std::shared_ptr<const GeneDesk::Lines> GeneDesk::lines() {
  const std::lock_guard lock(mutex_);
  return lines_;
}

bool GeneDesk::is_busy() {
  const std::lock_guard lock(mutex_);
  return busy_;
}

void GeneDesk::work() {
  std::unique_lock lock(mutex_);
  while (true) {
    changed_.wait(lock, [this] { return ending_ || nudged_; });
    if (ending_) return;
    nudged_ = false;
    lock.unlock();
    const auto begun = std::chrono::steady_clock::now();
    try {
      const auto book = open_();
      const std::lock_guard reckoning(reckoning_);
      refresh(*book);
    } catch (const std::exception&) {
      // A book that cannot be read now is said by whoever needs it; the odds follow when it can.
    }
    const auto took = std::chrono::steady_clock::now() - begun;
    lock.lock();
    changed_.wait_for(lock, kPause * took, [this] { return ending_; });
  }
}

void GeneDesk::refresh(core::Book& book) {
  book.refresh();
  const std::uint64_t now = gene_fingerprint(book);
  if (odds_ && now == fingerprint_) return;
  {
    const std::lock_guard lock(mutex_);
    busy_ = true;
  }
  Reader reader(book);
  odds_ = std::make_unique<GeneOdds>(reader);
  fingerprint_ = now;
  auto fresh = std::make_shared<const Lines>(lines_of(reader, *odds_));
  const std::lock_guard lock(mutex_);
  lines_ = std::move(fresh);
  busy_ = false;
}

std::string GeneDesk::forecast(std::string_view first, std::string_view second) {
  const auto book = open_();
  const std::lock_guard reckoning(reckoning_);
  refresh(*book);
  Reader reader(*book);
  return forecast_line(reader, odds_->pair(animal_of(reader, first), animal_of(reader, second)));
}

}  // namespace rackside::sync::hub
