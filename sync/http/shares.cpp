#include "sync/http/shares.h"

namespace rackside::sync::http {

Shares::Entry Shares::enter(const std::string& key) {
  if (total_ == all_) return Entry::refused;
  std::size_t& held = held_[key];
  if (held == each_) return Entry::refused;
  ++held;
  ++total_;
  return Entry::granted;
}

void Shares::leave(const std::string& key) {
  const auto found = held_.find(key);
  if (found == held_.end()) return;
  --total_;
  if (--found->second == 0) held_.erase(found);
}

}  // namespace rackside::sync::http
