#include "core/genetics/catalogue_text.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <map>
#include <set>

#include "core/genetics/merge.h"
#include "core/genetics/said.h"
#include "core/genetics/states.h"

namespace rackside::core::genetics {
namespace {

std::string trimmed(std::string_view text) {
  const auto first = text.find_first_not_of(" \t\r");
  if (first == std::string_view::npos) return {};
  return std::string(text.substr(first, text.find_last_not_of(" \t\r") - first + 1));
}

std::vector<std::string> split(std::string_view text, char separator) {
  std::vector<std::string> out;
  for (std::size_t at = 0; at <= text.size();) {
    const auto end = std::min(text.find(separator, at), text.size());
    out.push_back(trimmed(text.substr(at, end - at)));
    at = end + 1;
  }
  if (out.size() == 1 && out.front().empty()) out.clear();
  return out;
}

std::optional<double> number_in(const std::string& text) {
  double out = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), out);
  if (error != std::errc() || end != text.data() + text.size()) return std::nullopt;
  return out;
}

/// Thrown inside the reader only; becomes a CatalogueError with its line.
struct Complaint {
  std::string message;
};

void complain_of(std::string problem) {
  if (!problem.empty()) throw Complaint{std::move(problem)};
}

class Reader {
 public:
  CatalogueRead read(std::string_view text);

 private:
  void line(const std::string& text);
  void species(const std::string& rest);
  void also(const std::string& rest);
  void source(Source::Kind kind, const std::string& rest);
  void sexes(const std::string& rest);
  void locus(const std::string& rest);
  void linkage(const std::string& rest);
  void allele(const std::string& rest);
  void pair(const std::string& rest);
  void lethal(const std::string& rest);
  void harm(const std::string& rest);
  void hides(const std::string& rest);
  Combination::Part look_anywhere(const std::string& name) const;
  void mistaken(const std::string& rest);
  void combination(const std::string& rest);
  void merge(const std::string& rest);
  void same(const std::string& rest);
  void split_name(const std::string& rest);
  void forget_what_stands_above();
  void found(std::string sentence, bool of_its_own);
  struct Group;
  void finish();
  void finish_group(const Group& group, std::size_t end);
  void finish_names(const Locus& locus, unsigned line);
  void finish_locus(const Locus& locus, unsigned line);

  Locus& in_locus(std::string_view word);
  AlleleIndex allele_named(const Locus& locus, const std::string& name) const;
  Pair& pair_of(Locus& locus, const std::vector<std::string>& parts);
  static std::uint8_t look_or_new(Locus& locus, const std::string& name);
  static void define(Locus& locus, AlleleIndex a, AlleleIndex b, std::uint8_t look, const std::string& name);
  std::uint16_t locus_named(const std::string& name) const;
  AlleleRef allele_anywhere(const std::string& name) const;
  std::string want_merge(const Locus& here, const std::string& first, const std::string& second) const;
  static double chance_in(const std::string& text);
  void fail(unsigned line, std::string message) { out_.errors.push_back({line, std::move(message)}); }

  CatalogueRead out_;
  std::vector<unsigned> locus_lines_;
  /// A merge and what is said below it share a source.
  struct Group {
    unsigned line = 0;
    std::size_t first = 0;  ///< of the findings
    bool may_grow = false;
  };
  std::vector<Group> groups_;
  std::size_t locus_ = 0;                      ///< that the lines are about
  std::vector<std::string>* names_ = nullptr;  ///< where `also` goes
  Source* source_ = nullptr;                   ///< where a source goes
  Source lost_;                                ///< of a line that was not understood
  Allele* allele_ = nullptr;
  Combination* combination_ = nullptr;
  unsigned number_ = 0;
};

CatalogueRead Reader::read(std::string_view text) {
  // Pointers into these are held while reading.
  out_.species.loci.reserve(1024);
  out_.species.combinations.reserve(4096);
  out_.species.findings.reserve(4096);
  bool begun = false;
  for (const std::string& raw : split(text, '\n')) {
    ++number_;
    const std::string content = trimmed(raw.substr(0, raw.find('#')));
    if (content.empty()) continue;
    if (!begun && content != "rackside genes 1") {
      fail(number_, "the first line is not \"rackside genes 1\", so this is no catalogue that this program reads");
      return std::move(out_);
    }
    try {
      if (begun) line(content);
    } catch (const Complaint& complaint) {
      fail(number_, complaint.message);
      // Its source, if it has one, stands below it and is no further mistake.
      lost_ = {};
      source_ = &lost_;
    }
    begun = true;
  }
  if (!begun) fail(1, "the catalogue is empty; its first line is \"rackside genes 1\"");
  finish();
  return std::move(out_);
}

