// What keepers do, and what befalls everybody.
#include <array>

#include "tests/simulation/player.h"
#include "tests/support/world.h"

namespace rackside::simulation {

using namespace core;

void Player::play(const std::vector<Action>& actions) {
  for (const Action& action : actions) {
    fleet_.require_hub();
    try {
      play_one(action);
    } catch (const Error& error) {
      // Entry turns down what names nobody, a keeper's command what makes no sense: nothing was written then.
      if (error.fault() != Fault::usage) fleet_.complain(to_text({fleet_.setup(), {action}}) + error.what());
    }
  }
}

void Player::play_one(const Action& action) {
  if (action.what == What::pass) {
    fleet_.now += action.a * kMinute;
    return;
  }
  if (action.what == What::late) return fleet_.deliver_late(action.a);
  Machine& machine = fleet_.machine(action.who);
  if (!machine.book) return;
  switch (action.what) {
    case What::entry:
      return enter(machine, action);
    case What::rest:
      return close_offers(machine, action);
    case What::undo:
      return undo(machine);
    case What::withdraw:
      return withdraw(machine, action);
    case What::restore:
      return restore(machine, action);
    case What::settle:
      return settle(machine, action);
    case What::edit:
      return edit(machine, action);
    case What::enlist:
      return enlist(machine, action);
    case What::swap:
      return swap(machine, action);
    case What::odd:
      return be_odd(machine, action);
    case What::setting:
      return change_setting(fleet_.keeper(action.who), action);
    case What::code:
      return join_code(fleet_.keeper(action.who), action);
    case What::sync:
      return fleet_.exchange(machine, fleet_.machine(action.a), action.b, static_cast<std::uint64_t>(action.c));
    case What::clock:
      return upset_clock(machine, action.a);
    case What::restart:
      return fleet_.restart(machine);
    case What::join:
      return fleet_.join(fleet_.keeper(action.who), action.a % 2 ? Sort::phone : Sort::laptop);
    case What::role:
      return give_role(fleet_.keeper(action.who), action);
    case What::retire:
      return retire(fleet_.keeper(action.who), action);
    case What::lose:
      return fleet_.lose(machine);
    case What::backup:
      return fleet_.back_up(machine);
    case What::revert:
      return fleet_.revert(machine);
    case What::fork:
      return fleet_.fork(machine);
    case What::tidy:
      return fleet_.tidy(machine);
    case What::fault:
      return machine.disk->arm(action.a % 200, static_cast<DiskFault>(action.b % kDiskFaults),
                               static_cast<std::uint64_t>(action.c));
    default:
      return;
  }
}

void Player::change_setting(Machine& machine, const Action& action) {
  Value::Object own{{"key", "night_start"}, {"value", 600 + action.b % 8 * 30}};
  if (action.a % 4 == 0) {
    own = {{"key", "zone"}, {"value", Value::Array{Value::Object{{"from", 0}, {"minutes", 60 + action.b % 4 * 30}}}}};
  }
  if (action.c % 2) own.emplace_back("from", fleet_.now + action.c % 5 * kDay);
  fleet_.record(machine, {{.kind = Kind::set, .own = std::move(own)}});
}

void Player::join_code(Machine& machine, const Action& action) {
  const bool places = action.c % 4 == 0;
  fleet_.record(machine, {{.kind = Kind::coded,
                           .of = {places ? fleet_.place(action.a) : fleet_.animal(action.a)},
                           .own = Value::Object{{"code", places ? fleet_.place(action.b) : fleet_.animal(action.b)}}}});
}

void Player::give_role(Machine& machine, const Action& action) {
  static constexpr std::array kRoles = {"helper", "keeper", "helper", "viewer"};
  const Machine& other = fleet_.machine(action.a);
  Value::Object own{{"device", to_hex(other.device)}, {"role", kRoles[static_cast<std::size_t>(action.b) % 4]}};
  if (action.c % 2) own.emplace_back("from", action.c % 90);
  if (action.c % 7 == 3) own.emplace_back("clock", true);
  if (action.c % 7 == 5)  // any device may hand on what it is
    return fleet_.record(fleet_.machine(action.who), {{.kind = Kind::succeeded, .own = std::move(own)}});
  fleet_.record(machine, {{.kind = Kind::admitted, .own = std::move(own)}});
}

/// Names the newest event of the device that this keeper holds, or one before it.
void Player::retire(Machine& machine, const Action& action) {
  const Machine& other = fleet_.machine(action.a);
  Draft draft{.kind = Kind::retired, .own = Value::Object{{"device", to_hex(other.device)}}};
  LogStore& log = machine.book->log();
  if (const auto row = log.find_device(other.device)) {
    const auto branches = log.branches_of(*row);
    if (branches.empty()) return;
    const Branch& branch = *branches[static_cast<std::size_t>(action.c) % branches.size()];
    const auto less = std::min<std::uint32_t>(static_cast<std::uint32_t>(action.b), branch.head_seq - 1);
    draft.re = {{log.ref_of(log.row_on_line(branch.id, branch.head_seq - less)), Relation::saw}};
  }
  fleet_.record(machine, {draft});
}

void Player::upset_clock(Machine& machine, int way) {
  constexpr Instant k2001 = 978'307'200'000;
  constexpr Instant k2030 = 1'893'456'000'000;
  const Instant now = fleet_.now;
  switch (way % 12) {
    case 0:
      machine.clock_error_ms = 0;
      return;
    case 1:
      machine.clock_error_ms = kHour;
      return;
    case 2:
      machine.clock_error_ms = -kHour;
      return;
    case 3:
      machine.clock_error_ms = kDay;
      return;
    case 4:
      machine.clock_error_ms = -kDay;
      return;
    case 5:
      machine.clock_error_ms = k2001 - now;
      return;
    case 6:
      machine.clock_error_ms = k2030 - now;
      return;
    case 7:  // set back during the day
      machine.clock_error_ms -= 3 * kHour;
      return;
    case 8:  // another zone
      machine.clock_error_ms += 5 * kHour + 30 * kMinute;
      return;
    case 9:  // a phone's timer stops while it sleeps
      machine.asleep_ms += 7 * kHour;
      return;
    case 10:
      machine.asleep_ms += 2 * kDay;
      return;
    default:  // drifts
      machine.clock_error_ms += 40'000;
  }
}

}  // namespace rackside::simulation
