#pragma once

#include <array>
#include <cstdint>
#include <mutex>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "sync/join/code.h"
#include "sync/join/roles.h"
#include "sync/join/store.h"

namespace rackside::sync::join {

using Token = std::array<std::uint8_t, 32>;  ///< 256 bits

inline constexpr std::int64_t kInvitationMs = 10 * 60 * 1000;
inline constexpr int kTries = 5;

/// True when both are equal; takes as long whether they differ early or late.
bool equal_in_constant_time(core::ByteSpan left, core::ByteSpan right);

/// Hands out the right to join, and knows who has. All times are ms since 1970-01-01 UTC by the hub's clock; randomness
/// is passed in and must come from core::fill_random. Thread: safe from several.
class Desk {
 public:
  explicit Desk(Store& store) : store_(store) {}

  /// Opens a join code with a fresh `secret`. Several may be open at once.
  Invitation invite(Role role, const std::string& label, const Secret& secret, std::int64_t now_ms);
  /// The open ones; those that have expired are forgotten.
  std::vector<Invitation> open_invitations(std::int64_t now_ms);
  void close_invitations();

  struct Joined {
    std::string token;  ///< 64 hex digits: shown to the device once, kept by it
    Role role = Role::helper;
    std::string label;
  };
  /// Uses a secret up, once, and gives `token` to the device; earlier tokens of that device end, so that a device whose
  /// answer was lost on the way simply joins again. Empty for a secret that is wrong, used, too old or tried too often:
  /// which one it was is nobody's business (kJoinRefused is the text for all). A wrong secret counts as a try against
  /// every open code, from whatever address: after five the code is closed.
  /// REQUIRES: `device` has shown that it holds its key, by a signature over the request.
  std::optional<Joined> redeem(const Secret& secret, const std::string& device, const Token& token,
                               std::int64_t now_ms);

  /// Who holds this token; empty for a wrong or a revoked one.
  std::optional<DeviceToken> check(std::string_view token_text);

  std::vector<DeviceToken> devices();
  enum class Revoked { done, unknown_device };
  /// Ends every token of the device from now on.
  Revoked revoke(const std::string& device, std::int64_t now_ms);

 private:
  void count_wrong_try();
  Revoked end_tokens_of(const std::string& device, std::int64_t now_ms);

  Store& store_;
  std::mutex mutex_;
};

inline constexpr std::string_view kJoinRefused =
    "This join code is wrong, used up or older than ten minutes. Ask for a new one at the hub.";

}  // namespace rackside::sync::join
