#include "core/fold/binding.h"

#include <algorithm>

namespace rackside::core {
namespace {

bool contains(const std::vector<Thing>& all, Thing one) {
  return std::find(all.begin(), all.end(), one) != all.end();
}

/// Of several that were there, the one whom the screen showed; nobody when that does not single one out.
std::optional<Thing> only_one(const std::vector<Thing>& there, const std::vector<Thing>& shown) {
  if (there.size() == 1) return there.front();
  std::optional<Thing> found;
  for (Thing one : there) {
    if (!contains(shown, one)) continue;
    if (found) return std::nullopt;
    found = one;
  }
  return found;
}

std::vector<Thing> all_of_them(const PlaceScan& scan) {
  std::vector<Thing> all = scan.there;
  all.insert(all.end(), scan.shown.begin(), scan.shown.end());
  std::sort(all.begin(), all.end());
  all.erase(std::unique(all.begin(), all.end()), all.end());
  return all;
}

Binding bind_doubtful(const PlaceScan& scan, std::optional<Thing> target, Rebinding kind) {
  Binding binding;
  if (target) binding.bound = {*target};
  if (kind == Rebinding::silent) {
    binding.how = Binding::How::silent;
  } else if (kind == Rebinding::notice && target) {
    binding.how = Binding::How::notice;
  } else {
    binding.how = Binding::How::question;
    binding.candidates = all_of_them(scan);
    binding.bound = kind == Rebinding::both ? binding.candidates : std::vector<Thing>{};
  }
  return binding;
}

}  // namespace

Binding bind_scan(const PlaceScan& scan) {
  const Rebinding kind = info_of(scan.account.kind).rebinding;
  if (kind == Rebinding::never) return {};
  if (!scan.account.sure) {
    if (scan.shown.size() == 1) return {.bound = scan.shown};
    return scan.shown.empty() ? Binding{} : bind_doubtful(scan, std::nullopt, kind);
  }
  const std::optional<Thing> target = only_one(scan.there, scan.shown);
  const bool other_shown = !scan.shown.empty() && (!target || !contains(scan.shown, *target));
  const bool nobody_singled_out = !target && !scan.there.empty();
  if (other_shown || scan.unnamed_move_nearby || nobody_singled_out) return bind_doubtful(scan, target, kind);
  Binding binding;
  if (target) binding.bound = {*target};
  return binding;
}

}  // namespace rackside::core
