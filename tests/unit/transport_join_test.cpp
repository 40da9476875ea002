#include <atomic>
#include <cctype>
#include <set>
#include <string>
#include <thread>
#include <vector>

#include "core/base/error.h"
#include "core/crypto/key.h"
#include "sync/join/desk.h"
#include "sync/join/gate.h"
#include "tests/support/catch.h"

using namespace rackside;
using namespace rackside::sync::join;
using rackside::tests::contains;

namespace {

constexpr std::int64_t kNow = 1'767'225'600'000;
const std::string kAisle = "00112233445566ff";

JoinCode counting_code() {
  JoinCode out;
  for (std::size_t i = 0; i < out.secret.size(); ++i) out.secret[i] = static_cast<std::uint8_t>(i);
  for (std::size_t i = 0; i < out.pin.size(); ++i) out.pin[i] = static_cast<std::uint8_t>(0xf0 + i);
  return out;
}

bool reads(const std::string& text) {
  try {
    parse_join_code(text);
    return true;
  } catch (const core::Error& error) {
    CHECK(error.fault() == core::Fault::bad_code);
    return false;
  }
}

Secret secret_of(std::uint8_t byte) {
  Secret out;
  out.fill(byte);
  return out;
}

Token token_of(std::uint8_t byte) {
  Token out;
  out.fill(byte);
  return out;
}

struct Fixture {
  MemoryStore store;
  Desk desk{store};
};

}  // namespace

TEST_CASE("a join code survives being typed, scanned and linked", "[transport]") {
  const JoinCode code = counting_code();
  const std::string text = to_text(code);
  CHECK(text.size() == 44 + 10);
  CHECK(parse_join_code(text) == code);
  CHECK(parse_join_code(to_compact(code)) == code);
  CHECK(parse_join_code(join_link("https://rack-test.local:8443", code)) == code);
  CHECK(join_link("https://rack-test.local/", code) == "https://rack-test.local/join#" + to_compact(code));
  std::string sloppy;
  for (const char c : text) {
    if (c == '-')
      sloppy += ' ';
    else if (c == '0')
      sloppy += 'o';
    else if (c == '1')
      sloppy += sloppy.size() % 2 == 0 ? 'l' : 'I';
    else
      sloppy += static_cast<char>(std::tolower(c));
  }
  CHECK(parse_join_code(sloppy + "\r\n") == code);
  for (int i = 0; i < 200; ++i) {
    const JoinCode random{core::random_array<16>(), core::random_array<10>()};
    CHECK(parse_join_code(to_text(random)) == random);
  }
}

TEST_CASE("every wrong character and every swap of neighbours in a join code is found", "[transport]") {
  constexpr std::string_view kAlphabet = "0123456789ABCDEFGHJKMNPQRSTVWXYZ";
  for (int round = 0; round < 5; ++round) {
    const std::string good = to_compact({core::random_array<16>(), core::random_array<10>()});
    int slipped = 0;
    for (std::size_t at = 0; at < good.size(); ++at) {
      for (const char other : kAlphabet) {
        std::string bad = good;
        bad[at] = other;
        if (bad != good) slipped += reads(bad);
      }
      std::string swapped = good;
      if (at > 0) std::swap(swapped[at], swapped[at - 1]);
      if (swapped != good) slipped += reads(swapped);
    }
    CHECK(slipped == 0);
    CHECK(!reads(good.substr(1)));
    CHECK(!reads(good + "0"));
    CHECK(!reads(good.substr(0, 43) + "U"));
  }
  CHECK(!reads(""));
  CHECK(!reads("https://rack-test.local"));
}

TEST_CASE("a code joins once", "[transport]") {
  Fixture f;
  f.desk.invite(Role::helper, "Robin's phone", secret_of(1), kNow);
  const auto joined = f.desk.redeem(secret_of(1), kAisle, token_of(9), kNow + 1000);
  REQUIRE(joined);
  CHECK(joined->role == Role::helper);
  CHECK(joined->label == "Robin's phone");
  CHECK(joined->token.size() == 64);
  CHECK(!f.desk.redeem(secret_of(1), kAisle, token_of(8), kNow + 1000));
  REQUIRE(f.desk.check(joined->token));
  CHECK(f.desk.check(joined->token)->device == kAisle);
}

TEST_CASE("a code expires after ten minutes, and a clock set back does not revive it", "[transport]") {
  Fixture f;
  f.desk.invite(Role::helper, "a", secret_of(1), kNow);
  f.desk.invite(Role::helper, "b", secret_of(2), kNow);
  f.desk.invite(Role::helper, "c", secret_of(3), kNow);
  CHECK(f.desk.redeem(secret_of(1), kAisle, token_of(1), kNow + 10 * 60 * 1000 - 1));
  CHECK(!f.desk.redeem(secret_of(2), kAisle, token_of(2), kNow + 10 * 60 * 1000));
  CHECK(!f.desk.redeem(secret_of(2), kAisle, token_of(2), kNow));  // it is gone
  CHECK(!f.desk.redeem(secret_of(3), kAisle, token_of(3), kNow - 1));
  CHECK(f.desk.open_invitations(kNow).empty());
}

