#pragma once

#include "sync/http/client.h"
#include "sync/protocol/peer.h"

namespace rackside::sync::hub {

/// The book behind a hub's routes. Source: sync/PROTOCOL.md, section 4.
class HttpPeer : public Peer {
 public:
  explicit HttpPeer(http::Client client) : client_(std::move(client)) {}
  VectorMessage heads(const VectorMessage& mine) override { return ask("/v1/heads", mine); }
  VectorMessage ladders(const VectorMessage& asked) override { return ask("/v1/ladders", asked); }
  void pull(const VectorMessage& mine, StreamReader& reader) override;
  Receipt push(const std::string& body) override;

 private:
  VectorMessage ask(const std::string& route, const VectorMessage& message);

  http::Client client_;
};

/// Throws the Error that a refused request states, or one that says what else came.
void throw_if_refused(const http::Reply& reply);

}  // namespace rackside::sync::hub
