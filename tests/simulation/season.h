#pragma once

#include "tests/simulation/fleet.h"

namespace rackside::simulation {

/// A season as most are: nothing breaks but the Wi-Fi. A keeper at the desk and helpers with phones feed every few
/// evenings, each his racks, with second servings and food that is left overnight; they clean, weigh, pair and part,
/// note sheds, move a tub now and then. How often things happen is our own judgement of an ordinary room (no source).
Script ordinary_season(std::uint64_t seed);

/// How much a keeper is asked.
struct QuestionRate {
  std::size_t events = 0;
  std::map<std::string, std::size_t> by_rule;  ///< alike ones of one rule, rack and night are one
  std::size_t questions() const;
  double per_hundred() const;
};
/// Of what a book has asked: questions still open, and those that were settled.
QuestionRate questions_of(core::Book& book, std::size_t events);

}  // namespace rackside::simulation
