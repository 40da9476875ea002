#include <array>
#include <chrono>
#include <thread>

#include "core/base/error.h"
#include "sync/http/client.h"
#include "sync/http/guard.h"
#include "sync/http/head.h"
#include "sync/http/message.h"
#include "sync/http/policy.h"
#include "sync/http/reply_reader.h"
#include "sync/http/router.h"
#include "sync/http/shares.h"
#include "tests/support/catch.h"

using namespace rackside;
using namespace rackside::sync::http;
using rackside::tests::contains;

namespace {

int refused(const std::string& text) {
  const auto parsed = parse_head(text, Limits{});
  const auto* refusal = std::get_if<Refusal>(&parsed);
  return refusal == nullptr ? 0 : refusal->status;
}

/// A hub that says what it was told to, in pieces of the size given.
class Script : public sync::net::Channel {
 public:
  Script(std::string text, std::size_t piece) : text_(std::move(text)), piece_(piece) {}
  sync::net::Transfer read(std::span<char> into, sync::net::Instant) override {
    if (text_.empty()) return {sync::net::Io::closed, 0};
    const std::size_t count = std::min({into.size(), piece_, text_.size()});
    text_.copy(into.data(), count);
    text_.erase(0, count);
    return {sync::net::Io::done, count};
  }
  sync::net::Transfer write(std::string_view data, sync::net::Instant) override {
    return {sync::net::Io::done, data.size()};
  }
  void finish(sync::net::Instant) override {}
  int fd() const override { return -1; }

 private:
  std::string text_;
  std::size_t piece_;
};

std::string read_reply(const std::string& text, std::size_t piece) {
  Script script(text, piece);
  ReplyReader reader(script, sync::net::Milliseconds(1000));
  const ReplyHead head = reader.head();
  std::string out = std::to_string(head.status) + ":";
  reader.body(head, [&](std::string_view part) { out += part; });
  return out + (reader.reusable() ? ":kept" : ":closed");
}

}  // namespace

TEST_CASE("an honest head is read in full", "[transport]") {
  const auto parsed = parse_head(
      "POST /t/C%2d14?a=1&b=x%20y HTTP/1.1\r\nHost: rack-test.local\r\nContent-Length: 12\r\n"
      "AUTHORIZATION:   Bearer abc  \r\nExpect: 100-continue\r\nConnection: close\r\n\r\n",
      Limits{});
  const auto* head = std::get_if<Head>(&parsed);
  REQUIRE(head != nullptr);
  CHECK(head->method == "POST");
  CHECK(head->path == "/t/C-14");
  CHECK(head->query == "a=1&b=x%20y");
  CHECK(head->field("host") == "rack-test.local");
  CHECK(head->content_length == 12);
  CHECK(head->framing == Framing::sized);
  CHECK(head->token == "abc");
  CHECK(head->expectation == Expectation::continue_100);
  CHECK(head->persistence == Persistence::close);
}

TEST_CASE("a head is refused for what two readers could understand differently", "[transport]") {
  const std::string get = "GET / HTTP/1.1\r\nHost: a\r\n";
  const std::string post = "POST / HTTP/1.1\r\nHost: a\r\n";
  CHECK(refused(get + "\r\n") == 0);
  CHECK(refused(get + "Content-Length: 0\r\n\r\n") == 0);
  CHECK(refused(get + "Content-Length: 1\r\n\r\n") == 400);
  CHECK(refused(post + "\r\n") == 411);
  CHECK(refused(post + "Content-Length: 1, 1\r\n\r\n") == 400);
  CHECK(refused(post + "Content-Length: -1\r\n\r\n") == 400);
  CHECK(refused(post + "Content-Length:\r\n\r\n") == 400);
  CHECK(refused(post + "Content-Length: 99999999999999999999999\r\n\r\n") == 413);
  CHECK(refused(post + "Content-Length: 1\r\nContent-Length: 1\r\n\r\n") == 400);
  CHECK(refused(post + "Content-Length: 1\r\nTransfer-Encoding: chunked\r\n\r\n") == 411);
  CHECK(refused(post + "Content-Length: 1\r\nContent-Encoding: gzip\r\n\r\n") == 0);
  CHECK(refused(post + "Content-Length: 1\r\nContent-Encoding: br\r\n\r\n") == 415);
  CHECK(refused(post + "Content-Length: 1\r\nContent-Encoding: gzip\r\nContent-Encoding: gzip\r\n\r\n") == 400);
  CHECK(refused(get + "Content-Encoding: gzip\r\n\r\n") == 415);
  CHECK(refused(get + "X: a\n\r\n") == 400);
  CHECK(refused(get + "X : a\r\n\r\n") == 400);
  CHECK(refused(get + " folded\r\n\r\n") == 400);
  CHECK(refused(get + "Range: bytes=0-1,3-4\r\n\r\n") == 416);
  CHECK(refused(get + "Expect: something\r\n\r\n") == 417);
  CHECK(refused(get + "Authorization: Basic x\r\n\r\n") == 401);
  CHECK(refused(get + "\r\nGET / HTTP/1.1\r\n\r\n") == 400);
  CHECK(refused("GET / HTTP/1.0\r\nHost: a\r\n\r\n") == 505);
}

