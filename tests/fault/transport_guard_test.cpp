// The table of what a plain HTTP library does with hostile input, row by row: each case sends the bytes over a real
// socket and sees what comes back, and what the handlers saw. A server without the guard fails each of them.
#include <netinet/tcp.h>

#include <optional>
#include <thread>

#include "tests/fault/transport_support.h"
#include "tests/support/catch.h"

using namespace rackside;
using namespace rackside::tests;
using sync::http::Client;
using sync::http::Exposure;
using sync::http::Limits;

namespace {

/// An honest client's request, and how long it took.
std::chrono::milliseconds honest_request(const TestHub& hub, const std::string& from = "127.0.0.1") {
  const auto start = Clock::now();
  Raw raw(hub.port(), from);
  raw.send("GET /hello HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n");
  const std::string answer = raw.read_to_end();
  CHECK(answer.starts_with("HTTP/1.1 200"));
  return std::chrono::duration_cast<std::chrono::milliseconds>(Clock::now() - start);
}

bool ends_connection(const std::string& answer) {
  return contains(answer, "Connection: close");
}

/// Sends `piece` again and again until the hub does not take it any more; what it took, at most `most`.
std::size_t flood(Raw& raw, const std::string& piece, std::size_t most) {
  std::size_t sent = 0;
  while (sent < most && raw.send(piece)) sent += piece.size();
  return sent;
}

}  // namespace

TEST_CASE("heads that never end are cut off while honest clients are served", "[transport]") {
  const TestHub hub;
  std::vector<std::unique_ptr<Raw>> slow;
  for (int i = 0; i < 20; ++i) slow.push_back(std::make_unique<Raw>(hub.port(), "127.0.0.2"));
  const auto start = Clock::now();
  int taken = 0;
  for (int i = 0; i < 60 && Clock::now() - start < 3s; ++i) {  // a byte now and then: never silent, never done
    taken = 0;
    for (auto& raw : slow) taken += raw->send(i == 0 ? "GET /hello HTTP/1.1\r\nX: " : "x");
    if (i % 5 == 0) CHECK(honest_request(hub) < 1000ms);
    std::this_thread::sleep_for(20ms);
  }
  for (auto& raw : slow) {
    const std::string answer = raw->read_to_end(100ms);
    CHECK(raw->ended());
    CHECK((answer.empty() || answer.starts_with("HTTP/1.1 408")));
  }
}

TEST_CASE("the answer to a head that is too slow says so", "[transport]") {
  const TestHub hub;
  Raw raw(hub.port());
  raw.send("GET /hello HTTP/1.1\r\n");
  const auto start = Clock::now();
  const std::string answer = raw.read_to_end();
  CHECK(answer.starts_with("HTTP/1.1 408"));
  CHECK(ends_connection(answer));
  CHECK(raw.ended());
  CHECK(Clock::now() - start < 3s);
}

TEST_CASE("a body that trickles in is cut off", "[transport]") {
  const TestHub hub;
  Raw raw(hub.port());
  raw.send("POST /echo HTTP/1.1\r\nHost: localhost\r\nContent-Length: 100000\r\n\r\n");
  const auto start = Clock::now();
  std::string answer;
  while (!raw.ended() && Clock::now() - start < 5s) {
    raw.send("x");
    answer += raw.read_to_end(20ms);
  }
  CHECK(raw.ended());
  CHECK(Clock::now() - start < 4s);
  CHECK(answer.starts_with("HTTP/1.1 408"));
  CHECK(hub.echoed() == 0);
}

TEST_CASE("a million headers are refused early, and cost no memory", "[transport]") {
  const TestHub hub;
  const std::size_t before = resident_bytes();
  Raw raw(hub.port());
  raw.send("GET /hello HTTP/1.1\r\nHost: localhost\r\n");
  std::string many;
  for (int i = 0; i < 1000; ++i) many += "X-Header-" + std::to_string(i) + ": some value\r\n";
  const std::size_t sent = flood(raw, many, 1000 * many.size());
  const std::string answer = raw.read_to_end();
  CHECK(sent < 16 * 1024 * 1024);  // what the hub took and what lay in the sockets' buffers
  CHECK((answer.empty() || answer.starts_with("HTTP/1.1 431")));  // a reset may overtake the answer of a flood
  CHECK(resident_bytes() < before + 8 * 1024 * 1024);
  CHECK(honest_request(hub) < 1000ms);
}

