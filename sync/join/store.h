#pragma once

#include <array>
#include <cstdint>
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "core/base/bytes.h"
#include "sync/join/roles.h"

namespace rackside::sync::join {

/// An open join code. Only the hash of its secret is kept.
struct Invitation {
  core::Hash secret_hash{};
  Role role = Role::helper;
  std::string label;  ///< whom or what it is for, "Robin's phone"
  std::int64_t expires_ms = 0;
  int tries_left = 0;
};

/// A device that has joined. Only the hash of its token is kept.
struct DeviceToken {
  core::Hash token_hash{};
  std::string device;  ///< its DeviceId, 16 hex digits
  Role role = Role::helper;
  std::string label;
  std::int64_t issued_ms = 0;
  std::optional<std::int64_t> revoked_ms;
};

/// Where the desk keeps them. Local to one hub: these are no events and are never synced. Durable before a call
/// returns. As tables:
///
///     CREATE TABLE join_invitation (
///       secret_hash BLOB PRIMARY KEY CHECK (length(secret_hash) = 32),
///       role        TEXT NOT NULL CHECK (role IN ('keeper', 'helper', 'viewer')),
///       label       TEXT NOT NULL,
///       expires_ms  INTEGER NOT NULL,   -- ms since 1970-01-01 UTC
///       tries_left  INTEGER NOT NULL
///     ) STRICT, WITHOUT ROWID;
///     CREATE TABLE device_token (
///       token_hash  BLOB PRIMARY KEY CHECK (length(token_hash) = 32),
///       device      TEXT NOT NULL,      -- 16 hex digits
///       role        TEXT NOT NULL CHECK (role IN ('keeper', 'helper', 'viewer')),
///       label       TEXT NOT NULL,
///       issued_ms   INTEGER NOT NULL,
///       revoked_ms  INTEGER
///     ) STRICT, WITHOUT ROWID;
///
/// Errors: those of the storage.
class Store {
 public:
  virtual ~Store() = default;
  /// Runs `work` in one transaction that no other writer comes between: all of its changes or none.
  virtual void atomically(const std::function<void()>& work) = 0;

  virtual std::vector<Invitation> invitations() = 0;
  virtual void put(const Invitation& invitation) = 0;  ///< inserts, or replaces the one of the same hash
  virtual void remove_invitation(const core::Hash& secret_hash) = 0;

  virtual std::vector<DeviceToken> tokens() = 0;
  /// Those whose hash starts with these eight bytes: none or one in practice. (The table's key serves it:
  /// `token_hash >= prefix AND token_hash < the next prefix`.)
  virtual std::vector<DeviceToken> tokens_starting(const std::array<std::uint8_t, 8>& prefix) = 0;
  virtual void put(const DeviceToken& token) = 0;  ///< inserts, or replaces the one of the same hash
};

/// Keeps them for as long as it lives; for tests. Thread: its desk locks.
class MemoryStore : public Store {
 public:
  void atomically(const std::function<void()>& work) override;
  std::vector<Invitation> invitations() override { return invitations_; }
  void put(const Invitation& invitation) override;
  void remove_invitation(const core::Hash& secret_hash) override;
  std::vector<DeviceToken> tokens() override { return tokens_; }
  std::vector<DeviceToken> tokens_starting(const std::array<std::uint8_t, 8>& prefix) override;
  void put(const DeviceToken& token) override;

 private:
  std::vector<Invitation> invitations_;
  std::vector<DeviceToken> tokens_;
};

}  // namespace rackside::sync::join
