#include "sync/http/connection.h"

#include <sys/socket.h>

#include <algorithm>

#include "core/base/error.h"
#include "sync/coding/gzip.h"
#include "sync/http/guard.h"
#include "sync/http/policy.h"
#include "sync/tls/channel.h"

namespace rackside::sync::http {
namespace {

using net::Clock;

constexpr std::string_view kHubFault = "The hub could not do that. Its own screen says why.";
constexpr std::string_view kPlainOnTls =
    "HTTP/1.1 400 Bad Request\r\nContent-Type: text/plain\r\nConnection: close\r\n\r\n"
    "This is the hub's encrypted address: it starts with https://\n";

Response to_response(const Refusal& refusal) {
  return error_response(refusal.status, refusal.code, refusal.message);
}

/// A client learns the text of what it can mend itself; what is the hub's own trouble stays on the hub's screen.
Response to_response(const core::Error& fault, const Report& report) {
  const core::FaultInfo& info = core::fault_info(fault.fault());
  if (info.http_status < 500) return error_response(info.http_status, info.name, fault.what());
  report(fault.what());
  return error_response(info.http_status, info.name, kHubFault);
}

/// Shorter, it is one packet anyway.
constexpr std::size_t kWorthCompressing = 2048;
constexpr std::size_t kPiece = 16 * 1024;

Producer compressed(Producer whole) {
  auto writer = std::make_shared<coding::GzipWriter>();
  return [whole = std::move(whole), writer](const Sink& sink) {
    std::string ready;
    bool taken = true;
    const bool more = whole([&](std::string_view piece) {
      writer->take(piece, ready);
      if (ready.size() < kPiece) return taken;
      taken = sink(ready);
      ready.clear();
      return taken;
    });
    if (!more) writer->finish(ready);
    return (taken && sink(ready)) && more;
  };
}

Response compressed(Response answer) {
  if (answer.compress == Response::Compress::never) return answer;
  if (!answer.stream && answer.body.size() < kWorthCompressing) return answer;
  if (answer.stream)
    answer.stream = compressed(std::move(answer.stream));
  else
    answer.body = coding::gzip(answer.body);
  answer.fields.push_back({"Content-Encoding", "gzip"});
  return answer;
}

class Connection {
 public:
  Connection(const ConnectionContext& context, net::Channel& channel, const net::Address& peer, Scheme scheme)
      : context_(context),
        guard_(channel, context.options.limits),
        peer_(peer),
        local_ip_(net::local_address(channel.fd()).ip),
        scheme_(scheme) {}

  void run() {
    const Limits& limits = context_.options.limits;
    net::Milliseconds idle = limits.head_time;
    for (std::size_t served = 1; !context_.stopping; ++served) {
      auto next = guard_.next_head(idle);
      if (std::holds_alternative<Gone>(next)) return;
      const Persistence wish = served < limits.requests_per_connection ? Persistence::keep : Persistence::close;
      if (serve_one(next, wish) == Persistence::close) return guard_.end_gently();
      idle = limits.keep_alive;
    }
  }

 private:
  Persistence serve_one(std::variant<Head, Refusal, Gone>& next, Persistence wish) {
    if (const auto* refusal = std::get_if<Refusal>(&next))
      return send("GET", to_response(*refusal), Persistence::close);
    Head& head = std::get<Head>(next);
    if (head.persistence == Persistence::close) wish = Persistence::close;
    const auto found = find_route(head);
    if (const auto* answer = std::get_if<Response>(&found)) return send(head.method, *answer, wish);
    const Route& route = *std::get<const Route*>(found);
    if (head.content_length > route.options.body_limit.value_or(context_.options.limits.body))
      return send(head.method, error_response(413, "too-large", "The body is too large. Send it in smaller parts."),
                  Persistence::close);
    Request request = to_request(head);
    if (auto refused = admit(route, request)) return send(head.method, *refused, wish);
    return answer_with(route, head, std::move(request), wish);
  }

  std::variant<const Route*, Response> find_route(const Head& head) const {
    if (const auto no = check_host(head, context_.options.names, local_ip_)) return to_response(*no);
    if (const auto no = check_origin(head, scheme_)) return to_response(*no);
    return context_.router.find(head.method, head.path);
  }

  Request to_request(Head& head) const {
    Request out;
    out.method = head.method;
    out.path = std::move(head.path);
    out.query = std::move(head.query);
    out.fields = std::move(head.fields);
    out.token = std::move(head.token);
    out.remote_ip = peer_.ip;
    return out;
  }

