#pragma once

#include "core/entry/compose.h"
#include "core/read/reader.h"
#include "tests/simulation/fleet.h"

namespace rackside::simulation {

/// Plays a script. What people do they do by the screens of their own book, with the product's own entry: so an answer
/// names what was shown, and a helper without Wi-Fi answers what is stale. Depends on nothing but the script.
class Player {
 public:
  explicit Player(const Script& script) : fleet_(script.setup) {}
  void play(const std::vector<Action>& actions);
  Fleet& fleet() { return fleet_; }

 private:
  void play_one(const Action& action);

  // player_entries.cpp: what helpers do
  void enter(Machine& machine, const Action& action);
  std::string with_codes(const std::string& text) const;
  void close_offers(Machine& machine, const Action& action);
  void undo(Machine& machine);
  void withdraw(Machine& machine, const Action& action);
  void restore(Machine& machine, const Action& action);
  void settle(Machine& machine, const Action& action);
  void edit(Machine& machine, const Action& action);
  void enlist(Machine& machine, const Action& action);
  void swap(Machine& machine, const Action& action);
  void be_odd(Machine& machine, const Action& action);
  core::EventRef recent(int back) const;

  // player_affairs.cpp: keepers, clocks, disasters
  void change_setting(Machine& machine, const Action& action);
  void join_code(Machine& machine, const Action& action);
  void give_role(Machine& machine, const Action& action);
  void retire(Machine& machine, const Action& action);
  void upset_clock(Machine& machine, int way);

  Fleet fleet_;
};

}  // namespace rackside::simulation
