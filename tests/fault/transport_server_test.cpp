// What the server lets out and whom it lets in: messages, names, origins, rights, streams, shutting down.
#include <thread>

#include "tests/fault/transport_support.h"
#include "tests/support/catch.h"

using namespace rackside;
using namespace rackside::tests;
using sync::http::Client;
using sync::http::Exposure;

namespace {

Client client_of(const TestHub& hub) {
  return Client(sync::http::parse_url("http://127.0.0.1:" + std::to_string(hub.port())), sync::http::NoPin{});
}

std::string get_with(const TestHub& hub, const std::string& method, const std::string& path,
                     const std::string& fields) {
  return answer_to(hub, method + " " + path + " HTTP/1.1\r\nConnection: close\r\n" + fields + "\r\n");
}

}  // namespace

TEST_CASE("no exception's text reaches a client", "[transport]") {
  const TestHub hub;
  Client client = client_of(hub);
  for (const std::string path : {"/throw", "/disk"}) {
    const std::string answer = get_with(hub, "GET", path, "Host: localhost\r\n");
    CHECK(answer.starts_with("HTTP/1.1 500"));
    CHECK(!contains(answer, "secret"));
    CHECK(!contains(answer, "EXCEPTION_WHAT"));
    CHECK(contains(answer, "\"error\":"));
  }
  REQUIRE(hub.reports().size() == 2);
  CHECK(contains(hub.reports()[0], "secret /home/path"));  // the hub's own screen says it
}

TEST_CASE("a client's own mistake is explained to it", "[transport]") {
  const TestHub hub;
  Client client = client_of(hub);
  const auto reply = client.get("/fault");
  CHECK(reply.status == 404);
  CHECK(reply.body == "{\"error\":\"unknown-code\",\"message\":\"Nothing here has that code.\"}\n");
}

TEST_CASE("every answer carries the protecting headers", "[transport]") {
  const TestHub hub;
  for (const std::string path : {"/hello", "/nothing", "/lines", "/throw"}) {
    const std::string answer = get_with(hub, "GET", path, "Host: localhost\r\n");
    CHECK(contains(answer, "X-Content-Type-Options: nosniff\r\n"));
    CHECK(contains(answer, "X-Frame-Options: DENY\r\n"));
    CHECK(contains(answer, "Content-Security-Policy: default-src 'self'"));
    CHECK(contains(answer, "Cache-Control: no-store\r\n"));
  }
}

TEST_CASE("only the hub's own names are answered", "[transport]") {
  const TestHub hub;
  for (const std::string host : {"localhost", "LOCALHOST:80", "127.0.0.1", "127.0.0.1:1234", "rack-test.local:8443"})
    CHECK(get_with(hub, "GET", "/hello", "Host: " + host + "\r\n").starts_with("HTTP/1.1 200"));
  for (const std::string host : {"evil.example", "127.0.0.2", "rack-test.local.evil.example", "", "[::1]:80"})
    CHECK(get_with(hub, "GET", "/hello", "Host: " + host + "\r\n").starts_with("HTTP/1.1 421"));
}

TEST_CASE("foreign pages cannot make a browser change anything", "[transport]") {
  const TestHub hub;
  const std::string own = "Host: rack-test.local:8443\r\nContent-Length: 0\r\n";
  const auto post = [&](const std::string& fields) { return get_with(hub, "POST", "/echo", own + fields); };
  CHECK(post("").starts_with("HTTP/1.1 200"));  // a program
  CHECK(post("Origin: http://rack-test.local:8443\r\nSec-Fetch-Site: same-origin\r\n").starts_with("HTTP/1.1 200"));
  CHECK(hub.echoed() == 2);
  for (const std::string foreign :
       {"Origin: http://evil.example\r\n", "Origin: null\r\n", "Origin: http://rack-test.local\r\n",
        "Origin: https://rack-test.local:8443\r\n", "Sec-Fetch-Site: cross-site\r\n", "Sec-Fetch-Site: same-site\r\n",
        "Sec-Fetch-Site: none\r\n", "Origin: http://rack-test.local:8443\r\nSec-Fetch-Site: cross-site\r\n"})
    CHECK(post(foreign).starts_with("HTTP/1.1 403"));
  CHECK(hub.echoed() == 2);
  // Reading by following a link, such as the one on a label, stays possible.
  CHECK(
      get_with(hub, "GET", "/hello", "Host: localhost\r\nSec-Fetch-Site: cross-site\r\n").starts_with("HTTP/1.1 200"));
}