  std::optional<Response> admit(const Route& route, Request& request) const {
    if (route.options.right.empty()) return std::nullopt;
    std::optional<Response> refused;
    const Response failed = guarded([&] {
      Admission admission = context_.options.admit(request, route.options.right);
      request.device = std::move(admission.device);
      request.role = std::move(admission.role);
      refused = std::move(admission.refused);
      return Response{};
    });
    if (failed.status != 200) return failed;
    return refused;
  }

  Persistence answer_with(const Route& route, const Head& head, Request request, Persistence wish) {
    if (head.expectation == Expectation::continue_100 && guard_.unread_body() > 0)
      guard_.send("HTTP/1.1 100 Continue\r\n\r\n");
    const std::size_t most = route.options.body_limit.value_or(context_.options.limits.body);
    const auto answer = [&](std::string body) {
      Response out = guarded([&] {
        // What it holds may be no larger than what could have been sent as it is.
        request.body = head.coding == Coding::gzip ? coding::gunzip(body, most) : std::move(body);
        return route.handler(request);
      });
      return head.takes == Coding::gzip ? compressed(std::move(out)) : out;
    };
    return exchange(head.method, Engine::Body::read, wish, answer);
  }

  template <class Call>
  Response guarded(Call call) const {
    const Report& report = context_.options.report;
    try {
      return call();
    } catch (const core::Error& fault) {
      return to_response(fault, report);
    } catch (const std::exception& fault) {
      report(std::string("A handler failed: ") + fault.what());
    } catch (...) {
      report("A handler failed with something that is no exception of the standard library.");
    }
    return error_response(500, "internal", kHubFault);
  }

  /// An ordinary no keeps the connection; the engine ends it when a body is on its way that nobody wants.
  Persistence send(std::string_view method, const Response& answer, Persistence wish) {
    const bool known = method == "GET" || method == "HEAD" || method == "POST" || method == "PUT" || method == "DELETE";
    return exchange(known ? method : "GET", Engine::Body::skip, wish, [&](const std::string&) { return answer; });
  }

  Persistence exchange(std::string_view method, Engine::Body body, Persistence wish, const Engine::Answer& answer) {
    const auto protect = [&](std::string text) {
      Response out = answer(std::move(text));
      // An answer that brings a field of its own, such as a stricter policy for one worker, keeps it.
      for (Field& field : security_fields(context_.options.content_security_policy)) {
        const auto same = [&](const Field& own) { return own.name == field.name; };
        if (std::none_of(out.fields.begin(), out.fields.end(), same)) out.fields.push_back(std::move(field));
      }
      out.fields.push_back({"Accept-Encoding", "gzip"});  // what a request's body may be written in
      if (out.status == 401) out.fields.push_back({"WWW-Authenticate", "Bearer"});
      return out;
    };
    return context_.engine.exchange(guard_, method, body, wish, protect, context_.options.report);
  }

  const ConnectionContext& context_;
  Guard guard_;
  const net::Address& peer_;
  std::string local_ip_;
  Scheme scheme_;
};

/// The first byte of a TLS connection is 22 (RFC 8446, section 5.1); a person who typed http:// gets an answer.
bool starts_tls(const net::Socket& socket, net::Instant deadline) {
  char first = 0;
  if (!net::wait_for(socket.fd(), net::Wait::readable, deadline)) return false;
  return ::recv(socket.fd(), &first, 1, MSG_PEEK) == 1 && first == 22;
}

std::unique_ptr<net::Channel> open_channel(net::Socket& socket, const tls::ServerContext* tls, const Limits& limits) {
  if (tls == nullptr) return net::plain_channel(std::move(socket));
  const net::Instant deadline = Clock::now() + limits.handshake;
  if (starts_tls(socket, deadline)) return tls->accept(std::move(socket), deadline);
  const auto plain = net::plain_channel(std::move(socket));
  plain->write(kPlainOnTls, deadline);
  Guard(*plain, limits).end_gently();
  return nullptr;
}

}  // namespace

void serve_connection(const ConnectionContext& context, net::Socket socket, const net::Address& peer,
                      const tls::ServerContext* tls) {
  const auto channel = open_channel(socket, tls, context.options.limits);
  if (channel) Connection(context, *channel, peer, tls == nullptr ? Scheme::http : Scheme::https).run();
}

}  // namespace rackside::sync::http