TEST_CASE("a code has five tries over all addresses", "[transport]") {
  Fixture f;
  f.desk.invite(Role::helper, "a", secret_of(1), kNow);
  for (std::uint8_t wrong = 100; wrong < 104; ++wrong)
    CHECK(!f.desk.redeem(secret_of(wrong), kAisle, token_of(1), kNow));
  CHECK(f.desk.open_invitations(kNow).at(0).tries_left == 1);
  CHECK(f.desk.redeem(secret_of(1), kAisle, token_of(1), kNow));  // the fifth try is the right one

  f.desk.invite(Role::helper, "a", secret_of(2), kNow);
  for (std::uint8_t wrong = 100; wrong < 105; ++wrong)
    CHECK(!f.desk.redeem(secret_of(wrong), kAisle, token_of(1), kNow));
  CHECK(!f.desk.redeem(secret_of(2), kAisle, token_of(1), kNow));  // it would be the sixth
  CHECK(f.desk.open_invitations(kNow).empty());
}

TEST_CASE("of many who use one code at once, one joins", "[transport]") {
  Fixture f;
  f.desk.invite(Role::helper, "a", secret_of(1), kNow);
  std::atomic<int> joined = 0;
  std::vector<std::thread> threads;
  for (std::uint8_t i = 0; i < 8; ++i)
    threads.emplace_back([&, i] {
      if (f.desk.redeem(secret_of(1), "000000000000000" + std::to_string(i), token_of(i), kNow)) ++joined;
    });
  for (auto& thread : threads) thread.join();
  CHECK(joined == 1);
  CHECK(f.desk.devices().size() == 1);
}

TEST_CASE("neither secrets nor tokens are stored, only their hashes", "[transport]") {
  Fixture f;
  f.desk.invite(Role::helper, "a", secret_of(1), kNow);
  // SHA-256 of sixteen bytes 01, from: printf '\1%.0s' {1..16} | sha256sum
  CHECK(core::to_hex(f.store.invitations().at(0).secret_hash) ==
        "cc8cd41cef907c4d216069122c4b89936211361f9050a717a1e37ad1862e952f");
  const auto joined = f.desk.redeem(secret_of(1), kAisle, token_of(7), kNow);
  CHECK(core::to_hex(f.store.tokens().at(0).token_hash) != joined->token);
}

TEST_CASE("only the exact token is known, and tokens are revoked at once", "[transport]") {
  Fixture f;
  f.desk.invite(Role::viewer, "tablet", secret_of(1), kNow);
  const std::string token = f.desk.redeem(secret_of(1), kAisle, token_of(7), kNow)->token;
  for (std::string wrong : {std::string(), token.substr(1), token + "0", std::string(64, '0')})
    CHECK(!f.desk.check(wrong));
  std::string last_differs = token;
  last_differs.back() = '8';
  CHECK(!f.desk.check(last_differs));
  CHECK(f.desk.revoke("ffffffffffffffff", kNow) == Desk::Revoked::unknown_device);
  CHECK(f.desk.check(token));
  CHECK(f.desk.revoke(kAisle, kNow + 5) == Desk::Revoked::done);
  CHECK(!f.desk.check(token));
  CHECK(f.desk.devices().at(0).revoked_ms == kNow + 5);
}

TEST_CASE("a device that joins again loses its old token and keeps only the new one", "[transport]") {
  Fixture f;
  f.desk.invite(Role::helper, "a", secret_of(1), kNow);
  f.desk.invite(Role::keeper, "a", secret_of(2), kNow);
  const std::string first = f.desk.redeem(secret_of(1), kAisle, token_of(1), kNow)->token;
  const std::string second = f.desk.redeem(secret_of(2), kAisle, token_of(2), kNow)->token;
  CHECK(!f.desk.check(first));
  REQUIRE(f.desk.check(second));
  CHECK(f.desk.check(second)->role == Role::keeper);
}

TEST_CASE("tokens are compared whole", "[transport]") {
  const std::array<std::uint8_t, 3> a{1, 2, 3}, first{9, 2, 3}, last{1, 2, 9};
  CHECK(equal_in_constant_time(a, a));
  CHECK(!equal_in_constant_time(a, first));
  CHECK(!equal_in_constant_time(a, last));
  CHECK(!equal_in_constant_time(a, core::ByteSpan(a).first(2)));
  CHECK(equal_in_constant_time({}, {}));
}

TEST_CASE("the table of rights is ordered: a viewer's are a helper's, a helper's a keeper's", "[transport]") {
  std::set<std::string_view> names;
  for (const RightRow& row : rights_table()) {
    CHECK(names.insert(row.right).second);
    CHECK(row.keeper);
    CHECK((!row.viewer || row.helper));
    CHECK(!row.what.empty());
  }
  CHECK(may(Role::viewer, "push") == Permission::denied);
  CHECK(may(Role::helper, "push") == Permission::granted);
  CHECK(may(Role::helper, "invite") == Permission::denied);
  CHECK(may(Role::keeper, "invite") == Permission::granted);
  CHECK(may(Role::keeper, "no such right") == Permission::denied);
  for (const Role role : {Role::keeper, Role::helper, Role::viewer}) CHECK(role_from_name(role_name(role)) == role);
  CHECK(!role_from_name("owner"));
}

TEST_CASE("the gate tells a stranger from a member without the right", "[transport]") {
  Fixture f;
  f.desk.invite(Role::viewer, "tablet", secret_of(1), kNow);
  const auto admit = gate(f.desk);
  sync::http::Request request;
  CHECK(admit(request, "look").refused->status == 401);
  request.token = f.desk.redeem(secret_of(1), kAisle, token_of(7), kNow)->token;
  CHECK(admit(request, "push").refused->status == 403);
  const auto admitted = admit(request, "look");
  CHECK(!admitted.refused);
  CHECK(admitted.device == kAisle);
  CHECK(admitted.role == "viewer");
  f.desk.revoke(kAisle, kNow);
  CHECK(admit(request, "look").refused->status == 401);
}