TEST_CASE("a caller without a right is turned down before its body is read", "[transport]") {
  const TestHub hub;
  Raw raw(hub.port());
  raw.send("POST /push HTTP/1.1\r\nHost: localhost\r\nContent-Length: 900\r\n\r\n");  // and no body at all
  const auto start = Clock::now();
  CHECK(raw.read_to_end().starts_with("HTTP/1.1 401"));
  CHECK(Clock::now() - start < 2s);

  Client client = client_of(hub);
  client.use_token("bad-token");
  CHECK(client.post("/push", "text/plain", "abc").status == 401);
  client.use_token("good-token");
  CHECK(client.post("/push", "text/plain", "abc").body == "aisle/helper/3");
  CHECK(client.post("/push", "text/plain", std::string(1001, 'x')).status == 413);  // the route's own limit
}

TEST_CASE("tokens are taken from the Authorization header only", "[transport]") {
  const TestHub hub;
  const std::string start = "Host: localhost\r\nContent-Length: 0\r\n";
  CHECK(get_with(hub, "POST", "/push?token=good-token", start).starts_with("HTTP/1.1 401"));
  CHECK(get_with(hub, "POST", "/push", start + "Cookie: token=good-token\r\n").starts_with("HTTP/1.1 401"));
  CHECK(get_with(hub, "POST", "/push", start + "Authorization: Basic good-token\r\n").starts_with("HTTP/1.1 401"));
  CHECK(get_with(hub, "POST", "/push", start + "Authorization: bearer good-token\r\n").starts_with("HTTP/1.1 200"));
}

TEST_CASE("the peer's address cannot be made up", "[transport]") {
  const TestHub hub;
  const std::string answer =
      get_with(hub, "GET", "/who", "Host: localhost\r\nREMOTE_ADDR: 10.9.8.7\r\nX-Forwarded-For: 10.9.8.7\r\n");
  CHECK(answer.ends_with("127.0.0.1"));
}

TEST_CASE("methods and addresses that do not exist say so and keep the connection", "[transport]") {
  const TestHub hub;
  Raw raw(hub.port());
  raw.send(
      "GET /nothing HTTP/1.1\r\nHost: localhost\r\n\r\nDELETE /echo HTTP/1.1\r\nHost: localhost\r\n\r\n"
      "OPTIONS /hello HTTP/1.1\r\nHost: localhost\r\n\r\nGET /hello HTTP/1.1\r\nHost: localhost\r\n\r\n");
  raw.hang_up();
  const std::string answer = raw.read_to_end();
  CHECK(contains(answer, "HTTP/1.1 404"));
  CHECK(contains(answer, "Allow: POST\r\n"));
  CHECK(count_of(answer, "HTTP/1.1 405") == 2);
  CHECK(count_of(answer, "HTTP/1.1 200") == 1);
}

TEST_CASE("HEAD is answered without a body", "[transport]") {
  const TestHub hub;
  const std::string answer = get_with(hub, "HEAD", "/hello", "Host: localhost\r\n");
  CHECK(answer.starts_with("HTTP/1.1 200"));
  CHECK(answer.ends_with("\r\n\r\n"));
}

TEST_CASE("a large body is invited by 100-continue only when it is wanted", "[transport]") {
  const TestHub hub;
  Raw raw(hub.port());
  raw.send("POST /echo HTTP/1.1\r\nHost: localhost\r\nContent-Length: 3\r\nExpect: 100-continue\r\n\r\n");
  CHECK(contains(raw.read_answer(), "HTTP/1.1 100"));
  raw.send("abc");
  CHECK(raw.read_answer().starts_with("HTTP/1.1 200"));
  Raw unwanted(hub.port());
  unwanted.send("POST /push HTTP/1.1\r\nHost: localhost\r\nContent-Length: 3\r\nExpect: 100-continue\r\n\r\n");
  CHECK(unwanted.read_to_end().starts_with("HTTP/1.1 401"));
}

