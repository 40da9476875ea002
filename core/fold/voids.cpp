#include "core/fold/voids.h"

namespace rackside::core {
namespace {

bool has_authority(const Account& event, const Account& by, const Zone& zone) {
  if (!info_of(event.kind).grave) return true;
  return event.ref.device == by.ref.device && zone.day_of(event.observed) == zone.day_of(by.observed);
}

}  // namespace

VoidState void_state(const Account& event, const std::vector<Withdrawal>& withdrawals, const Zone& zone) {
  if (!info_of(event.kind).voidable) return VoidState::live;
  VoidState state = VoidState::live;
  for (const Withdrawal& one : withdrawals) {
    if (one.restored || one.withdrawn) continue;
    if (has_authority(event, one.by, zone)) return VoidState::gone;
    state = VoidState::disputed;
  }
  return state;
}

}  // namespace rackside::core