void Reader::line(const std::string& text) {
  using Method = void (Reader::*)(const std::string&);
  static const std::array<std::pair<std::string_view, Method>, 15> kWords = {{{"species", &Reader::species},
                                                                              {"also", &Reader::also},
                                                                              {"sexes", &Reader::sexes},
                                                                              {"locus", &Reader::locus},
                                                                              {"linkage", &Reader::linkage},
                                                                              {"allele", &Reader::allele},
                                                                              {"pair", &Reader::pair},
                                                                              {"lethal", &Reader::lethal},
                                                                              {"harm", &Reader::harm},
                                                                              {"hides", &Reader::hides},
                                                                              {"mistaken", &Reader::mistaken},
                                                                              {"combination", &Reader::combination},
                                                                              {"merge", &Reader::merge},
                                                                              {"same", &Reader::same},
                                                                              {"split", &Reader::split_name}}};
  const auto space = std::min(text.find_first_of(" \t"), text.size());
  const std::string word = text.substr(0, space);
  const std::string rest = trimmed(std::string_view(text).substr(space));
  for (const auto& [name, method] : kWords) {
    if (word == name) return (this->*method)(rest);
  }
  if (word == "source") return source(Source::Kind::published, rest);
  if (word == "practice") return source(Source::Kind::practice, rest);
  if (word == "memory") return source(Source::Kind::memory, rest);
  if (word == "sure") {
    out_.species.sure = chance_in(rest);
  } else if (word == "think-so") {
    out_.species.think_so = chance_in(rest);
  } else if (word == "frequency") {
    if (!allele_) throw Complaint{"\"frequency\" stands below no allele"};
    allele_->frequency = chance_in(rest);
  } else {
    throw Complaint{"\"" + word + "\" is no word of this form"};
  }
}

void Reader::species(const std::string& rest) {
  const auto parts = split(rest, ',');
  if (!out_.species.name.empty()) throw Complaint{"a second species; each has a file of its own"};
  if (parts.size() != 2) throw Complaint{"\"species\" wants the common and the Latin name, separated by a comma"};
  out_.species.name = parts[0];
  out_.species.latin = parts[1];
  names_ = &out_.species.also;
  source_ = &out_.species.source;
}

void Reader::also(const std::string& rest) {
  if (!names_) throw Complaint{"\"also\" stands below nothing that could have further names"};
  for (const std::string& name : split(rest, ',')) {
    if (name.empty()) throw Complaint{"an empty name"};
    names_->push_back(name);
  }
}

void Reader::source(Source::Kind kind, const std::string& rest) {
  if (!source_) throw Complaint{"a source stands below nothing that could have one"};
  if (source_->kind != Source::Kind::none) throw Complaint{"a second source; write both on one line"};
  if (kind == Source::Kind::published && rest.empty()) throw Complaint{"\"source\" names no source"};
  *source_ = {kind, rest};
}

void Reader::sexes(const std::string& rest) {
  if (rest == "XY") {
    out_.species.sexes = SexSystem::xy;
  } else if (rest == "ZW") {
    out_.species.sexes = SexSystem::zw;
  } else if (rest != "unknown") {
    throw Complaint{"\"sexes\" is XY, ZW or unknown, not \"" + rest + "\""};
  }
  names_ = nullptr;
  source_ = &out_.species.sexes_source;
}

void Reader::locus(const std::string& rest) {
  if (rest.empty()) throw Complaint{"a locus without a name"};
  if (out_.species.find_locus(rest)) throw Complaint{"there is a locus \"" + rest + "\" already"};
  if (out_.species.loci.size() == out_.species.loci.capacity()) throw Complaint{"over 1024 loci"};
  Locus made;
  made.name = rest;
  made.alleles.push_back({.name = "normal"});
  made.looks.push_back("normal");
  made.pairs.resize(1);
  made.pairs[0].defined = true;
  out_.species.loci.push_back(std::move(made));
  // Pointers to alleles are held while reading.
  out_.species.loci.back().alleles.reserve(kMaxStates);
  locus_lines_.push_back(number_);
  locus_ = out_.species.loci.size() - 1;
  names_ = &out_.species.loci.back().also;
  source_ = &out_.species.loci.back().source;
  allele_ = nullptr;
  combination_ = nullptr;
}