TEST_CASE("a million lines are streamed with flat memory on both sides", "[transport][memory]") {
  const TestHub hub;
  Client client = client_of(hub);
  client.get_lines("/lines?count=1000", [](std::string_view) {});
  const std::size_t before = resident_bytes();
  std::size_t lines = 0, highest = 0;
  bool in_order = true;
  client.get_lines("/lines?count=1000000", [&](std::string_view line) {
    in_order = in_order && line == "{\"line\":" + std::to_string(lines) + "}";
    if (++lines % 100'000 == 0) highest = std::max(highest, resident_bytes());
  });
  CHECK(lines == 1'000'000);
  CHECK(in_order);
  CHECK(highest < before + 4 * 1024 * 1024);
}

TEST_CASE("a stream with nothing to say for a while does not end", "[transport]") {
  const TestHub hub;
  Client client = client_of(hub);
  std::size_t lines = 0;
  client.get_lines("/gaps", [&](std::string_view line) { lines += line == "a line"; });
  CHECK(lines == 3);
}

TEST_CASE("a stream that breaks off is an error to its reader, not an end", "[transport]") {
  const TestHub hub;
  Client client = client_of(hub);
  std::size_t lines = 0;
  try {
    client.get_lines("/broken", [&](std::string_view) { ++lines; });
    FAIL("taken for whole");
  } catch (const core::Error& error) {
    CHECK(error.fault() == core::Fault::protocol);
  }
  CHECK(lines == 2);
  CHECK(client.get("/hello").status == 200);
}

TEST_CASE("what a reader of lines throws ends the request and reaches the caller", "[transport]") {
  const TestHub hub;
  Client client = client_of(hub);
  CHECK_THROWS_AS(client.get_lines("/lines?count=1000000", [](std::string_view) { throw std::logic_error("enough"); }),
                  std::logic_error);
  CHECK(client.get("/hello").status == 200);
}

TEST_CASE("a refused stream gives its reason instead of lines", "[transport]") {
  const TestHub hub;
  Client client = client_of(hub);
  std::size_t lines = 0;
  const auto reply = client.get_lines("/fault", [&](std::string_view) { ++lines; });
  CHECK(reply.status == 404);
  CHECK(contains(reply.body, "unknown-code"));
  CHECK(lines == 0);
}

TEST_CASE("a kept connection that the hub ended while idle is opened again", "[transport]") {
  const TestHub hub;
  Client client = client_of(hub);
  CHECK(client.get("/hello").status == 200);
  std::this_thread::sleep_for(500ms);  // over the keep-alive time
  CHECK(client.post("/echo", "text/plain", "again").body == "again");
  CHECK(hub.echoed() == 1);
}

TEST_CASE("stopping ends idle connections and running streams at once", "[transport]") {
  auto hub = std::make_unique<TestHub>();
  Raw idle(hub->port());
  idle.send("GET /hello HTTP/1.1\r\nHost: localhost\r\n\r\n");
  idle.read_answer();
  Raw streaming(hub->port());
  streaming.send("GET /lines?count=2000000000 HTTP/1.1\r\nHost: localhost\r\n\r\n");
  std::thread reader([&] { streaming.read_to_end(5000ms); });
  std::this_thread::sleep_for(50ms);
  const auto start = Clock::now();
  hub.reset();
  CHECK(Clock::now() - start < 2s);
  reader.join();
  CHECK(streaming.ended());
}

TEST_CASE("without encryption nothing but loopback is listened on", "[transport]") {
  for (const std::string address : {"0.0.0.0", "::", "192.168.1.1", "8.8.8.8"}) {
    sync::http::Server server({.exposure = Exposure::plain_loopback});
    try {
      server.listen(address, 0);
      FAIL("listens on " + address);
    } catch (const core::Error& error) {
      CHECK(error.fault() == core::Fault::usage);
    }
  }
  sync::http::Server named({.exposure = Exposure::plain_loopback});
  CHECK_THROWS_AS(named.listen("localhost", 0), core::Error);
  sync::http::Server without_identity({.exposure = Exposure::tls});
  CHECK_THROWS_AS(without_identity.listen("127.0.0.1", 0), core::Error);
}

TEST_CASE("the plain page can offer nothing but open pages", "[transport]") {
  sync::http::Server server({.exposure = Exposure::plain_page});
  const auto handler = [](const sync::http::Request&) { return sync::http::Response{}; };
  CHECK_THROWS_AS(server.route("POST", "/push", handler), core::Error);
  CHECK_THROWS_AS(server.route("GET", "/pull", handler, {.right = "pull"}), core::Error);
  server.route("GET", "/authority", handler);
  server.listen("0.0.0.0", 0);
  Client client(sync::http::parse_url("http://127.0.0.1:" + std::to_string(server.bound_port())), sync::http::NoPin{});
  CHECK(client.get("/authority").status == 200);
}
