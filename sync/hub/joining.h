#pragma once

#include <string>

#include "core/book/book.h"
#include "sync/http/client.h"
#include "sync/hub/link.h"
#include "sync/join/code.h"
#include "sync/join/roles.h"

namespace rackside::sync::hub {

// The one request that needs no token: POST /v1/join. Source: sync/PROTOCOL.md, section 6.

struct JoinRequest {
  join::Secret secret{};
  core::PublicKey key{};
  std::string name;  ///< of the device, for people
  core::Signature signature{};
};
std::string to_text(const JoinRequest& request);
/// Errors: protocol, too_large.
JoinRequest join_request_from_text(std::string_view text);
/// What the device signs to show that it holds its key.
std::string join_message(const join::Secret& secret, const core::PublicKey& key, const std::string& name);
/// Whether the signature under the request is the key's.
bool holds_its_key(const JoinRequest& request);

struct JoinAnswer {
  core::CollectionId collection{};
  core::DeviceId hub_device{};
  std::string hub_name;
  std::string token;
  join::Role role = join::Role::helper;
  std::string by;  ///< code of the person who will use the device; empty when the invitation named none
};
std::string to_text(const JoinAnswer& answer);
/// Errors: protocol; the Error that an error line states.
JoinAnswer join_answer_from_text(std::string_view text);

/// A client that trusts this hub and no other, and shows the token. Errors: bad_input.
http::Client client_of(const HubLink& link);

/// Joins a hub: sends the key's public half to the hub that the code pins, and to no other.
/// Errors: other_hub, expired_code, unreachable, not_allowed, bad_input.
struct Joined {
  JoinAnswer answer;
  HubLink link;
};
Joined ask_to_join(const std::string& url, const join::JoinCode& code, const core::KeyPair& key,
                   const std::string& name);

/// Makes the book of a device that has joined, whole or not at all: under a temporary name first.
/// Errors: book_exists, disk_full, disk_fault.
void make_joined_book(const std::string& path, const Joined& joined, const core::KeyPair& key,
                      const core::ClockReading& now);

}  // namespace rackside::sync::hub
