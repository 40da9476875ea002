#pragma once

#include "sync/protocol/peer.h"

namespace rackside::sync {

/// The vector of a book as it stands now.
VectorMessage describe(core::Book& book, const std::string& name, const core::ClockReading& now);

/// The side of an exchange that answers: the same for a book in this process, at the end of a pipe, and in a hub.
/// Thread: as its book.
class Responder {
 public:
  /// `name` is what people at the other side are told; no path of this machine where it goes over a network.
  Responder(core::Book& book, std::string name, ClockSource clock)
      : book_(book), name_(std::move(name)), clock_(std::move(clock)) {}

  /// Errors: other_collection, with both names.
  void require_same_collection(const VectorMessage& asked) const;
  /// Marks and checks clocks first, so that what this writes is among the heads it answers with.
  VectorMessage heads(const VectorMessage& asked);
  VectorMessage ladders(const VectorMessage& asked);
  /// Streams all that the asker lacks; stops when the sink does.
  void pull(const VectorMessage& asked, const Sink& sink);
  /// Stores a whole stream, at most a batch at a time, each in one transaction.
  Receipt push(std::string_view body);
  const core::CollectionId& collection() const { return book_.collection(); }

 private:
  core::Book& book_;
  std::string name_;
  ClockSource clock_;
};

/// A peer in this process.
class LocalPeer : public Peer {
 public:
  explicit LocalPeer(Responder responder) : responder_(std::move(responder)) {}
  VectorMessage heads(const VectorMessage& mine) override { return responder_.heads(mine); }
  VectorMessage ladders(const VectorMessage& asked) override { return responder_.ladders(asked); }
  void pull(const VectorMessage& mine, StreamReader& reader) override;
  Receipt push(const std::string& body) override { return responder_.push(body); }

 private:
  Responder responder_;
};

}  // namespace rackside::sync
