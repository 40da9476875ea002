#pragma once

#include "cli/session.h"

// An invented year of an invented snake room, for trying the program out.
namespace rackside::cli {

struct DemoSeason {
  unsigned seed = 1;
  int adults = 120;
};

/// Writes the year that ends today into a book that has no animals yet: racks, helpers, adults of two species, meals,
/// sheds, weighings, pairings, clutches and hatchlings, a correction, a treatment, deaths and sales. The same seed
/// gives the same year (codes are drawn anew). Everything is said with its day and time, as if it had been entered
/// late. Errors: bad_input where the book holds animals.
void play_season(Session& session, const DemoSeason& options);

}  // namespace rackside::cli
