#include "tests/fault/transport_support.h"
#include "tests/support/catch.h"

using namespace rackside;
using namespace rackside::tests;
using sync::http::Client;
using sync::http::Exposure;

namespace {

sync::tls::HubIdentity make_identity() {
  return sync::tls::create_identity("rack-test.local", {}, wall_clock_ms());
}

std::string url_of(const TestHub& hub) {
  return "https://127.0.0.1:" + std::to_string(hub.port());
}

sync::tls::PinnedFingerprint pin_of(const sync::tls::HubIdentity& identity, std::size_t bytes) {
  const core::Hash hash = sync::tls::fingerprint(identity.root);
  return {{hash.begin(), hash.begin() + bytes}};
}

core::Fault fault_of(const std::function<void()>& action, std::string* message = nullptr) {
  try {
    action();
  } catch (const core::Error& error) {
    if (message != nullptr) *message = error.what();
    return error.fault();
  }
  FAIL("no error was raised");
  return core::Fault::internal;
}

}  // namespace

TEST_CASE("a client that pins the authority talks to its hub over TLS", "[transport]") {
  const auto identity = make_identity();
  const TestHub hub(Exposure::tls, quick_limits(), &identity);
  Client client(sync::http::parse_url(url_of(hub)), sync::tls::PinnedAuthority{identity.root});
  const auto hello = client.get("/hello?name=Ada+B%2e");
  CHECK(hello.status == 200);
  CHECK(hello.content_type == "application/json");
  CHECK(hello.body == "{\"hello\":\"Ada B.\"}");
  CHECK(client.post("/echo", "text/plain", "some bytes").body == "some bytes");
  const std::string large(1024 * 1024, 'x');
  CHECK(client.post("/echo", "text/plain", large).body == large);
  CHECK(client.get("/nothing").status == 404);
}

TEST_CASE("a join code's 80 bits of fingerprint are enough to find and pin the authority", "[transport]") {
  const auto identity = make_identity();
  const TestHub hub(Exposure::tls, quick_limits(), &identity);
  Client client(sync::http::parse_url(url_of(hub)), pin_of(identity, 10));
  CHECK(client.authority_pem() == identity.root);
  CHECK(client.get("/hello").status == 200);
}

TEST_CASE("a hub with another authority is refused before anything is sent", "[transport]") {
  const auto identity = make_identity();
  const auto other = make_identity();  // the same name, another key
  const TestHub hub(Exposure::tls, quick_limits(), &identity);
  const auto url = sync::http::parse_url(url_of(hub));
  const std::vector<sync::http::Trust> wrong = {sync::tls::PinnedAuthority{other.root}, pin_of(other, 10),
                                                pin_of(other, 32)};
  for (const auto& trust : wrong) {
    Client client(url, trust);
    client.use_token("good-token");
    std::string message;
    CHECK(fault_of([&] { client.post("/echo", "text/plain", "secret"); }, &message) == core::Fault::other_hub);
    CHECK(contains(message, "Nothing was sent"));
  }
  CHECK(hub.echoed() == 0);
}

TEST_CASE("an impostor that shows the true authority beside its own leaf is refused", "[transport]") {
  const auto identity = make_identity();
  auto impostor = make_identity();
  impostor.root = identity.root;  // public, so anyone can show it; the fingerprint in the code matches it
  const TestHub hub(Exposure::tls, quick_limits(), &impostor);
  const std::vector<sync::http::Trust> pins = {pin_of(identity, 32), sync::tls::PinnedAuthority{identity.root}};
  for (const auto& pin : pins) {
    Client client(sync::http::parse_url(url_of(hub)), pin);
    CHECK(fault_of([&] { client.get("/hello"); }) == core::Fault::other_hub);
  }
}