Locus& Reader::in_locus(std::string_view word) {
  if (out_.species.loci.empty()) throw Complaint{"\"" + std::string(word) + "\" stands below no locus"};
  return out_.species.loci[locus_];
}

void Reader::linkage(const std::string& rest) {
  Locus& locus = in_locus("linkage");
  const auto parts = split(rest, ' ');
  if (parts.size() == 1 && parts[0] == "autosomal") {
    locus.linkage = Linkage::autosomal;
  } else if (parts.size() == 1 && parts[0] == "hemizygous") {
    locus.linkage = Linkage::hemizygous;
  } else if (parts.size() == 2 && parts[0] == "sex-linked") {
    locus.linkage = Linkage::sex_linked;
    locus.recombination = chance_in(parts[1]);
    if (locus.recombination > 0.5) throw Complaint{"recombination is at most 0.5"};
  } else {
    throw Complaint{"\"linkage\" is autosomal, hemizygous, or sex-linked with its recombination"};
  }
  if (locus.linkage != Linkage::autosomal && out_.species.sexes == SexSystem::unknown) {
    throw Complaint{"a sex-linked locus, but \"sexes\" does not say XY or ZW"};
  }
}

std::uint8_t Reader::look_or_new(Locus& locus, const std::string& name) {
  if (const auto known = locus.find_look(name)) return *known;
  if (locus.looks.size() > 250) throw Complaint{"over 250 looks at one locus"};
  locus.looks.push_back(name);
  return static_cast<std::uint8_t>(locus.looks.size() - 1);
}

void Reader::define(Locus& locus, AlleleIndex a, AlleleIndex b, std::uint8_t look, const std::string& name) {
  Pair& pair = locus.pairs[locus.pair_index(a, b)];
  if (pair.defined) {
    throw Complaint{"the pair " + locus.alleles[a].name + ", " + locus.alleles[b].name + " was described before"};
  }
  pair.look = look;
  pair.name = name;
  pair.defined = true;
}

void Reader::allele(const std::string& rest) {
  Locus& locus = in_locus("allele");
  const auto parts = split(rest, ',');
  if (parts.size() < 2) throw Complaint{"\"allele\" wants a name and recessive, dominant or incomplete"};
  const std::string& how = parts[1];
  const bool incomplete = how == "incomplete";
  if (how != "recessive" && how != "dominant" && !incomplete) {
    throw Complaint{"an allele is recessive, dominant or incomplete, not \"" + how + "\""};
  }
  if (parts.size() != (incomplete ? 3 : 2)) {
    throw Complaint{incomplete ? "an incomplete dominant allele wants a name for the look of two copies"
                               : "too much after \"" + how + "\""};
  }
  if (locus.find_allele(parts[0])) throw Complaint{"there is an allele \"" + parts[0] + "\" already"};
  locus.alleles.push_back({.name = parts[0]});
  const auto index = static_cast<AlleleIndex>(locus.alleles.size() - 1);
  locus.pairs.resize(locus.pair_index(index, index) + 1);
  if (state_count(locus) > kMaxStates) throw Complaint{"too many alleles at one locus (64 genotypes are the limit)"};
  const std::uint8_t one = look_or_new(locus, parts[0]);
  define(locus, kWild, index, how == "recessive" ? std::uint8_t{0} : one, "");
  define(locus, index, index, incomplete ? look_or_new(locus, parts[2]) : one, incomplete ? parts[2] : "");
  allele_ = &locus.alleles.back();
  combination_ = nullptr;
  names_ = &allele_->also;
  source_ = &allele_->source;
}

AlleleIndex Reader::allele_named(const Locus& locus, const std::string& name) const {
  if (const auto found = locus.find_allele(name)) return *found;
  throw Complaint{"the locus \"" + locus.name + "\" has no allele \"" + name + "\""};
}

