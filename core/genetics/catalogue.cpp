#include "core/genetics/catalogue.h"

#include <algorithm>

namespace rackside::core::genetics {

std::string_view word_of(Sex sex) {
  switch (sex) {
    case Sex::male:
      return "male";
    case Sex::female:
      return "female";
    case Sex::unknown:
      break;
  }
  return "unsexed";
}

std::string sentence_of(const Source& source) {
  switch (source.kind) {
    case Source::Kind::published:
      return source.text;
    case Source::Kind::practice:
      return "common practice, no source" + (source.text.empty() ? "" : ": " + source.text);
    case Source::Kind::memory:
      return "from memory, unverified" + (source.text.empty() ? "" : ": " + source.text);
    case Source::Kind::none:
      break;
  }
  return "no source given";
}

std::string plain_name(std::string_view name) {
  std::string out;
  for (char c : name) {
    const bool space = c == ' ' || c == '\t';
    if (space && (out.empty() || out.back() == ' ')) continue;
    out += space ? ' ' : static_cast<char>(c >= 'A' && c <= 'Z' ? c - 'A' + 'a' : c);
  }
  if (!out.empty() && out.back() == ' ') out.pop_back();
  return out;
}

namespace {

bool is_called(const std::string& name, const std::vector<std::string>& also, const std::string& wanted) {
  return plain_name(name) == wanted ||
         std::any_of(also.begin(), also.end(), [&](const std::string& other) { return plain_name(other) == wanted; });
}

}  // namespace

std::size_t Locus::pair_index(AlleleIndex a, AlleleIndex b) const {
  const std::size_t low = std::min(a, b);
  const std::size_t high = std::max(a, b);
  return high * (high + 1) / 2 + low;
}

std::optional<std::uint8_t> Locus::find_look(std::string_view look) const {
  const std::string wanted = plain_name(look);
  for (std::size_t i = 0; i < looks.size(); ++i) {
    if (plain_name(looks[i]) == wanted) return static_cast<std::uint8_t>(i);
  }
  for (const FormerLook& one : former_looks) {
    if (plain_name(one.name) == wanted) return one.look;
  }
  return std::nullopt;
}

std::optional<AlleleIndex> Locus::find_allele(std::string_view wanted) const {
  for (std::size_t i = 0; i < alleles.size(); ++i) {
    if (is_called(alleles[i].name, alleles[i].also, plain_name(wanted))) return static_cast<AlleleIndex>(i);
  }
  return std::nullopt;
}

std::optional<std::uint16_t> Species::find_locus(std::string_view wanted) const {
  for (std::size_t i = 0; i < loci.size(); ++i) {
    if (is_called(loci[i].name, loci[i].also, plain_name(wanted))) return static_cast<std::uint16_t>(i);
  }
  return std::nullopt;
}

std::vector<AlleleRef> Species::find_allele(std::string_view wanted) const {
  std::vector<AlleleRef> out;
  for (std::size_t i = 0; i < loci.size(); ++i) {
    const auto found = loci[i].find_allele(wanted);
    if (found && *found != kWild) out.push_back({static_cast<std::uint16_t>(i), *found});
  }
  return out;
}

}  // namespace rackside::core::genetics
