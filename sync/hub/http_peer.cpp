#include "sync/hub/http_peer.h"

namespace rackside::sync::hub {

void throw_if_refused(const http::Reply& reply) {
  if (reply.status < 400) return;
  std::string_view body = reply.body;
  if (body.ends_with('\n')) body.remove_suffix(1);
  const core::ParseResult said = core::parse_strict(body);
  if (said.problem == core::Malformed::none) throw_if_error(said.value);
  throw core::Error(core::Fault::protocol, "The hub refused with status " + std::to_string(reply.status) +
                                               ". Is it a Rackside hub, and is this its address?");
}

VectorMessage HttpPeer::ask(const std::string& route, const VectorMessage& message) {
  VectorReader reader;
  const auto take = [&](std::string_view line) { reader.line(line); };
  throw_if_refused(client_.post_lines(route, std::string(kLinesType), to_text(message), take));
  return reader.take();
}

void HttpPeer::pull(const VectorMessage& mine, StreamReader& reader) {
  const auto take = [&](std::string_view line) { reader.line(line); };
  throw_if_refused(client_.post_lines("/v1/pull", std::string(kLinesType), to_text(mine), take));
}

Receipt HttpPeer::push(const std::string& body) {
  const http::Reply reply = client_.post("/v1/push", std::string(kLinesType), body);
  throw_if_refused(reply);
  return receipt_from_text(reply.body);
}

}  // namespace rackside::sync::hub
