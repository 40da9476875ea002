#pragma once

#include <functional>

#include "sync/protocol/responder.h"
#include "tests/simulation/fleet.h"

namespace rackside::simulation {

/// The other book at the far end of a poor Wi-Fi. Of a hundred messages about `roughness` are lost, cut, sent twice or
/// held back. A lost message, or a lost answer, is Error(unreachable), as a real one would be.
class RoughPeer : public sync::Peer {
 public:
  /// `hold` takes a push that comes later.
  RoughPeer(sync::Responder responder, int roughness, std::uint64_t seed, std::function<void(const std::string&)> hold)
      : responder_(std::move(responder)), roughness_(roughness), dice_(seed), hold_(std::move(hold)) {}

  sync::VectorMessage heads(const sync::VectorMessage& mine) override;
  sync::VectorMessage ladders(const sync::VectorMessage& asked) override;
  void pull(const sync::VectorMessage& mine, sync::StreamReader& reader) override;
  sync::Receipt push(const std::string& body) override;

 private:
  bool goes_wrong() { return dice_.percent(roughness_); }
  void may_be_lost();

  sync::Responder responder_;
  int roughness_;
  Dice dice_;
  std::function<void(const std::string&)> hold_;
};

}  // namespace rackside::simulation
