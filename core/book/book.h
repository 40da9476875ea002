#pragma once

#include <exception>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "core/book/database.h"
#include "core/book/lock.h"
#include "core/book/log_store.h"
#include "core/book/refold.h"
#include "core/codes/code.h"
#include "core/crypto/key.h"

namespace rackside::core {

/// What an author wants to write. The book adds his device, number, clock and signature.
struct Draft {
  Kind kind = Kind::unknown;
  std::vector<std::string> of;
  std::string place;
  std::vector<std::string> shown;
  std::string by;
  std::optional<SaidTime> said;
  std::vector<Answer> re;
  Value own;                        ///< the kind's own fields
  std::optional<std::string> text;  ///< sealed: a note or a person's name, never in the event itself
};

/// The end of one line of a device's chain, as vectors carry it.
struct Head {
  DeviceId device{};
  std::uint32_t seq = 0;
  Hash hash{};
  auto operator<=>(const Head&) const = default;
};

/// What a peer has: its heads, and for devices where heads did not suffice a ladder of earlier points.
struct PeerVector {
  std::vector<Head> heads;
  std::vector<DeviceId> laddered;  ///< devices whose points in `heads` go down to the first event
};

/// A run of one device's events that ends at a signed head: the unit of exchange. At most kSegmentEvents events.
struct Segment {
  DeviceId device{};
  std::uint32_t after = 0;                        ///< the number before the first event
  Hash previous{};                                ///< its hash; for `after` 0 the start of the chain
  std::vector<std::string> events;                ///< verbatim bytes
  std::vector<std::optional<SealedPart>> sealed;  ///< as many
  Signature signature{};                          ///< of the last event's head
};
constexpr std::size_t kSegmentEvents = 256;
constexpr std::size_t kSegmentBytes = 256 * 1024;

struct MergeResult {
  std::size_t stored = 0;        ///< new events
  std::size_t known = 0;         ///< held already: counted once, stored once
  std::size_t own = 0;           ///< new events of this very device: somebody else writes under its name
  std::vector<DeviceId> forked;  ///< devices of which a second branch was found now
  RefoldStats fold;
};

/// The two lines of `rackside check --digest`.
struct Digest {
  Hash log{};
  Hash state{};
  bool operator==(const Digest&) const = default;
};

struct CheckReport {
  Digest digest;
  std::size_t events = 0;
  std::size_t unread = 0;  ///< stored, but of devices that nobody admitted or that were retired before
  std::vector<DeviceId> forked;
  std::vector<std::string> problems;  ///< empty when the book is sound
};

/// One keeper's collection in one SQLite file: the log and the state folded from it.
/// Thread: one thread at a time per object; several objects and processes may open one file.
/// Durability: whatever a writing call did is on the disk when it returns.
class Book {
 public:
  struct Founding {
    std::string keeper;  ///< the keeper's name, sealed
    Zone zone;
    KeyPair root;  ///< its secret belongs into a file of its own, then out of this program
    KeyPair device;
    std::array<std::uint8_t, 16> salt{};
    Code keeper_code;  ///< code of the keeper as a helper
  };
  /// Founds a collection: the root admits this device as keeper and clock. Errors: BookExists, DiskFull, NoBook.
  static Book create(const std::string& path, const Founding& founding, const ClockReading& now);
  /// An empty book of an existing collection, for a device that joins it. `by`: code of its usual helper.
  static Book create_member(const std::string& path, const CollectionId& collection, const KeyPair& device,
                            const std::string& by, const ClockReading& now);
  /// Told of long work: how much is done, of how much.
  using Progress = std::function<void(std::size_t, std::size_t)>;
  /// A book that was last folded by another rule set is folded again first, which takes a while. Errors: NoBook,
  /// NotABook, NewerBook, Corrupt.
  static Book open(const std::string& path, const Progress& folding = {});
  /// Folds the state anew from the log, in one transaction: whoever has the book open meanwhile, a hub that serves,
  /// sees the state as it was, then as it is.
  void fold_anew(const Progress& folding = {});

  const CollectionId& collection() const { return collection_; }
  const DeviceId& device() const { return device_; }
  const std::string& path() const { return database_->path(); }

  /// Writes events as this device, all or none, durably; returns their references in order.
  std::vector<EventRef> record(std::vector<Draft> drafts, const ClockReading& now);
  EventRef record_one(Draft draft, const ClockReading& now) { return record({std::move(draft)}, now).front(); }
  const RefoldStats& last_fold() const { return last_fold_; }