TEST_CASE("a damaged authority in store trusts nobody, and says that it is damaged", "[transport]") {
  const auto identity = make_identity();
  const TestHub hub(Exposure::tls, quick_limits(), &identity);
  const std::string cut = identity.root.substr(0, identity.root.size() / 2);
  const std::string other = "-----BEGIN CERTIFICATE-----\nAAAA\n-----END CERTIFICATE-----\n";
  for (const std::string& damaged : {std::string(), std::string("nonsense"), cut, other}) {
    Client client(sync::http::parse_url(url_of(hub)), sync::tls::PinnedAuthority{damaged});
    std::string message;
    CHECK(fault_of([&] { client.get("/hello"); }, &message) == core::Fault::bad_input);
    CHECK(contains(message, "damaged"));
  }
  CHECK(hub.echoed() == 0);
}

TEST_CASE("fewer than 80 bits of fingerprint are no pin", "[transport]") {
  const auto identity = make_identity();
  const TestHub hub(Exposure::tls, quick_limits(), &identity);
  Client client(sync::http::parse_url(url_of(hub)), pin_of(identity, 9));
  CHECK(fault_of([&] { client.get("/hello"); }) == core::Fault::bad_input);
}

TEST_CASE("a hub that is away, or is no hub, is unreachable with a hint", "[transport]") {
  const auto identity = make_identity();
  int port = 0;
  {
    const TestHub hub;
    port = hub.port();
    Client to_plain(sync::http::parse_url("https://127.0.0.1:" + std::to_string(port)),
                    sync::tls::PinnedAuthority{identity.root});
    CHECK(fault_of([&] { to_plain.get("/hello"); }) == core::Fault::unreachable);
  }
  std::string message;
  Client client(sync::http::parse_url("https://127.0.0.1:" + std::to_string(port)),
                sync::tls::PinnedAuthority{identity.root});
  CHECK(fault_of([&] { client.get("/hello"); }, &message) == core::Fault::unreachable);
  CHECK(contains(message, "Is it running"));
}

TEST_CASE("a client speaks plain http to this machine only, and https only with a pin", "[transport]") {
  CHECK(fault_of([] { Client(sync::http::parse_url("http://192.168.1.20:80"), sync::http::NoPin{}); }) ==
        core::Fault::bad_input);
  CHECK(fault_of([] { Client(sync::http::parse_url("https://127.0.0.1:80"), sync::http::NoPin{}); }) ==
        core::Fault::bad_input);
  const TestHub hub;
  Client client(sync::http::parse_url("http://127.0.0.1:" + std::to_string(hub.port())), sync::http::NoPin{});
  CHECK(client.get("/hello").status == 200);
}

TEST_CASE("a renewed certificate serves new connections without a restart", "[transport]") {
  auto identity = make_identity();
  TestHub hub(Exposure::tls, quick_limits(), &identity);
  const std::string before = identity.leaf;
  sync::tls::issue_leaf(identity, {identity.name}, {"127.0.0.1"}, wall_clock_ms());
  REQUIRE(identity.leaf != before);
  hub.server().use_identity(identity);
  Client client(sync::http::parse_url(url_of(hub)), sync::tls::PinnedAuthority{identity.root});
  CHECK(client.get("/hello").status == 200);
}

TEST_CASE("who speaks plain http to the encrypted port is told so", "[transport]") {
  const auto identity = make_identity();
  const TestHub hub(Exposure::tls, quick_limits(), &identity);
  CHECK(contains(answer_to(hub, "GET / HTTP/1.1\r\nHost: x\r\n\r\n"), "https://"));
}

TEST_CASE("who opens the encrypted port and says nothing is let go", "[transport]") {
  const auto identity = make_identity();
  const TestHub hub(Exposure::tls, quick_limits(), &identity);
  Raw silent(hub.port()), half(hub.port());
  half.send(std::string("\x16\x03\x01", 3));  // the start of a handshake, and no more
  const auto start = Clock::now();
  silent.read_to_end();
  half.read_to_end();
  CHECK(silent.ended());
  CHECK(half.ended());
  CHECK(Clock::now() - start < 3s);
}
