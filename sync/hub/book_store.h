#pragma once

#include "core/book/book.h"
#include "sync/join/store.h"

namespace rackside::sync::hub {

/// Join codes and tokens in the hub's own book file, in tables that are never synced: so an invitation written by a
/// command beside the running hub counts there at once. Thread: as its book; its desk locks.
class BookStore : public join::Store {
 public:
  explicit BookStore(core::Book& book) : book_(book) {}

  void atomically(const std::function<void()>& work) override { book_.write(work); }
  std::vector<join::Invitation> invitations() override;
  void put(const join::Invitation& invitation) override;
  void remove_invitation(const core::Hash& secret_hash) override;
  std::vector<join::DeviceToken> tokens() override;
  std::vector<join::DeviceToken> tokens_starting(const std::array<std::uint8_t, 8>& prefix) override;
  void put(const join::DeviceToken& token) override;

 private:
  core::Book& book_;
};

}  // namespace rackside::sync::hub