  /// Before vectors are compared: marks the clock where the last event does not tell it or is of another
  /// local day, and signs this device's head.
  void prepare_sync(const ClockReading& now);
  /// As a clock: notes how far a device's clock is off, at most once a local day or when it moved by over 10 seconds.
  /// `named` is the device's newest event, held or not. Returns whether an event was written.
  bool check_clock(const EventRef& named, std::int64_t offset_ms, const ClockReading& now);
  bool is_clock();

  /// Whether events of this very device came from elsewhere: this book is a restored backup, or was copied, and the
  /// other wrote on. Both write under one name now; `succeed` ends that.
  bool has_double();
  /// Goes on as a new device: writes `succeeded` as the old one, which hands its role on, then begins a log of its
  /// own. Nothing that either copy wrote is lost. Errors: as `record`.
  void succeed(const ClockReading& now);
  /// The device to which others gave their tokens: this one, or the first that it succeeded since it joined.
  DeviceId known_as();

  std::vector<Head> heads();
  /// Points of a device's lines at growing distance from their heads, down to the first event.
  std::vector<Head> ladder(const DeviceId& device);
  /// Calls `take` with all that the peer lacks, in sendable order; stops when it returns false. Devices of which the
  /// peer's points say nothing that this book knows come back: exchange ladders for them.
  std::vector<DeviceId> missing_for(const PeerVector& peer, const std::function<bool(Segment&&)>& take);
  /// Stores what is new in one transaction. Segments that do not chain, verify or parse stop the call before anything
  /// is stored. Errors: BrokenChain, BadSignature, BadEvent, Busy, DiskFull.
  MergeResult merge(const std::vector<Segment>& segments);

  Digest digest();
  CheckReport check(const std::function<void(std::size_t done, std::size_t all)>& progress = {});

  /// Values of this copy alone, never synced (hub address, tokens, join secrets).
  std::optional<std::string> own_value(const std::string& key);
  void set_own_value(const std::string& key, const std::string& value);

  std::optional<SealedPart> sealed_of(EventRow row) { return log_->sealed_of(row); }
  LogStore& log() { return *log_; }
  Database& database() { return *database_; }
  /// For readers: sees what other processes wrote.
  void refresh();

  /// Moves what the write-ahead log holds into the book's file, under its lock: done at the end of what is not urgent,
  /// so that the file alone is nearly always whole. Does nothing when another process is writing.
  void tidy();
  ~Book();
  Book(Book&&) = default;
  Book& operator=(Book&&) = default;

  /// Work under the book's lock in one transaction that other processes see whole or not at all.
  void write(const std::function<void()>& work);
  /// Works that may write, each for itself, in one transaction with one wait for the disk. What one of them throws
  /// comes back in its place, and nothing of it is written then: all are taken back, and run again one by one. So each
  /// must be one that may run twice.
  std::vector<std::exception_ptr> write_each(const std::vector<std::function<void()>>& works);

 private:
  Book(std::unique_ptr<Database> database);
  void load_identity();
  void fold_by_rules_of_today(const Progress& folding);
  KeyPair own_key();
  EventRow append_own(std::int64_t branch, const Draft& draft, const ClockReading& now);
  void sign_head(std::int64_t branch);
  std::int64_t own_branch();
  void begin_log(const KeyPair& device, const ClockReading& now);
  Hash chain_start(const DeviceId& device) const;
  void store_segment(const Segment& segment, MergeResult& result);
  void verify(const Segment& segment, const Hash& head);
  void checkpoint_if_large();
  void forget_failed_work() noexcept;
  std::uintmax_t pending_bytes() const;

  std::unique_ptr<Database> database_;
  std::unique_ptr<LogStore> log_;
  CollectionId collection_{};
  DeviceId device_{};
  std::string by_;
  RefoldStats last_fold_;
  int data_version_ = 0;      ///< of the database when it was last read; 0: read all anew
  bool writes_each_ = false;  ///< inside write_each: the transaction is there already
  bool spoiled_ = false;      ///< a work in it failed halfway, whoever caught that: nothing of it may be kept
};

/// The bytes that a signature of a head covers.
std::string head_message(const CollectionId& collection, const DeviceId& device, std::uint32_t seq, const Hash& hash);

}  // namespace rackside::core
