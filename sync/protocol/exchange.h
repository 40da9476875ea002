#pragma once

#include "sync/protocol/peer.h"

namespace rackside::sync {

/// How far an exchange has come, for people: called after every batch.
struct Progress {
  std::size_t received = 0;  ///< events stored here
  std::size_t sent = 0;      ///< events that the other side acknowledged
};
using OnProgress = std::function<void(const Progress&)>;

struct SyncResult {
  std::string peer;  ///< the name that the other side gave
  core::DeviceId peer_device{};
  std::size_t received = 0;                   ///< events that were new here
  std::size_t sent = 0;                       ///< events that were new there
  std::size_t repeated = 0;                   ///< events that either side held already
  std::vector<core::DeviceId> received_from;  ///< devices that wrote what came
  std::vector<core::DeviceId> forked;         ///< of which a second line was found now, here or there
  std::optional<core::DeviceId> succeeded;    ///< the device that this book writes as from now on: it had a double
  std::size_t round_trips = 0;
};

/// A viewer only receives: no hub takes events from it.
enum class Ways { both, receive };

/// One full exchange, both ways, led by this side: clock marks and checks, vectors of heads, what the other has and
/// this book lacks, then what it lacks. Afterwards both books hold the same events, but for those that others added
/// meanwhile. Nothing new: one round trip, nothing written.
/// A break at any point loses nothing that was acknowledged, and the next exchange goes on from there.
/// Errors: other_collection (before anything is written), those of the peer, of Book::merge and of the stream.
SyncResult exchange(core::Book& mine, const std::string& my_name, Peer& peer, const ClockSource& clock,
                    Ways ways = Ways::both, const OnProgress& on_progress = {});

}  // namespace rackside::sync
