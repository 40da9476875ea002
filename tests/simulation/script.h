#pragma once

#include <cstdint>
#include <string>
#include <vector>

namespace rackside::simulation {

/// Everything that can happen in a simulated collection. Its word in scripts stands in script.cpp.
enum class What : std::uint8_t {
  pass,   ///< `a` minutes go by
  entry,  ///< `who` scans thing `a` (`b`: 0 the animal's card, 1 the place) and types `text`; `c` chooses the answers
  rest,   ///< `who` says that the rest of rack `a` ate
  undo,   ///< `who` takes back his newest entry
  withdraw,  ///< `who` withdraws the `b`-th newest entry of animal `a`
  restore,   ///< `who` restores the `b`-th newest withdrawn entry of animal `a`
  settle,    ///< `who` answers the `a`-th question with its `b`-th answer; `c`: how completely he names
  edit,      ///< `who` edits field `b` of animal `a`; `c` the value, and whether his form was stale
  enlist,    ///< `who` registers animal `a`, perhaps again
  swap,      ///< `who` lets animals `a` and `b` change places
  odd,       ///< `who` writes an event of kind `a` about thing `b` that no screen would make; `c` its details
  setting,   ///< keeper `who` changes setting `a` to its `b`-th value
  code,      ///< keeper `who` joins a further code `b` to animal `a`
  sync,      ///< `who` and `a` exchange over a network of roughness `b` percent; `c` seeds its faults
  late,      ///< what the network still holds back arrives: the `a`-th piece
  clock,     ///< the clock of `who` goes wrong in way `a`
  restart,   ///< the program of `who` starts anew
  join,      ///< keeper `who` admits a new device of sort `a`
  role,      ///< keeper `who` gives device `a` role `b`
  retire,    ///< keeper `who` retires device `a` up to its head as he knows it, less `b` events
  lose,      ///< device `who` is lost with all that only it held
  backup,    ///< `who` makes a backup of its book
  revert,    ///< `who` goes on from its backup
  fork,      ///< the backup of `who` comes to life beside it
  tidy,      ///< `who` moves its write-ahead log into its book
  fault,     ///< at its `a`-th storage step from now on the disk of `who` does `b`; `c` seeds what survives
};
constexpr std::size_t kWhats = static_cast<std::size_t>(What::fault) + 1;

struct Action {
  What what = What::pass;
  int who = 0;
  int a = 0;
  int b = 0;
  int c = 0;
  std::string text;
  bool operator==(const Action&) const = default;
};

enum class Sort : std::uint8_t { hub, laptop, phone };

/// The collection before anything happens. Device 0 is the hub; device 1 is a second keeper's.
struct Setup {
  std::vector<Sort> devices;
  int animals = 6;
  int places = 8;
  int racks = 1;
  bool clocks_change = false;  ///< the zone has daylight saving
  bool operator==(const Setup&) const = default;
};

/// All that a run depends on. Plain numbers that are taken modulo what there is, so that any part of a script plays.
struct Script {
  Setup setup;
  std::vector<Action> actions;
  bool operator==(const Script&) const = default;
};

/// One line for the setup, one an action: "entry 2 5 0 17 fed small-rat".
std::string to_text(const Script& script);
/// Throws std::runtime_error that names the line.
Script script_from_text(const std::string& text);

}  // namespace rackside::simulation
