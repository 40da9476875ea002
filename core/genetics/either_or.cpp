#include "core/genetics/either_or.h"

#include <algorithm>

namespace rackside::core::genetics {
namespace {

std::vector<Option> options_at(const Statement& statement, std::uint16_t locus) {
  std::vector<Option> out;
  std::copy_if(statement.options.begin(), statement.options.end(), std::back_inserter(out),
               [&](const Option& option) { return option.locus == locus; });
  return out;
}

/// A likelihood as what it is at least, whatever the genotype, and by how much of the rest each state has.
struct Graded {
  double least = 0;
  double most = 0;
  std::vector<double> share;  ///< 0 to 1, by state
};

/// What nobody could tell on this animal is as likely to be called normal as what is, and on the same scale.
Graded graded(const Species& species, const Statement& statement, std::span<const Option> options, const SpokenOf& at) {
  const auto plainly = likelihood(species, at.locus, *at.states, statement, options);
  const auto [least, most] = std::minmax_element(plainly.begin(), plainly.end());
  Graded out{*least, *most, likelihood(species, at.locus, *at.states, statement, options, at.hidden)};
  const double range = out.most - out.least;
  for (double& one : out.share) one = range > 0 ? (one - out.least) / range : out.most > 0;
  return out;
}

std::vector<double> rest_of(std::vector<double> shares) {
  for (double& one : shares) one = 1 - one;
  return shares;
}

/// What is said of copies of another gene says nothing here.
EitherOr of_copies(const Species& species, const Statement& statement, std::span<const SpokenOf> loci) {
  EitherOr out;
  out.chances.assign(loci.size(), 1 / static_cast<double>(loci.size()));
  for (std::size_t place = 0; place < loci.size(); ++place) {
    const SpokenOf& at = loci[place];
    const std::vector<double> nothing(at.states->size(), 1);
    out.says.emplace_back(loci.size(), nothing);
    out.says[place][place] =
        likelihood(species, at.locus, *at.states, statement, options_at(statement, at.locus), at.hidden);
  }
  return out;
}

/// What nobody can tell at `at` where the statement holds of `shown`: one of its looks there hides it.
SpokenOf beside(const Species& species, const Statement& statement, const SpokenOf& at, const SpokenOf& shown) {
  SpokenOf out = at;
  for (const Hiding& one : species.hidings) {
    const bool shows = std::any_of(statement.options.begin(), statement.options.end(), [&](const Option& option) {
      return option.locus == shown.locus && one.shows.locus == option.locus && one.shows.look == option.look;
    });
    if (shows && one.hidden.locus == at.locus) out.hidden.push_back(one.hidden.look);
  }
  return out;
}

/// Of looks one shows and the others do not. Under one name several may: the case is the first that does, so those
/// before it do not and those after it do not matter.
EitherOr of_looks(const Species& species, const Statement& statement, std::span<const SpokenOf> loci) {
  EitherOr out;
  double erred = 0;
  for (std::size_t place = 0; place < loci.size(); ++place) {
    const SpokenOf& at = loci[place];
    const Graded shows = graded(species, statement, options_at(statement, at.locus), at);
    const std::vector<double> nothing(at.states->size(), 1);
    auto& by_case = out.says.emplace_back(loci.size() + 1, nothing);
    for (std::size_t which = 0; which < loci.size(); ++which) {
      if (which == place) {
        by_case[which] = shows.share;
      } else if (!statement.one_name) {
        by_case[which] = graded(species, statement, {}, beside(species, statement, at, loci[which])).share;
      } else if (which > place) {
        by_case[which] = rest_of(shows.share);
      }
    }
    out.chances.push_back(shows.most - shows.least);
    erred += shows.least / static_cast<double>(loci.size());
  }
  out.chances.push_back(erred);
  // What fits no genotype at all is found out as such: every case has a locus that it rules out.
  const bool fits_nothing = std::all_of(out.chances.begin(), out.chances.end(), [](double one) { return one == 0; });
  if (fits_nothing) std::fill(out.chances.begin(), out.chances.end() - 1, 1);
  return out;
}

}  // namespace

EitherOr take_apart(const Species& species, const Statement& statement, std::span<const SpokenOf> loci) {
  return statement.says == Says::looks ? of_looks(species, statement, loci) : of_copies(species, statement, loci);
}

}  // namespace rackside::core::genetics
