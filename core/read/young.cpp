#include "core/read/young.h"

#include <algorithm>
#include <cstring>

#include "core/crypto/sha256.h"

namespace rackside::core {
namespace {

/// So many numbers are looked for: no clutch of a snake that is kept has more eggs, and a slip of the finger in an
/// egg's number makes no endless search.
constexpr std::int64_t kMostYoung = 400;

/// Bytes for a code that depend on nothing but a text. Code::generate takes a plain function, so the stream's place is
/// kept beside it, by thread.
thread_local std::string stream_name;
thread_local std::uint32_t stream_piece = 0;

void next_bytes(std::span<std::uint8_t> out) {
  for (std::size_t filled = 0; filled < out.size();) {
    const Hash hash = sha256(as_bytes(stream_name + "/" + std::to_string(stream_piece++)));
    const std::size_t take = std::min(out.size() - filled, hash.size());
    std::memcpy(out.data() + filled, hash.data(), take);
    filled += take;
  }
}

Code code_from(CodeKind kind, const std::string& name) {
  stream_name = name;
  stream_piece = 0;
  return Code::generate(kind, next_bytes);
}

}  // namespace

std::string young_mark(const EventRef& laying, std::int64_t number) {
  return to_text(laying) + "/" + std::to_string(number);
}

Code young_code(const EventRef& laying, std::int64_t number) {
  return code_from(CodeKind::animal, "rackside young " + young_mark(laying, number));
}

Code group_code(const EventRef& laying) {
  return code_from(CodeKind::group, "rackside young " + young_mark(laying, 0));
}

std::set<std::int64_t> numbers_of_young(Reader& reader, const Clutch& clutch) {
  std::set<std::int64_t> out;
  for (std::int64_t number = 1; number <= kMostYoung; ++number) {
    const auto thing = reader.thing_of(young_code(clutch.laying, number).text());
    if (thing && !reader.named(*thing).kind.empty()) out.insert(number);
    // Numbers are given from the lowest up, eggs aside: past the eggs a gap of ten ends the search.
    const bool past_eggs = clutch.eggs.empty() || number > clutch.eggs.rbegin()->first;
    constexpr std::int64_t kGap = 10;
    const std::int64_t last = out.empty() ? 0 : *out.rbegin();
    if (past_eggs && number > last + kGap && number > clutch.good.value_or(0)) break;
  }
  return out;
}

void add_young(Reader& reader, Clutch& clutch) {
  for (const std::int64_t number : numbers_of_young(reader, clutch))
    clutch.young.push_back(reader.named(*reader.thing_of(young_code(clutch.laying, number).text())));
  const auto group = reader.thing_of(group_code(clutch.laying).text());
  if (group && !reader.named(*group).kind.empty()) clutch.group = reader.named(*group);
}

std::vector<NewYoung> missing_young(const Clutch& clutch, const std::set<std::int64_t>& taken) {
  std::vector<NewYoung> out;
  std::set<std::int64_t> used = taken;
  const auto room = [&] {
    return static_cast<std::int64_t>(taken.size() + clutch.by_hand.size() + out.size()) < clutch.hatched;
  };
  for (const auto& [number, egg] : clutch.eggs) {
    if (!egg.hatched || used.contains(number) || !room() || number > kMostYoung) continue;
    out.push_back({number, *egg.hatched});
    used.insert(number);
  }
  // The days of those without a number, in the order told; an egg's number is kept free for that egg.
  std::vector<DayNumber> days;
  for (const Unnumbered& one : clutch.unnumbered)
    for (std::int64_t i = 0; i < std::min(one.count, kMostYoung); ++i) days.push_back(one.day);
  // As many as the register has beyond the eggs with numbers are done already.
  const auto done =
      std::count_if(taken.begin(), taken.end(), [&](std::int64_t number) { return !clutch.eggs.contains(number); });
  std::size_t next = static_cast<std::size_t>(done);
  std::int64_t number = 0;
  while (room() && number < kMostYoung) {
    ++number;
    if (used.contains(number) || clutch.eggs.contains(number)) continue;
    const DayNumber day = days.empty() ? clutch.laid : days[std::min(next++, days.size() - 1)];
    out.push_back({number, day});
  }
  std::sort(out.begin(), out.end(), [](const NewYoung& a, const NewYoung& b) { return a.number < b.number; });
  return out;
}

}  // namespace rackside::core