Pair& Reader::pair_of(Locus& locus, const std::vector<std::string>& parts) {
  return locus.pairs[locus.pair_index(allele_named(locus, parts[0]), allele_named(locus, parts[1]))];
}

void Reader::pair(const std::string& rest) {
  Locus& locus = in_locus("pair");
  const auto parts = split(rest, ',');
  if (parts.size() != 3 && parts.size() != 4) throw Complaint{"\"pair\" wants two alleles, a look and perhaps a name"};
  define(locus, allele_named(locus, parts[0]), allele_named(locus, parts[1]), look_or_new(locus, parts[2]),
         parts.size() == 4 ? parts[3] : "");
}

void Reader::lethal(const std::string& rest) {
  Locus& locus = in_locus("lethal");
  const auto parts = split(rest, ',');
  if (parts.size() != 2) throw Complaint{"\"lethal\" wants two alleles"};
  Pair& pair = pair_of(locus, parts);
  if (&pair == &locus.pairs[0]) throw Complaint{"the normal pair cannot be lethal"};
  pair.viable = false;
  source_ = &pair.harm_source;
  names_ = nullptr;
}

void Reader::harm(const std::string& rest) {
  if (combination_) {
    combination_->harm = rest;
    source_ = &combination_->source;
    return;
  }
  Locus& locus = in_locus("harm");
  const auto parts = split(rest, ',');
  if (parts.size() < 3) throw Complaint{"\"harm\" wants two alleles and what it does"};
  Pair& pair = pair_of(locus, parts);
  pair.harm = trimmed(rest.substr(rest.find(',', rest.find(',') + 1) + 1));
  source_ = &pair.harm_source;
  names_ = nullptr;
}

double Reader::chance_in(const std::string& text) {
  const auto chance = number_in(text);
  if (!chance || !(*chance >= 0 && *chance <= 1)) throw Complaint{"\"" + text + "\" is no chance from 0 to 1"};
  return *chance;
}

void Reader::mistaken(const std::string& rest) {
  Locus& locus = in_locus("mistaken");
  const auto parts = split(rest, ',');
  if (parts.size() != 3) throw Complaint{"\"mistaken\" wants two looks and a chance"};
  const auto is = locus.find_look(parts[0]);
  const auto called = locus.find_look(parts[1]);
  if (!is || !called) throw Complaint{"no look \"" + parts[is ? 1 : 0] + "\" above"};
  if (*is == *called) throw Complaint{"a look is not mistaken for itself"};
  locus.mistakes.push_back({*is, *called, chance_in(parts[2])});
  double all = 0;
  for (const Mistake& one : locus.mistakes) all += one.is == *is ? one.chance : 0;
  if (all > 1) throw Complaint{"the chances of mistaking \"" + parts[0] + "\" are over 1 together"};
}

Combination::Part Reader::look_anywhere(const std::string& name) const {
  const auto slash = name.find('/');
  const std::string locus_name = slash == std::string::npos ? "" : name.substr(0, slash);
  const std::string look_name = slash == std::string::npos ? name : name.substr(slash + 1);
  std::vector<Combination::Part> found;
  for (std::size_t i = 0; i < out_.species.loci.size(); ++i) {
    const Locus& locus = out_.species.loci[i];
    if (!locus_name.empty() && plain_name(locus.name) != plain_name(locus_name)) continue;
    const auto look = locus.find_look(look_name);
    if (look && *look != 0) found.push_back({static_cast<std::uint16_t>(i), *look});
  }
  if (found.empty()) throw Complaint{"no look \"" + name + "\" above"};
  if (found.size() > 1) throw Complaint{"two loci have the look \"" + name + "\": write LOCUS/LOOK"};
  return found.front();
}

void Reader::hides(const std::string& rest) {
  const auto parts = split(rest, ',');
  if (parts.size() != 2) throw Complaint{"\"hides\" wants the look that shows and the one that it hides"};
  const Combination::Part shows = look_anywhere(parts[0]);
  const Combination::Part hidden = look_anywhere(parts[1]);
  if (shows.locus == hidden.locus)
    throw Complaint{"\"hides\" is of looks of two loci; within one, `pair` says what two alleles look like together"};
  out_.species.hidings.push_back({shows, hidden, {}});
  forget_what_stands_above();
  source_ = &out_.species.hidings.back().source;
}