TEST_CASE("a head cut short anywhere is refused, never misread", "[transport]") {
  const std::string whole = "POST /push HTTP/1.1\r\nHost: a\r\nContent-Length: 3\r\nAuthorization: Bearer t\r\n\r\n";
  CHECK(refused(whole) == 0);
  for (std::size_t size = 0; size < whole.size(); ++size) CHECK(refused(whole.substr(0, size)) != 0);
}

TEST_CASE("bytes that never stop coming do not outlive their time", "[transport]") {
  using namespace std::chrono_literals;
  /// Always ready, so that nobody ever waits, and never done.
  class Trickle : public Script {
   public:
    Trickle() : Script("POST / HTTP/1.1\r\nHost: a\r\nContent-Length: 1000000\r\n\r\n", 1000) {}
    sync::net::Transfer read(std::span<char> into, sync::net::Instant deadline) override {
      const auto start = Script::read(into, deadline);
      if (start.end == sync::net::Io::done) return start;
      std::this_thread::sleep_for(1ms);
      into[0] = 'x';
      return {sync::net::Io::done, 1};
    }
  };
  Limits limits;
  limits.head_time = limits.body_time = 50ms;
  Trickle trickle;
  Guard guard(trickle, limits);
  REQUIRE(std::holds_alternative<Head>(guard.next_head(1000ms)));
  const auto start = sync::net::Clock::now();
  std::array<char, 100> piece;
  sync::net::Transfer got;
  while ((got = guard.read_body(piece)).end == sync::net::Io::done && sync::net::Clock::now() - start < 5s) continue;
  CHECK(got.end == sync::net::Io::timed_out);
  Guard again(trickle, limits);
  const auto next = again.next_head(1000ms);
  REQUIRE(std::holds_alternative<Refusal>(next));
  CHECK(std::get<Refusal>(next).status == 408);
}

TEST_CASE("parameters of a query are decoded one by one", "[transport]") {
  Request request;
  request.query = "a=1&b=x+y%26z&c&b=second&d=%zz&=e";
  CHECK(request.parameter("a") == "1");
  CHECK(request.parameter("b") == "x y&z");
  CHECK(request.parameter("c") == "");
  CHECK(!request.parameter("d"));
  CHECK(!request.parameter("x"));
  CHECK(decode_percent("%41%2f") == "A/");
  CHECK(!decode_percent("%4"));
  CHECK(!decode_percent("%"));
}

TEST_CASE("texts become proper JSON strings", "[transport]") {
  CHECK(json_string("a\"b\\c\n\x01 é") == "\"a\\\"b\\\\c\\u000a\\u0001 é\"");
}

TEST_CASE("the longest route that fits is found", "[transport]") {
  Router router;
  const auto named = [](const std::string& name) {
    return [name](const Request&) {
      Response out;
      out.body = name;
      return out;
    };
  };
  router.add("GET", "/*", named("any"), {});
  router.add("GET", "/api/*", named("api"), {});
  router.add("GET", "/api/pull", named("pull"), {});
  router.add("POST", "/api/push", named("push"), {});
  const auto found = [&](std::string_view method, std::string_view path) -> std::string {
    const auto result = router.find(method, path);
    if (const auto* route = std::get_if<const Route*>(&result)) return (*route)->handler({}).body;
    return std::to_string(std::get<Response>(result).status);
  };
  CHECK(found("GET", "/") == "any");
  CHECK(found("GET", "/x") == "any");
  CHECK(found("GET", "/api/x") == "api");
  CHECK(found("GET", "/api") == "api");
  CHECK(found("GET", "/apix") == "any");
  CHECK(found("GET", "/api/pull") == "pull");
  CHECK(found("HEAD", "/api/pull") == "pull");
  CHECK(found("POST", "/api/push") == "push");
  CHECK(found("POST", "/api/pull") == "405");
  CHECK(found("DELETE", "/api/push") == "405");
  CHECK(Router().find("GET", "/").index() == 1);
}

