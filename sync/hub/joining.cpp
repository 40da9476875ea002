#include "sync/hub/joining.h"

#include <stdio.h>

#include <filesystem>

#include "core/crypto/sha256.h"
#include "sync/files/whole_file.h"
#include "sync/protocol/lines.h"

namespace rackside::sync::hub {

using core::Book;
using core::Error;
using core::Fault;
using core::Value;

namespace {

constexpr int kLockWaitMs = 5'000;

std::string_view without_line_feed(std::string_view text) {
  if (text.ends_with('\n')) text.remove_suffix(1);
  return text;
}

http::Trust trust_of(const std::string& url, const std::string& authority) {
  if (http::parse_url(url).scheme == http::Url::Scheme::http) return http::NoPin{};
  return tls::PinnedAuthority{authority};
}

void remove_book(const std::string& path) {
  std::error_code ignored;
  for (const char* ending : {"", "-wal", "-shm", "-lock"}) std::filesystem::remove(path + ending, ignored);
}

}  // namespace

// ---- the request

std::string to_text(const JoinRequest& request) {
  return to_line(Value::Object{{"secret", core::to_hex(request.secret)},
                               {"key", core::to_hex(request.key)},
                               {"name", request.name},
                               {"sign", core::to_hex(request.signature)}});
}

JoinRequest join_request_from_text(std::string_view text) {
  const Value value = parse_line(without_line_feed(text));
  return {hex_member<16>(value, "secret"), hex_member<65>(value, "key"), std::string(value.text("name")),
          hex_member<64>(value, "sign")};
}

std::string join_message(const join::Secret& secret, const core::PublicKey& key, const std::string& name) {
  std::string message = "rackside join 1";
  message.push_back('\0');
  const core::Hash hash = core::sha256(secret);
  message.append(reinterpret_cast<const char*>(hash.data()), hash.size());
  message.append(reinterpret_cast<const char*>(key.data()), key.size());
  return message + name;
}

bool holds_its_key(const JoinRequest& request) {
  try {
    return core::Verifier(request.key)
        .verify(core::as_bytes(join_message(request.secret, request.key, request.name)), request.signature);
  } catch (const Error&) {
    return false;  // the point is not on the curve
  }
}

// ---- the answer

std::string to_text(const JoinAnswer& answer) {
  return to_line(Value::Object{{"collection", core::to_hex(answer.collection)},
                               {"hub", core::to_hex(answer.hub_device)},
                               {"name", answer.hub_name},
                               {"token", answer.token},
                               {"role", role_name(answer.role)},
                               {"by", answer.by}});
}

JoinAnswer join_answer_from_text(std::string_view text) {
  const Value value = parse_line(without_line_feed(text));
  throw_if_error(value);
  const auto role = join::role_from_name(value.text("role"));
  if (!role || value.text("token").size() != 64) bad_message("the answer to a joining is not complete");
  return {hex_member<16>(value, "collection"),
          hex_member<8>(value, "hub"),
          core::mend_text(value.text("name")),
          std::string(value.text("token")),
          *role,
          std::string(value.text("by"))};
}

http::Client client_of(const HubLink& link) {
  http::Client client(http::parse_url(link.url), trust_of(link.url, link.authority));
  client.use_token(link.token);
  return client;
}

// ---- joining

Joined ask_to_join(const std::string& url, const join::JoinCode& code, const core::KeyPair& key,
                   const std::string& name) {
  const http::Url where = http::parse_url(url);
  http::Trust trust = http::NoPin{};
  if (where.scheme == http::Url::Scheme::https) {
    trust = tls::PinnedFingerprint{std::vector<std::uint8_t>(code.pin.begin(), code.pin.end())};
  }
  JoinRequest request{code.secret, key.public_key(), core::mend_text(name), {}};
  request.signature = key.sign(core::as_bytes(join_message(request.secret, request.key, request.name)));
  // A code can be used once, so this must be the first request of a connection: those are never sent twice.
  http::Client client(where, trust);
  const http::Reply reply = client.post("/v1/join", "application/json", to_text(request));
  const std::string authority = where.scheme == http::Url::Scheme::https ? client.authority_pem() : std::string();
  Joined out{join_answer_from_text(reply.body), {}};
  out.link = {url, out.answer.token, authority, out.answer.hub_name, out.answer.role};
  return out;
}

void make_joined_book(const std::string& path, const Joined& joined, const core::KeyPair& key,
                      const core::ClockReading& now) {
  if (std::filesystem::exists(path)) throw Error(Fault::book_exists, "There is already a file at " + path + ".");
  const std::string draft = path + ".joining";
  remove_book(draft);  // left by a joining that was cut off
  try {
    Book book = Book::create_member(draft, joined.answer.collection, key, joined.answer.by, now);
    book.write([&] { set_hub_link(book, joined.link); });
    const core::BookLock lock(draft + "-lock", kLockWaitMs);
    book.database().checkpoint();
  } catch (...) {
    remove_book(draft);
    throw;
  }
  if (::rename(draft.c_str(), path.c_str()) != 0) {
    remove_book(draft);
    throw Error(Fault::disk_fault, "The new book could not be given its name " + path + ". Nothing was left there.");
  }
  sync_folder_of(path);
  remove_book(draft);
}

}  // namespace rackside::sync::hub