void Reader::combination(const std::string& rest) {
  const auto equals = rest.find('=');
  if (equals == std::string::npos) throw Complaint{"\"combination\" wants NAME = LOOK + LOOK"};
  Combination made{.name = trimmed(rest.substr(0, equals))};
  if (made.name.empty()) throw Complaint{"a combination without a name"};
  for (const std::string& part : split(rest.substr(equals + 1), '+')) made.parts.push_back(look_anywhere(part));
  out_.species.combinations.push_back(std::move(made));
  combination_ = &out_.species.combinations.back();
  names_ = nullptr;
  source_ = &combination_->source;
}

std::uint16_t Reader::locus_named(const std::string& name) const {
  if (const auto found = out_.species.find_locus(name)) return *found;
  throw Complaint{"no locus \"" + name + "\" above"};
}

AlleleRef Reader::allele_anywhere(const std::string& name) const {
  const std::vector<AlleleRef> found = alleles_named(out_.species, name);
  if (found.empty()) throw Complaint{"no allele \"" + name + "\" above"};
  if (found.size() > 1) throw Complaint{"two loci have an allele \"" + name + "\": write LOCUS/ALLELE"};
  return found.front();
}

void Reader::found(std::string sentence, bool of_its_own) {
  if (out_.species.findings.size() == out_.species.findings.capacity()) throw Complaint{"over 4096 merges and splits"};
  out_.species.findings.push_back({std::move(sentence), {}});
  if (of_its_own) groups_.push_back({number_, out_.species.findings.size() - 1});
  forget_what_stands_above();
  source_ = &out_.species.findings.back().source;
}

/// What is pointed to may move.
void Reader::forget_what_stands_above() {
  source_ = nullptr;
  names_ = nullptr;
  allele_ = nullptr;
  combination_ = nullptr;
}

void Reader::merge(const std::string& rest) {
  const auto parts = split(rest, ',');
  if (parts.size() != 2) throw Complaint{"\"merge\" wants two loci, separated by a comma"};
  forget_what_stands_above();
  const std::uint16_t first = locus_named(parts[0]);
  const std::uint16_t second = locus_named(parts[1]);
  complain_of(merge_loci(out_.species, first, second));
  locus_lines_.erase(locus_lines_.begin() + second);
  locus_ = first < second ? first : first - 1U;
  found(parts[1] + " is the locus " + out_.species.loci[locus_].name, true);
  groups_.back().may_grow = true;
}

/// Where both are known and one of them at another locus: which line has to stand before `same`.
std::string Reader::want_merge(const Locus& here, const std::string& first, const std::string& second) const {
  if (here.find_allele(first) && here.find_allele(second)) return {};
  const auto one = out_.species.find_allele(first);
  const auto other = out_.species.find_allele(second);
  if (one.size() != 1 || other.size() != 1) return {};
  const std::string& of_one = out_.species.loci[one.front().locus].name;
  const std::string& of_other = out_.species.loci[other.front().locus].name;
  const std::string below = "\"same " + first + ", " + second + "\" stands below ";
  if (of_one == of_other) return below + "the locus that has both: put it below \"locus " + of_one + "\"";
  return below + "the line that makes their loci one: put it below \"merge " + of_one + ", " + of_other + "\"";
}

void Reader::same(const std::string& rest) {
  Locus& locus = in_locus("same");
  const auto parts = split(rest, ',');
  if (parts.size() != 2) throw Complaint{"\"same\" wants two alleles, separated by a comma"};
  forget_what_stands_above();
  if (const std::string hint = want_merge(locus, parts[0], parts[1]); !hint.empty()) throw Complaint{hint};
  const AlleleIndex stays = allele_named(locus, parts[0]);
  const AlleleIndex goes = allele_named(locus, parts[1]);
  const std::string name = locus.alleles[stays].name;
  complain_of(fold_alleles(out_.species, static_cast<std::uint16_t>(locus_), stays, goes));
  const bool below_a_merge = !groups_.empty() && groups_.back().may_grow;
  found(parts[1] + " is another name of " + name, !below_a_merge);
  groups_.back().may_grow = true;
}