TEST_CASE("a share is granted up to its limit and given back", "[transport]") {
  Shares shares(3, 2);
  CHECK(shares.enter("a") == Shares::Entry::granted);
  CHECK(shares.enter("a") == Shares::Entry::granted);
  CHECK(shares.enter("a") == Shares::Entry::refused);
  CHECK(shares.enter("b") == Shares::Entry::granted);
  CHECK(shares.enter("c") == Shares::Entry::refused);
  shares.leave("a");
  CHECK(shares.enter("c") == Shares::Entry::granted);
  shares.leave("nobody");
  CHECK(shares.total() == 3);
}

TEST_CASE("addresses of one IPv6 network share, IPv4 addresses do not", "[transport]") {
  using sync::net::share_key;
  CHECK(share_key("192.168.1.2") != share_key("192.168.1.3"));
  CHECK(share_key("fd00:1:2:3::1") == share_key("fd00:1:2:3:ffff::2"));
  CHECK(share_key("fd00:1:2:3::1") != share_key("fd00:1:2:4::1"));
  CHECK(sync::net::is_loopback("127.9.9.9"));
  CHECK(sync::net::is_loopback("::1"));
  CHECK(!sync::net::is_loopback("128.0.0.1"));
  CHECK(!sync::net::is_loopback("localhost"));
}

TEST_CASE("a hub's address is taken apart or refused with a reason", "[transport]") {
  const Url plain = parse_url("http://[::1]:8080/x");
  CHECK(plain.scheme == Url::Scheme::http);
  CHECK(plain.host == "::1");
  CHECK(plain.port == 8080);
  const Url usual = parse_url("Rack-1.Local");
  CHECK(usual.scheme == Url::Scheme::https);
  CHECK(usual.host == "rack-1.local");
  CHECK(usual.port == 443);
  CHECK(parse_url("rack.local:8443").port == 8443);
  for (const std::string bad : {"", "ftp://a", "https://", "https://a:", "https://a:0", "https://a:65536",
                                "https://a:x", "https://[::1", "https://[::1]x", "https://:80", "a:99999999999999"})
    CHECK_THROWS_AS(parse_url(bad), core::Error);
}

TEST_CASE("answers are read the same in pieces of any size", "[transport]") {
  const std::string sized = "HTTP/1.1 200 OK\r\nContent-Length: 5\r\n\r\nhello";
  const std::string chunked =
      "HTTP/1.1 200 OK\r\nTransfer-Encoding: chunked\r\n\r\n3\r\nabc\r\nA;x=y\r\n0123456789\r\n0\r\nTrailer: x\r\n\r\n";
  const std::string closing = "HTTP/1.1 200 OK\r\nConnection: close\r\n\r\nto the end";
  for (std::size_t piece = 1; piece < 40; ++piece) {
    CHECK(read_reply(sized, piece) == "200:hello:kept");
    CHECK(read_reply(chunked, piece) == "200:abc0123456789:kept");
    CHECK(read_reply(closing, piece) == "200:to the end:closed");
    CHECK(read_reply("HTTP/1.1 204 No Content\r\n\r\n", piece) == "204::kept");
  }
}

TEST_CASE("an answer cut short anywhere is an error", "[transport]") {
  const std::vector<std::string> answers = {
      "HTTP/1.1 200 OK\r\nContent-Length: 5\r\n\r\nhello",
      "HTTP/1.1 200 OK\r\nTransfer-Encoding: chunked\r\n\r\n3\r\nabc\r\n0\r\n\r\n"};
  for (const std::string& whole : answers)
    for (std::size_t size = 0; size < whole.size(); ++size)
      CHECK_THROWS_AS(read_reply(whole.substr(0, size), 7), core::Error);
  for (const std::string broken :
       {"SSH-2.0-x\r\n\r\n", "HTTP/1.1 200 OK\r\nno colon\r\n\r\n", "HTTP/1.1 200 OK\r\nContent-Length: x\r\n\r\n",
        "HTTP/1.1 200 OK\r\nTransfer-Encoding: chunked\r\n\r\n3\r\nabcd\r\n0\r\n\r\n",
        "HTTP/1.1 200 OK\r\nTransfer-Encoding: chunked\r\n\r\n-1\r\nabcd\r\n0\r\n\r\n"})
    CHECK_THROWS_AS(read_reply(broken, 7), core::Error);
}