TEST_CASE("a header line without an end is refused early", "[transport]") {
  const TestHub hub;
  Raw raw(hub.port());
  raw.send("GET /hello HTTP/1.1\r\nHost: localhost\r\nX: ");
  const std::size_t sent = flood(raw, std::string(64 * 1024, 'x'), std::size_t{64} * 1024 * 1024);
  CHECK(sent < 16 * 1024 * 1024);
  CHECK(honest_request(hub) < 1000ms);
}

TEST_CASE("too many and too large headers are told why", "[transport]") {
  const TestHub hub;
  std::string many = "GET /hello HTTP/1.1\r\nHost: localhost\r\n";
  for (int i = 0; i < 100; ++i) many += "X: y\r\n";
  CHECK(answer_to(hub, many + "\r\n").starts_with("HTTP/1.1 431"));
  const std::string start = "GET /hello HTTP/1.1\r\nHost: localhost\r\nX: ";
  CHECK(answer_to(hub, start + std::string(9'000, 'x') + "\r\n\r\n").starts_with("HTTP/1.1 431"));
  CHECK(answer_to(hub, start + std::string(20'000, 'x')).starts_with("HTTP/1.1 431"));
  CHECK(answer_to(hub, "GET /" + std::string(3'000, 'x') + " HTTP/1.1\r\nHost: a\r\n\r\n").starts_with("HTTP/1.1 414"));
}

TEST_CASE("bodies without a length are refused, whatever their coding", "[transport]") {
  const TestHub hub;
  const std::string start = "POST /echo HTTP/1.1\r\nHost: localhost\r\n";
  for (const std::string coding : {"chunked", "gzip, chunked", "xchunked", "identity", "CHUNKED"}) {
    const std::string answer =
        answer_to(hub, start + "Transfer-Encoding: " + coding + "\r\n\r\n5\r\nhello\r\n0\r\n\r\n");
    CHECK(answer.starts_with("HTTP/1.1 411"));
    CHECK(ends_connection(answer));
    CHECK(count_of(answer, "HTTP/1.1 ") == 1);
  }
  CHECK(answer_to(hub, start + "\r\nhello").starts_with("HTTP/1.1 411"));
  // With a length beside it, two readers could disagree on where the request ends (RFC 9112, section 6.1); the same of
  // a request that has no body.
  const std::string both = "Transfer-Encoding: chunked\r\nContent-Length: 5\r\n\r\n0\r\n\r\n";
  const std::string get = "GET / HTTP/1.1\r\nHost: localhost\r\nTransfer-Encoding: chunked\r\n\r\n0\r\n\r\n";
  for (const std::string& request : {start + both, get}) {
    const std::string answer = answer_to(hub, request);
    CHECK(answer.starts_with("HTTP/1.1 411"));
    CHECK(ends_connection(answer));
    CHECK(count_of(answer, "HTTP/1.1 ") == 1);
  }
  CHECK(hub.echoed() == 0);
}

TEST_CASE("bodies compressed otherwise than by gzip are refused", "[transport]") {
  const TestHub hub;
  for (const std::string coding : {"gzip, gzip", "br", "deflate", "zstd", "gzip, identity"}) {
    const std::string answer = answer_to(hub, "POST /echo HTTP/1.1\r\nHost: localhost\r\nContent-Encoding: " + coding +
                                                  "\r\nContent-Length: 5\r\n\r\n12345");
    CHECK(answer.starts_with("HTTP/1.1 415"));
    CHECK(ends_connection(answer));
  }
  CHECK(hub.echoed() == 0);
}

TEST_CASE("a body over the limit is refused before it is read, and the answer still arrives", "[transport]") {
  const TestHub hub;
  Raw raw(hub.port());
  raw.send("POST /echo HTTP/1.1\r\nHost: localhost\r\nContent-Length: 1048577\r\n\r\n");
  raw.send(std::string(100'000, 'x'));
  const std::string answer = raw.read_to_end();
  CHECK(answer.starts_with("HTTP/1.1 413"));
  CHECK(ends_connection(answer));
  CHECK(!raw.reset());
  for (const std::string length : {"99999999999999999999999999", "18446744073709551615", "9223372036854775808"})
    CHECK(answer_to(hub, "POST /echo HTTP/1.1\r\nHost: a\r\nContent-Length: " + length + "\r\n\r\nx").find(" 200 ") ==
          std::string::npos);
  CHECK(hub.echoed() == 0);
}

TEST_CASE("no second request is smuggled in", "[transport]") {
  const TestHub hub;
  const std::string hidden = "GET /hello?name=smuggled HTTP/1.1\r\nHost: localhost\r\n\r\n";
  const std::string length = std::to_string(hidden.size());
  const std::vector<std::string> heads = {
      "POST /echo HTTP/1.1\r\nHost: localhost\r\nContent-Length: 0\r\nContent-Length: " + length + "\r\n\r\n",
      "POST /echo HTTP/1.1\r\nHost: localhost\r\nContent-Length: " + length + "\r\nContent-Length: 0\r\n\r\n",
      "POST /echo HTTP/1.1\r\nHost: localhost\r\nContent-Length: 0, " + length + "\r\n\r\n",
      "POST /echo HTTP/1.1\r\nHost: localhost\r\nContent-Length: " + length +
          "\r\nTransfer-Encoding: chunked\r\n\r\n0\r\n\r\n",
      "POST /echo HTTP/1.1\r\nHost: localhost\r\nTransfer-Encoding: chunked\r\nContent-Length: 3\r\n\r\n0\r\n\r\n",
      "POST /echo HTTP/1.1\r\nHost: localhost\r\nTransfer-Encoding : chunked\r\nContent-Length: 0\r\n\r\n",
      "POST /echo HTTP/1.1\r\nHost: localhost\r\nContent-Length: 0\r\nX: a\r\n Transfer-Encoding: chunked\r\n\r\n",
      "POST /echo HTTP/1.1\r\nHost: localhost\r\nContent-Length: +" + length + "\r\n\r\n",
      "POST /echo HTTP/1.1\r\nHost: localhost\r\nContent-Length: 0x10\r\n\r\n",
      "POST /echo HTTP/1.1\nHost: localhost\nContent-Length: 0\n\n\r\n\r\n",
      "GET /hello HTTP/1.1\r\nHost: localhost\r\nContent-Length: " + length + "\r\n\r\n",
      "GET /hello HTTP/1.1\r\nHost: localhost\r\nTransfer-Encoding: chunked\r\n\r\n0\r\n\r\n",
      "HEAD /hello HTTP/1.1\r\nHost: localhost\r\nContent-Length: 5\r\n\r\n",
      "DELETE /hello HTTP/1.1\r\nHost: localhost\r\nContent-Length: 5\r\n\r\n",
      "GET /hello HTTP/1.0\r\nHost: localhost\r\nConnection: keep-alive\r\n\r\n",
      "POST /unknown HTTP/1.1\r\nHost: localhost\r\nContent-Length: 3\r\n\r\n",
      "POST /push HTTP/1.1\r\nHost: localhost\r\nContent-Length: 3\r\n\r\n",
  };
  for (const std::string& head : heads) {
    CAPTURE(head);
    const std::string answer = answer_to(hub, head + hidden);
    CHECK(!contains(answer, "smuggled"));
    CHECK(count_of(answer, "HTTP/1.1 ") == 1);
    CHECK(contains(answer, "HTTP/1.1 4") + contains(answer, "HTTP/1.1 505") == 1);
    CHECK(ends_connection(answer));
  }
  CHECK(hub.echoed() == 0);
}

TEST_CASE("pipelined honest requests are kept apart", "[transport]") {
  const TestHub hub;
  const std::string one = "POST /echo HTTP/1.1\r\nHost: localhost\r\nContent-Length: 3\r\n\r\nabc";
  const std::string last = "GET /hello HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n";
  const std::string answer = answer_to(hub, one + one + last);
  CHECK(count_of(answer, "HTTP/1.1 200") == 3);
  CHECK(hub.echoed() == 2);
  CHECK(hub.received() == 6);
}

TEST_CASE("several ranges are refused, one is answered with the whole", "[transport]") {
  const TestHub hub;
  std::string ranges = "bytes=0-0";
  for (int i = 1; i < 1200; ++i) ranges += ",0-0";
  const std::string start = "GET /hello HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\nRange: ";
  CHECK(answer_to(hub, start + ranges + "\r\n\r\n").starts_with("HTTP/1.1 416"));
  CHECK(answer_to(hub, start + "bytes=0-1\r\n\r\n").starts_with("HTTP/1.1 200"));
}

TEST_CASE("broken heads are refused", "[transport]") {
  const TestHub hub;
  const std::vector<std::string> heads = {
      "nonsense\r\n\r\n",
      "\r\n\r\n",
      "GET  HTTP/1.1\r\nHost: a\r\n\r\n",
      "GET hello HTTP/1.1\r\nHost: a\r\n\r\n",
      "GET http://a/hello HTTP/1.1\r\nHost: a\r\n\r\n",
      "GET /hello HTTP/2.0\r\nHost: a\r\n\r\n",
      "GET /hel lo HTTP/1.1\r\nHost: a\r\n\r\n",
      "GET /hello\r\n\r\n",
      "GET /hello HTTP/1.1\r\n\r\n",
      "GET /hello HTTP/1.1\r\nHost: localhost\r\nHost: localhost\r\n\r\n",
      "GET /hello HTTP/1.1\r\nHost: localhost\r\nno colon\r\n\r\n",
      "GET /hello HTTP/1.1\r\nHost: localhost\r\n: empty\r\n\r\n",
      std::string("GET /hello HTTP/1.1\r\nHost: localhost\r\nX: a") + '\0' + "b\r\n\r\n",
      "GET /hello HTTP/1.1\r\nHost: localhost\r\nX: a\rb\r\n\r\n",
      "GET /../hello HTTP/1.1\r\nHost: localhost\r\n\r\n",
      "GET /%2e%2e/hello HTTP/1.1\r\nHost: localhost\r\n\r\n",
      "GET /hello%00 HTTP/1.1\r\nHost: localhost\r\n\r\n",
      "GET /hello%0d%0a HTTP/1.1\r\nHost: localhost\r\n\r\n",
      "GET /hello%zz HTTP/1.1\r\nHost: localhost\r\n\r\n",
      "GET /hello%4 HTTP/1.1\r\nHost: localhost\r\n\r\n",
      "GET /a\\b HTTP/1.1\r\nHost: localhost\r\n\r\n",
  };
  for (const std::string& head : heads) {
    CAPTURE(head);
    const std::string answer = answer_to(hub, head);
    CHECK((answer.starts_with("HTTP/1.1 400") || answer.starts_with("HTTP/1.1 505")));
    CHECK(ends_connection(answer));
  }
}

TEST_CASE("one address gets its share of connections, others keep theirs", "[transport]") {
  Limits limits = quick_limits();
  limits.connections_per_address = 6;
  limits.head_time = 3000ms;
  const TestHub hub(Exposure::plain_loopback, limits);
  std::vector<std::unique_ptr<Raw>> greedy;
  int let_in = 0;
  for (int i = 0; i < 40; ++i) greedy.push_back(std::make_unique<Raw>(hub.port(), "127.0.0.2"));
  CHECK(honest_request(hub, "127.0.0.3") < 1000ms);
  for (auto& raw : greedy) {
    raw->read_to_end(10ms);
    let_in += !raw->ended();
  }
  CHECK(let_in == 6);
  greedy.clear();
  for (int i = 0; i < 100; ++i) {  // and gets it back
    Raw raw(hub.port(), "127.0.0.2");
    raw.send("GET /hello HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n");
    if (raw.read_to_end().starts_with("HTTP/1.1 200")) return;
    std::this_thread::sleep_for(10ms);
  }
  FAIL("the share was not given back");
}

TEST_CASE("a client that does not read its answer holds up nobody", "[transport]") {
  Limits limits = quick_limits();
  limits.connections_per_address = 30;
  const TestHub hub(Exposure::plain_loopback, limits);
  std::vector<std::unique_ptr<Raw>> deaf;
  for (int i = 0; i < 20; ++i) {
    deaf.push_back(std::make_unique<Raw>(hub.port(), "127.0.0.2"));
    deaf.back()->send("GET /lines?count=100000000 HTTP/1.1\r\nHost: localhost\r\n\r\n");
  }
  std::this_thread::sleep_for(100ms);
  CHECK(honest_request(hub) < 1000ms);
  // The hub gives up on each after write_time; what is sent to it after that is refused by its system.
  const auto deadline = Clock::now() + 15s;
  for (auto& raw : deaf) {
    while (raw->send("x") && Clock::now() < deadline) std::this_thread::sleep_for(10ms);
    CHECK(Clock::now() < deadline);
  }
}

TEST_CASE("a silent connection is ended after the keep-alive time, a busy one after its count", "[transport]") {
  Limits limits = quick_limits();
  limits.requests_per_connection = 3;
  const TestHub hub(Exposure::plain_loopback, limits);
  Raw silent(hub.port());
  silent.send("GET /hello HTTP/1.1\r\nHost: localhost\r\n\r\n");
  CHECK(silent.read_answer().starts_with("HTTP/1.1 200"));
  const auto start = Clock::now();
  silent.read_to_end();
  CHECK(silent.ended());
  CHECK(Clock::now() - start < 2s);

  std::string many;
  for (int i = 0; i < 10; ++i) many += "GET /hello HTTP/1.1\r\nHost: localhost\r\n\r\n";
  CHECK(count_of(answer_to(hub, many), "HTTP/1.1 200") == 3);
}

TEST_CASE("a second server on the same port is an error", "[transport]") {
  const TestHub hub;
  sync::http::Server second({.exposure = Exposure::plain_loopback});
  try {
    second.listen("127.0.0.1", hub.port());
    FAIL("both listen");
  } catch (const core::Error& error) {
    CHECK(error.fault() == core::Fault::busy);
  }
}

TEST_CASE("no packet waits for another: 44 ms a request, measured, where it does", "[transport]") {
  const auto listener = sync::net::listen_on("127.0.0.1", 0);
  const auto client =
      sync::net::connect_to("127.0.0.1", sync::net::local_address(listener.fd()).port, Clock::now() + 5s);
  std::optional<std::pair<sync::net::Socket, sync::net::Address>> served;
  bool out_of_files = false;
  for (int i = 0; i < 500 && !served; ++i) {
    served = sync::net::accept_from(listener, out_of_files);
    std::this_thread::sleep_for(1ms);
  }
  REQUIRE(served);
  for (const int fd : {served->first.fd(), client.fd()}) {
    int set = 0;
    socklen_t size = sizeof set;
    REQUIRE(getsockopt(fd, IPPROTO_TCP, TCP_NODELAY, &set, &size) == 0);
    CHECK(set != 0);
  }
}

TEST_CASE("a burst of connections is served without waiting for retransmission", "[transport]") {
  Limits limits = quick_limits();
  limits.connections_per_address = 200;
  const TestHub hub(Exposure::plain_loopback, limits);
  const auto start = Clock::now();
  std::vector<std::unique_ptr<Raw>> burst;
  for (int i = 0; i < 100; ++i) burst.push_back(std::make_unique<Raw>(hub.port()));
  for (auto& raw : burst) raw->send("GET /hello HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n");
  for (auto& raw : burst) CHECK(raw->read_to_end().starts_with("HTTP/1.1 200"));
  CHECK(Clock::now() - start < 900ms);  // a connection request that the backlog drops is sent again after 1 s
}