void Reader::split_name(const std::string& rest) {
  const auto equals = rest.find('=');
  const std::string name = trimmed(rest.substr(0, equals));
  const auto parts = equals == std::string::npos ? std::vector<std::string>() : split(rest.substr(equals + 1), ',');
  if (name.empty() || parts.size() < 2) throw Complaint{"\"split\" wants NAME = ALLELE, ALLELE"};
  std::vector<AlleleRef> alleles;
  for (const std::string& part : parts) alleles.push_back(allele_anywhere(part));
  std::string all;
  for (const AlleleRef& one : alleles) {
    const auto at_locus = [&](const AlleleRef& other) { return other.locus == one.locus; };
    if (std::count_if(alleles.begin(), alleles.end(), at_locus) > 1)
      throw Complaint{"two of these are alleles of the locus \"" + out_.species.loci[one.locus].name +
                      "\"; a name is split over different loci"};
    Locus& locus = out_.species.loci[one.locus];
    Allele& allele = locus.alleles[one.allele];
    all += (all.empty() ? "" : " or ") + locus.name + "/" + allele.name;
    if (locus.find_allele(name) != one.allele) allele.also.push_back(name);
  }
  for (const AlleleRef& one : out_.species.find_allele(name)) {
    if (std::find(alleles.begin(), alleles.end(), one) != alleles.end()) continue;
    throw Complaint{"\"" + name + "\" is also a name at the locus \"" + out_.species.loci[one.locus].name +
                    "\": name that allele too, or take the name from it"};
  }
  found(name + " is " + all, true);
}

/// A name of two alleles at one locus would be read as the first of them.
void Reader::finish_names(const Locus& locus, unsigned line) {
  std::map<std::string, std::size_t> known;
  for (std::size_t i = 0; i < locus.alleles.size(); ++i) {
    std::vector<std::string> names = locus.alleles[i].also;
    names.push_back(locus.alleles[i].name);
    for (const std::string& name : names) {
      const auto [at, fresh] = known.emplace(plain_name(name), i);
      if (fresh || at->second == i) continue;
      fail(line, "the locus \"" + locus.name + "\" has two alleles called \"" + name +
                     "\"; take the name from one, or "
                     "write \"same\" where they are one");
    }
  }
}

void Reader::finish_locus(const Locus& locus, unsigned line) {
  const std::string where = "the locus \"" + locus.name + "\" ";
  if (locus.alleles.size() < 2) fail(line, where + "has no allele but normal");
  if (locus.source.kind == Source::Kind::none) fail(line, where + "gives no source; write source, practice or memory");
  for (std::size_t b = 0; b < locus.alleles.size(); ++b) {
    for (std::size_t a = 0; a <= b; ++a) {
      if (locus.pair(static_cast<AlleleIndex>(a), static_cast<AlleleIndex>(b)).defined) continue;
      fail(line, where + "does not say what " + locus.alleles[a].name + " and " + locus.alleles[b].name +
                     " look like together; add \"pair " + locus.alleles[a].name + ", " + locus.alleles[b].name +
                     ", LOOK\"");
    }
  }
  finish_names(locus, line);
  double all = 0;
  for (const Allele& one : locus.alleles) all += one.frequency;
  if (all > 1) fail(line, where + "has frequencies over 1 together");
}

void Reader::finish_group(const Group& group, std::size_t end) {
  auto& all = out_.species.findings;
  Source given;
  for (std::size_t i = group.first; i < end; ++i) {
    if (all[i].source.kind != Source::Kind::none) given = all[i].source;
  }
  if (given.kind == Source::Kind::none)
    fail(group.line, "\"" + all[group.first].sentence + "\" gives no source; write source, practice or memory");
  for (std::size_t i = group.first; i < end; ++i) {
    if (all[i].source.kind == Source::Kind::none) all[i].source = given;
  }
}

void Reader::finish() {
  Species& species = out_.species;
  if (species.name.empty()) fail(1, "no line names the species");
  for (std::size_t i = 0; i < species.loci.size(); ++i) {
    finish_locus(species.loci[i], locus_lines_[i]);
    species.loci[i].alleles.shrink_to_fit();
  }
  for (std::size_t i = 0; i < groups_.size(); ++i)
    finish_group(groups_[i], i + 1 < groups_.size() ? groups_[i + 1].first : species.findings.size());
}

}  // namespace

CatalogueRead read_catalogue(std::string_view text) {
  return Reader().read(text);
}

}  // namespace rackside::core::genetics
