#include "sync/http/engine.h"

#include <httplib.h>

#include <algorithm>
#include <exception>

namespace rackside::sync::http {
namespace {

using Answer = Engine::Answer;
using Report = Engine::Report;

/// One request on its way through the library.
struct Exchange {
  Guard& guard;
  Engine::Body body;
  const Answer& answer;
  const Report& report;
  std::string replay;  ///< the canonical head, as far as the library has not read it
};

/// The library calls its handlers without a way to hand them anything, on the thread that started the exchange.
thread_local Exchange* current = nullptr;

/// What the library sees of a connection: the replayed head, the announced body, then the end. Not marked `override`:
/// which of these exist differs between the library's versions.
class GuardedStream : public httplib::Stream {
 public:
  explicit GuardedStream(Exchange& exchange) : exchange_(exchange) {}
  ~GuardedStream() = default;

  bool is_readable() const { return !exchange_.replay.empty() || exchange_.guard.unread_body() > 0; }
  bool is_writable() const { return !broken_; }
  bool wait_readable() const { return is_readable(); }
  bool wait_writable() const { return !broken_; }
  bool is_peer_alive() const { return !broken_; }
  time_t duration() const { return 0; }  // the guard keeps the time
  socket_t socket() const { return exchange_.guard.fd(); }
  void get_remote_ip_and_port(std::string&, int&) const {}
  void get_local_ip_and_port(std::string&, int&) const {}

  ssize_t read(char* into, size_t size) {
    if (!exchange_.replay.empty()) {
      const std::size_t count = std::min(size, exchange_.replay.size());
      exchange_.replay.copy(into, count);
      exchange_.replay.erase(0, count);
      return static_cast<ssize_t>(count);
    }
    const net::Transfer got = exchange_.guard.read_body({into, size});
    if (got.end == net::Io::done) return static_cast<ssize_t>(got.bytes);
    return got.end == net::Io::closed ? 0 : -1;
  }

  /// The library writes head and body apart. The first piece waits for the second, so that a short answer is one
  /// packet.
  ssize_t write(const char* data, size_t size) {
    const bool first = written_ == 0 && held_.empty();
    held_.append(data, size);
    if (!first) flush();
    return broken_ ? -1 : static_cast<ssize_t>(size);
  }

  void flush() {
    if (!broken_ && !exchange_.guard.send(held_)) broken_ = true;
    written_ += held_.size();
    held_.clear();
  }

  bool broken() const { return broken_; }

 private:
  Exchange& exchange_;
  std::string held_;
  std::size_t written_ = 0;
  bool broken_ = false;
};

bool is_clean(const std::string& text) {
  return std::none_of(text.begin(), text.end(), [](char c) { return (c >= 0 && c < 0x20) || c == 0x7f; });
}

/// One step of a streamed answer. False breaks the connection off: the peer sees a body without its end.
bool step_stream(const Producer& producer, const Report& report, httplib::DataSink& sink) {
  bool writable = true;
  const Sink write = [&](std::string_view piece) {
    // An empty chunk would be read as the end of the body.
    if (!piece.empty()) writable = writable && sink.write(piece.data(), piece.size());
    return writable;
  };
  try {
    if (!producer(write)) sink.done();
    return writable;
  } catch (const std::exception& fault) {
    report(std::string("A streamed answer was broken off: ") + fault.what());
  } catch (...) {
    report("A streamed answer was broken off.");
  }
  return false;
}

void fill_response(Response answer, const Report& report, httplib::Response& out) {
  out.status = answer.status;
  out.set_header("Cache-Control", answer.cache_control);
  for (const Field& field : answer.fields)
    if (is_clean(field.name) && is_clean(field.value)) out.set_header(field.name, field.value);
  if (!answer.stream) {
    out.set_content(answer.body, answer.content_type);
    return;
  }
  out.set_chunked_content_provider(answer.content_type,
                                   [producer = std::move(answer.stream), report](size_t, httplib::DataSink& sink) {
                                     return step_stream(producer, report, sink);
                                   });
}

void handle(const httplib::ContentReader* reader, httplib::Response& out) {
  std::string body;
  const auto append = [&](const char* data, size_t size) {
    body.append(data, size);
    return true;
  };
  Exchange& exchange = *current;
  const bool wanted = reader != nullptr && exchange.body == Engine::Body::read;
  if (wanted && (!(*reader)(append) || exchange.guard.unread_body() > 0))
    fill_response(error_response(408, "too-slow", "The body did not arrive whole. Send it again."), exchange.report,
                  out);
  else
    fill_response(exchange.answer(std::move(body)), exchange.report, out);
}

std::string replay_of(std::string_view method, std::size_t length, Persistence persistence) {
  std::string out(method);
  out += " / HTTP/1.1\r\nHost: hub\r\n";
  out += persistence == Persistence::keep ? "Connection: keep-alive\r\n" : "Connection: close\r\n";
  // Without a length, 0.11 would read until the connection ends for any method but GET and HEAD.
  if (method != "GET" && method != "HEAD") out += "Content-Length: " + std::to_string(length) + "\r\n";
  return out + "\r\n";
}

}  // namespace

class Engine::Library : public httplib::Server {
 public:
  Library() {
    const auto bare = [](const httplib::Request&, httplib::Response& out) { handle(nullptr, out); };
    const auto with_body = [](const httplib::Request&, httplib::Response& out, const httplib::ContentReader& reader) {
      handle(&reader, out);
    };
    Get("/", bare);
    Post("/", with_body);
    Put("/", with_body);
    Delete("/", with_body);
    set_payload_max_length(std::size_t{1} << 40);  // the guard's limits hold
    set_keep_alive_timeout(2);                     // only what the answer's Keep-Alive header says
    set_keep_alive_max_count(1000);
    // The library's own answer would show the exception's text.
    set_exception_handler([](const httplib::Request&, httplib::Response& out, auto&&) { out.status = 500; });
    svr_sock_ = 0;  // anything but "no socket", which the library takes for a shutdown and so ends every stream
  }

  ~Library() override { svr_sock_ = INVALID_SOCKET; }

  void shut_down() { svr_sock_ = INVALID_SOCKET; }

  template <class AnyStream>
  bool run(AnyStream& stream, Persistence persistence, bool& closed) {
    const bool close = persistence == Persistence::close;
    const std::function<void(httplib::Request&)> setup = [](httplib::Request&) {};
    if constexpr (requires { this->process_request(stream, close, closed, setup); })
      return this->process_request(stream, close, closed, setup);  // 0.11
    else
      return this->process_request(stream, "", 0, "", 0, close, closed, setup);  // 0.18 and later
  }
};

Engine::Engine() : library_(std::make_unique<Library>()) {}
Engine::~Engine() = default;

Persistence Engine::exchange(Guard& guard, std::string_view method, Body body, Persistence persistence,
                             const Answer& answer, const Report& report) {
  const std::size_t length = body == Body::read ? guard.unread_body() : 0;
  if (guard.unread_body() > length) persistence = Persistence::close;
  Exchange exchange{guard, body, answer, report, replay_of(method, length, persistence)};
  GuardedStream stream(exchange);
  bool closed = false;
  current = &exchange;
  const bool served = library_->run(stream, persistence, closed);
  current = nullptr;
  stream.flush();
  const bool keep = served && !closed && !stream.broken() && guard.unread_body() == 0;
  return keep ? persistence : Persistence::close;
}

void Engine::shut_down() {
  library_->shut_down();
}

}  // namespace rackside::sync::http
