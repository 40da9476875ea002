// Compressed bodies over real sockets: who takes what, and what a bomb comes to.
#include <thread>

#include "sync/coding/gzip.h"
#include "tests/fault/transport_support.h"
#include "tests/support/catch.h"
#include "tests/support/program.h"

using namespace rackside;
using namespace rackside::tests;
using sync::http::Client;
using sync::http::Exposure;
using sync::http::Request;
using sync::http::Response;

namespace {

std::string post(const std::string& body, const std::string& more = "Content-Encoding: gzip\r\n") {
  return "POST /echo HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n" + more +
         "Content-Length: " + std::to_string(body.size()) + "\r\n\r\n" + body;
}

std::string body_of(const std::string& answer) {
  return answer.substr(answer.find("\r\n\r\n") + 4);
}

std::string gzip_of_zeros(std::size_t size) {
  const Folder folder;
  write_text(folder / "zeros", std::string(size, '\0'));
  return run_program("gzip", {"-9nc", folder / "zeros"}).out;
}

/// A hub that offers what it may compress.
class PackingHub {
 public:
  explicit PackingHub(std::string text) : server_({.exposure = Exposure::plain_loopback}) {
    server_.route("GET", "/whole", [text](const Request&) {
      return Response{.body = text, .compress = Response::Compress::when_taken};
    });
    server_.route("GET", "/secret", [text](const Request&) { return Response{.body = text}; });
    server_.route("GET", "/lines", [text](const Request&) {
      Response out{.compress = Response::Compress::when_taken};
      out.stream = [text, at = std::size_t{0}](const sync::http::Sink& sink) mutable {
        const std::string_view piece = std::string_view(text).substr(at, 50'000);
        at += piece.size();
        return sink(piece) && at < text.size();
      };
      return out;
    });
    server_.route("GET", "/broken", [text](const Request&) {
      Response out{.compress = Response::Compress::when_taken};
      out.stream = [text, step = 0](const sync::http::Sink& sink) mutable -> bool {
        if (++step > 2) throw std::runtime_error("the disk");
        return sink(text);
      };
      return out;
    });
    server_.route("POST", "/take", [this](const Request& request) {
      codings_.emplace_back(request.field("content-encoding").value_or("none"));
      return Response{.body = std::to_string(request.body.size())};
    });
    server_.listen("127.0.0.1", 0);
  }
  int port() const { return server_.bound_port(); }
  const std::vector<std::string>& codings() const { return codings_; }

 private:
  std::vector<std::string> codings_;
  sync::http::Server server_;
};

std::string asked(int port, const std::string& target, const std::string& more) {
  Raw raw(port);
  raw.send("GET " + target + " HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n" + more + "\r\n");
  return raw.read_to_end();
}

std::string many_lines() {
  std::string out;
  for (int i = 0; i < 20'000; ++i) out += "{\"line\":" + std::to_string(i * 7919 % 100'003) + "}\n";
  return out;
}

Client client_of(int port) {
  return Client(sync::http::parse_url("http://127.0.0.1:" + std::to_string(port)), sync::http::NoPin{});
}

/// An older hub: it says nothing of codings and answers each request with an empty object.
class OlderHub {
 public:
  explicit OlderHub(std::size_t requests)
      : listener_(sync::net::listen_on("127.0.0.1", 0)), thread_([this, requests] { serve(requests); }) {}
  ~OlderHub() { thread_.join(); }
  int port() const { return sync::net::local_address(listener_.fd()).port; }
  const std::string& heard() const { return heard_; }

 private:
  void serve(std::size_t requests) {
    bool full = false;
    for (const auto begin = Clock::now(); Clock::now() - begin < 5s;) {
      auto accepted = sync::net::accept_from(listener_, full);
      if (!accepted) {
        std::this_thread::sleep_for(1ms);
        continue;
      }
      const auto channel = sync::net::plain_channel(std::move(accepted->first));
      std::array<char, 65'536> piece;
      for (std::size_t i = 0; i < requests; ++i) {
        std::string text;
        while (!whole(text)) {
          const auto got = channel->read(piece, Clock::now() + 5s);
          if (got.end != sync::net::Io::done) return;
          text.append(piece.data(), got.bytes);
        }
        heard_ += text;
        channel->write("HTTP/1.1 200 OK\r\nContent-Type: application/json\r\nContent-Length: 3\r\n\r\n{}\n",
                       Clock::now() + 5s);
      }
      return;
    }
  }
  static bool whole(const std::string& text) {
    const std::size_t end = text.find("\r\n\r\n");
    if (end == text.npos) return false;
    const std::size_t at = text.find("Content-Length: ");
    return at != text.npos && text.size() >= end + 4 + std::stoul(text.substr(at + 16));
  }

