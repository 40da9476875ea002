#include "sync/hub/book_store.h"

#include <algorithm>

namespace rackside::sync::hub {

using core::Hash;
using core::Statement;
using join::DeviceToken;
using join::Invitation;

namespace {

join::Role role_in(const Statement& row, int column) {
  const auto role = join::role_from_name(row.text(column));
  if (!role)
    throw core::Error(core::Fault::corrupt, "The book's table of devices holds an unknown role. Restore a backup.");
  return *role;
}

DeviceToken token_in(const Statement& row) {
  DeviceToken token{row.bytes<32>(0),         std::string(row.text(1)), role_in(row, 2),
                    std::string(row.text(3)), row.integer(4),           {}};
  if (!row.null(5)) token.revoked_ms = row.integer(5);
  return token;
}

constexpr const char* kTokensFrom =
    "SELECT token_hash, device, role, label, issued_ms, revoked_ms FROM device_token "
    "WHERE token_hash >= ? AND token_hash <= ? ORDER BY issued_ms, token_hash";

std::vector<DeviceToken> tokens_between(core::Book& book, const Hash& from, const Hash& to) {
  std::vector<DeviceToken> out;
  auto rows = book.database().prepare(kTokensFrom);
  rows.bind(from, to);
  while (rows.step()) out.push_back(token_in(rows));
  return out;
}

Hash filled(std::uint8_t byte) {
  Hash out{};
  out.fill(byte);
  return out;
}

}  // namespace

std::vector<Invitation> BookStore::invitations() {
  std::vector<Invitation> out;
  auto rows = book_.database().prepare(
      "SELECT secret_hash, role, label, expires_ms, tries_left FROM join_invitation ORDER BY expires_ms");
  while (rows.step()) {
    out.push_back({rows.bytes<32>(0), role_in(rows, 1), std::string(rows.text(2)), rows.integer(3),
                   static_cast<int>(rows.integer(4))});
  }
  return out;
}

void BookStore::put(const Invitation& invitation) {
  book_.database()
      .prepare(
          "INSERT OR REPLACE INTO join_invitation(secret_hash, role, label, expires_ms, tries_left) VALUES(?, ?, ?, ?, "
          "?)")
      .bind(invitation.secret_hash, role_name(invitation.role), invitation.label, invitation.expires_ms,
            invitation.tries_left)
      .run();
}

void BookStore::remove_invitation(const Hash& secret_hash) {
  book_.database().prepare("DELETE FROM join_invitation WHERE secret_hash = ?").bind(secret_hash).run();
}

std::vector<DeviceToken> BookStore::tokens() {
  return tokens_between(book_, filled(0), filled(0xff));
}

std::vector<DeviceToken> BookStore::tokens_starting(const std::array<std::uint8_t, 8>& prefix) {
  Hash from = filled(0);
  Hash to = filled(0xff);
  std::copy(prefix.begin(), prefix.end(), from.begin());
  std::copy(prefix.begin(), prefix.end(), to.begin());
  return tokens_between(book_, from, to);
}

void BookStore::put(const DeviceToken& token) {
  book_.database()
      .prepare(
          "INSERT OR REPLACE INTO device_token(token_hash, device, role, label, issued_ms, revoked_ms) "
          "VALUES(?, ?, ?, ?, ?, ?)")
      .bind(token.token_hash, token.device, role_name(token.role), token.label, token.issued_ms, token.revoked_ms)
      .run();
}

}  // namespace rackside::sync::hub
