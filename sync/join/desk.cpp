#include "sync/join/desk.h"

#include <algorithm>

#include "core/crypto/sha256.h"

namespace rackside::sync::join {
namespace {

std::array<std::uint8_t, 8> prefix_of(const core::Hash& hash) {
  std::array<std::uint8_t, 8> out{};
  std::copy_n(hash.begin(), out.size(), out.begin());
  return out;
}

bool is_open(const Invitation& invitation, std::int64_t now_ms) {
  // A clock that was set back must not keep a code open for longer than it was meant to be.
  const bool begun = now_ms >= invitation.expires_ms - kInvitationMs;
  return begun && now_ms < invitation.expires_ms && invitation.tries_left > 0;
}

}  // namespace

bool equal_in_constant_time(core::ByteSpan left, core::ByteSpan right) {
  if (left.size() != right.size()) return false;
  volatile std::uint8_t difference = 0;  // volatile: the compiler may not stop at the first one
  for (std::size_t i = 0; i < left.size(); ++i) difference = difference | (left[i] ^ right[i]);
  return difference == 0;
}

Invitation Desk::invite(Role role, const std::string& label, const Secret& secret, std::int64_t now_ms) {
  const std::lock_guard lock(mutex_);
  Invitation out{core::sha256(secret), role, label, now_ms + kInvitationMs, kTries};
  store_.atomically([&] { store_.put(out); });
  return out;
}

std::vector<Invitation> Desk::open_invitations(std::int64_t now_ms) {
  const std::lock_guard lock(mutex_);
  std::vector<Invitation> out;
  store_.atomically([&] {
    out.clear();
    for (const Invitation& invitation : store_.invitations()) {
      if (is_open(invitation, now_ms))
        out.push_back(invitation);
      else
        store_.remove_invitation(invitation.secret_hash);
    }
  });
  return out;
}

void Desk::close_invitations() {
  const std::lock_guard lock(mutex_);
  store_.atomically([&] {
    for (const Invitation& invitation : store_.invitations()) store_.remove_invitation(invitation.secret_hash);
  });
}

std::optional<Desk::Joined> Desk::redeem(const Secret& secret, const std::string& device, const Token& token,
                                         std::int64_t now_ms) {
  const std::lock_guard lock(mutex_);
  const core::Hash wanted = core::sha256(secret);
  std::optional<Joined> out;
  store_.atomically([&] {
    out.reset();
    std::optional<Invitation> found;
    for (const Invitation& invitation : store_.invitations())
      if (equal_in_constant_time(invitation.secret_hash, wanted)) found = invitation;
    if (!found) return count_wrong_try();
    store_.remove_invitation(found->secret_hash);  // used up or too old: gone either way
    if (!is_open(*found, now_ms)) return;
    end_tokens_of(device, now_ms);
    const std::string text = core::to_hex(token);
    store_.put(
        DeviceToken{core::sha256(core::as_bytes(text)), device, found->role, found->label, now_ms, std::nullopt});
    out = Joined{text, found->role, found->label};
  });
  return out;
}

void Desk::count_wrong_try() {
  for (Invitation invitation : store_.invitations()) {
    if (--invitation.tries_left > 0)
      store_.put(invitation);
    else
      store_.remove_invitation(invitation.secret_hash);
  }
}

std::optional<DeviceToken> Desk::check(std::string_view token_text) {
  const core::Hash wanted = core::sha256(core::as_bytes(token_text));
  const std::lock_guard lock(mutex_);
  for (const DeviceToken& token : store_.tokens_starting(prefix_of(wanted)))
    if (equal_in_constant_time(token.token_hash, wanted) && !token.revoked_ms) return token;
  return std::nullopt;
}

std::vector<DeviceToken> Desk::devices() {
  const std::lock_guard lock(mutex_);
  return store_.tokens();
}

Desk::Revoked Desk::revoke(const std::string& device, std::int64_t now_ms) {
  const std::lock_guard lock(mutex_);
  Revoked out = Revoked::unknown_device;
  store_.atomically([&] { out = end_tokens_of(device, now_ms); });
  return out;
}

Desk::Revoked Desk::end_tokens_of(const std::string& device, std::int64_t now_ms) {
  Revoked out = Revoked::unknown_device;
  for (DeviceToken token : store_.tokens()) {
    if (token.device != device) continue;
    out = Revoked::done;
    if (token.revoked_ms) continue;
    token.revoked_ms = now_ms;
    store_.put(token);
  }
  return out;
}

}  // namespace rackside::sync::join
