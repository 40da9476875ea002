#pragma once

#include <functional>
#include <map>
#include <memory>
#include <optional>
#include <set>
#include <string>
#include <unordered_map>
#include <vector>

#include "core/book/database.h"
#include "core/book/fold_memory.h"
#include "core/fold/account.h"

namespace rackside::core {

/// One line of a device's chain from where it left its parent.
struct Branch {
  std::int64_t id = 0;
  std::int64_t device = 0;  ///< row of the device
  std::optional<std::int64_t> parent;
  std::uint32_t base_seq = 0;  ///< the last number shared with the parent; 0 for a first branch
  std::uint32_t head_seq = 0;
  Hash head_hash{};
};

inline EventRow make_row(std::int64_t branch, std::uint32_t seq) {
  return (branch << 32) | seq;
}
inline std::int64_t branch_of(EventRow row) {
  return row >> 32;
}
inline std::uint32_t seq_of(EventRow row) {
  return static_cast<std::uint32_t>(row & 0xffffffff);
}

/// What the fold found of one event: when it was seen, and the bits of event.mark.
struct Judged {
  std::optional<Instant> at;
  std::int64_t mark = 0;
  bool operator==(const Judged&) const = default;
};

/// An event at hand: it has just been appended, or a fold from nothing takes it up. It is written once, with what the
/// fold judged of it, when `flush` is called.
struct FreshEvent {
  EventRow row = 0;
  Hash hash{};
  std::string bytes;  ///< empty where the log holds them already
  std::shared_ptr<const Event> event;
  Judged judged;
  bool stored = false;
};

/// The log as it is stored: devices, branches, verbatim events, signatures, sealed parts. Judges nothing.
/// Thread: as its database. Writers call `reload` after they took the book's lock.
class LogStore {
 public:
  explicit LogStore(Database& database) : database_(database) { reload(); }

  /// Reads devices and branches again: another process may have written.
  void reload();

  std::optional<std::int64_t> find_device(const DeviceId& device) const;
  std::int64_t device_row(const DeviceId& device);  ///< makes it known
  const DeviceId& device_name(std::int64_t row) const { return device_names_.at(row); }
  std::optional<PublicKey> key_of(const DeviceId& device);
  void set_key(std::int64_t device, const PublicKey& key);

  const std::map<std::int64_t, Branch>& branches() const { return branches_; }
  const Branch& branch(std::int64_t id) const { return branches_.at(id); }
  std::vector<const Branch*> branches_of(std::int64_t device) const;
  std::vector<const Branch*> children_of(std::int64_t branch) const;

  /// 0 when not held.
  EventRow find(const EventRef& ref);
  /// The event of that line at a number: follows parents down.
  EventRow row_on_line(std::int64_t branch, std::uint32_t seq) const;
  /// Whether `event` stands at or before `head` on head's line.
  bool on_line(EventRow event, EventRow head) const;

  EventRef ref_of(EventRow row);
  Hash hash_of(EventRow row);
  std::string bytes_of(EventRow row);
  std::shared_ptr<const Event> event_of(EventRow row);  ///< cached until `forget`
  Judged judged_of(EventRow row);
  /// When it was seen, as last judged; where that has not happened, its own clock.
  Instant time_of(EventRow row);
  void judge(EventRow row, const Judged& judged);

  /// Appends to a branch whose head is the event before; the caller has checked the chain. `event` is what the bytes
  /// say. Held in memory until `flush`.
  EventRow append(std::int64_t branch, std::string_view bytes, const Hash& hash, std::shared_ptr<const Event> event);
  /// Takes up stored events of one branch, [first, last], as if they had just come.
  void take_up(std::int64_t branch, std::uint32_t first, std::uint32_t last);
  /// The events at hand, in the order in which they came.
  const std::vector<FreshEvent>& fresh() const { return fresh_; }
  /// The numbers at hand of each branch, from and to.
  std::vector<std::pair<EventRow, EventRow>> fresh_spans() const;
  /// Where an event stands among those at hand.
  std::optional<std::size_t> fresh_index(EventRow row) const;
  /// Writes the events at hand. They stay at hand.
  void flush();
  /// Lets go of what is at hand (after a flush) and of what was read.
  void forget();

  std::int64_t new_branch(std::int64_t device, std::optional<std::int64_t> parent, std::uint32_t base_seq,
                          const Hash& base_hash);

  void sign(EventRow row, const Signature& signature);
  std::optional<Signature> signature_of(EventRow row);
  /// The last signed number of a branch, at most `seq`; 0 when none.
  std::uint32_t last_signed(std::int64_t branch, std::uint32_t seq);

  void keep_sealed(EventRow row, const SealedPart& part);
  std::optional<SealedPart> sealed_of(EventRow row);

  Database& database() { return database_; }
  /// What the fold remembers between its runs; emptied with `reload`.
  FoldMemory& memory() { return memory_; }

 private:
  /// An older event, as read.
  struct Older {
    Hash hash{};
    Judged judged;
    std::string bytes;  ///< until it is decoded
    std::shared_ptr<const Event> event;
  };
  struct FreshLine {
    std::uint32_t first_seq = 0;
    std::vector<std::size_t> index;  ///< in fresh_, by number
  };
  Older& older(EventRow row);
  void put_at_hand(FreshEvent&& event);

  Database& database_;
  std::map<DeviceId, std::int64_t> devices_;
  std::unordered_map<std::int64_t, DeviceId> device_names_;
  std::map<std::int64_t, Branch> branches_;
  std::multimap<std::int64_t, std::int64_t> device_branches_;
  std::unordered_map<EventRow, Older> older_;
  std::vector<FreshEvent> fresh_;
  std::unordered_map<std::int64_t, FreshLine> fresh_lines_;
  std::size_t flushed_ = 0;             ///< so many of fresh_ are written
  std::set<std::int64_t> moved_heads_;  ///< branches whose heads are to be written
  FoldMemory memory_;
};

}  // namespace rackside::core
