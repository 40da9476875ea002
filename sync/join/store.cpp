#include "sync/join/store.h"

#include <algorithm>
#include <iterator>

namespace rackside::sync::join {

void MemoryStore::atomically(const std::function<void()>& work) {
  const auto invitations = invitations_;
  const auto tokens = tokens_;
  try {
    work();
  } catch (...) {
    invitations_ = invitations;
    tokens_ = tokens;
    throw;
  }
}

void MemoryStore::put(const Invitation& invitation) {
  remove_invitation(invitation.secret_hash);
  invitations_.push_back(invitation);
}

void MemoryStore::remove_invitation(const core::Hash& secret_hash) {
  std::erase_if(invitations_, [&](const Invitation& entry) { return entry.secret_hash == secret_hash; });
}

std::vector<DeviceToken> MemoryStore::tokens_starting(const std::array<std::uint8_t, 8>& prefix) {
  std::vector<DeviceToken> out;
  std::copy_if(tokens_.begin(), tokens_.end(), std::back_inserter(out), [&](const DeviceToken& token) {
    return std::equal(prefix.begin(), prefix.end(), token.token_hash.begin());
  });
  return out;
}

void MemoryStore::put(const DeviceToken& token) {
  const auto same = [&](const DeviceToken& entry) { return entry.token_hash == token.token_hash; };
  const auto found = std::find_if(tokens_.begin(), tokens_.end(), same);
  if (found == tokens_.end())
    tokens_.push_back(token);
  else
    *found = token;
}

}  // namespace rackside::sync::join