  sync::net::Socket listener_;
  std::string heard_;
  std::thread thread_;
};

}  // namespace

TEST_CASE("a compressed body is read, and counts as what it holds", "[transport][gzip]") {
  const TestHub hub;
  CHECK(body_of(answer_to(hub, post(sync::coding::gzip("hello")))) == "hello");
  CHECK(answer_to(hub, post("no gzip at all")).starts_with("HTTP/1.1 400"));
  CHECK(answer_to(hub, post(sync::coding::gzip("hello").substr(0, 12))).starts_with("HTTP/1.1 400"));
  CHECK(answer_to(hub, post(sync::coding::gzip("hello") + "and more")).starts_with("HTTP/1.1 400"));
  CHECK(hub.echoed() == 1);
}

TEST_CASE("a bomb is turned down with the limit of a plain body, and told so", "[transport][gzip]") {
  const TestHub hub;
  const std::string bomb = gzip_of_zeros(300'000'000);
  REQUIRE(bomb.size() < 1024 * 1024);  // as a body it may come
  const auto start = Clock::now();
  const std::string answer = answer_to(hub, post(bomb));
  CHECK(answer.starts_with("HTTP/1.1 413"));
  CHECK(contains(answer, "too-large"));
  CHECK(contains(answer, "swells to over 200 times its size"));
  CHECK(Clock::now() - start < 3s);
  CHECK(hub.echoed() == 0);
  CHECK(hub.reports().empty());
  // Just within, and just over.
  CHECK(body_of(answer_to(hub, post(gzip_of_zeros(200'000)))).size() == 200'000);
  CHECK(answer_to(hub, post(sync::coding::gzip(std::string(1024 * 1024 + 1, 'x')))).starts_with("HTTP/1.1 413"));
}

TEST_CASE("a body is packed only for who takes it, and only where the hub lets it", "[transport][gzip]") {
  const std::string text = many_lines();
  const PackingHub hub(text);
  for (const std::string target : {"/whole", "/lines"}) {
    const std::string plain = asked(hub.port(), target, "");
    CHECK_FALSE(contains(plain, "Content-Encoding"));
    CHECK_FALSE(contains(asked(hub.port(), target, "Accept-Encoding: br, gzip;q=0\r\n"), "Content-Encoding"));
    const std::string packed = asked(hub.port(), target, "Accept-Encoding: gzip, deflate, br\r\n");
    CHECK(contains(packed, "Content-Encoding: gzip"));
    CHECK(packed.size() * 2 < plain.size());
  }
  CHECK_FALSE(contains(asked(hub.port(), "/secret", "Accept-Encoding: gzip\r\n"), "Content-Encoding"));
  CHECK((sync::coding::gunzip(body_of(asked(hub.port(), "/whole", "Accept-Encoding: gzip\r\n")), text.size()) == text));
}

TEST_CASE("the client reads both, and a packed answer that breaks off is no whole one", "[transport][gzip]") {
  const std::string text = many_lines();
  const PackingHub hub(text);
  Client client = client_of(hub.port());
  CHECK((client.get("/whole").body == text));
  std::string lines;
  CHECK(client.get_lines("/lines", [&](std::string_view line) { lines += std::string(line) + "\n"; }).status == 200);
  CHECK((lines == text));
  std::string some;
  CHECK_THROWS_AS(client.get_lines("/broken", [&](std::string_view line) { some += std::string(line) + "\n"; }),
                  core::Error);
  CHECK(!some.empty());
  CHECK(((text + text).starts_with(some)));
}

TEST_CASE("the client packs what it sends once the hub has said that it takes it", "[transport][gzip]") {
  const PackingHub hub("");
  Client client = client_of(hub.port());
  const std::string text = many_lines();
  CHECK(client.post("/take", "text/plain", text).body == std::to_string(text.size()));  // nobody has said anything yet
  CHECK(client.post("/take", "text/plain", text).body == std::to_string(text.size()));
  CHECK(client.post("/take", "text/plain", "short").body == "5");
  CHECK(hub.codings() == std::vector<std::string>{"none", "gzip", "none"});
}

TEST_CASE("an older hub is never sent anything packed", "[transport][gzip]") {
  OlderHub hub(3);
  Client client = client_of(hub.port());
  for (int i = 0; i < 3; ++i) CHECK(client.post("/take", "text/plain", many_lines()).body == "{}\n");
  CHECK(count_of(hub.heard(), "Content-Length: " + std::to_string(many_lines().size())) == 3);
  CHECK_FALSE(contains(hub.heard(), "Content-Encoding"));
}

TEST_CASE("an answer in a coding that was not asked for is refused", "[transport][gzip]") {
  sync::http::Server server({.exposure = Exposure::plain_loopback});
  server.route("GET", "/odd", [](const Request&) {
    Response out{.body = "x"};
    out.fields.push_back({"Content-Encoding", "zstd"});
    return out;
  });
  server.listen("127.0.0.1", 0);
  Client client = client_of(server.bound_port());
  CHECK_THROWS_AS(client.get("/odd"), core::Error);
}
