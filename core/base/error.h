#pragma once

#include <span>
#include <stdexcept>
#include <string>
#include <string_view>

namespace rackside::core {

/// Every fault that a user or a peer can meet. One row of `error_table()` gives each its name, exit status and HTTP
/// status; adding a fault is adding one enumerator and one row.
enum class Fault {
  usage,             ///< the command line or an entry cannot be understood
  bad_code,          ///< a code fails its length, alphabet or check character
  unknown_code,      ///< a well-formed code or short ID that the book does not know
  ambiguous,         ///< a short ID that names several things
  bad_input,         ///< an input file or value is not what it should be
  unreadable_image,  ///< no picture, or a damaged one
  nothing_read,      ///< a picture without any code; a label that does not read back
  no_book,           ///< there is no book at that path
  not_a_book,        ///< the file is no book of ours
  newer_book,        ///< the book was written by a newer program
  book_exists,       ///< a book would be overwritten
  busy,              ///< another process holds the book's lock for too long
  disk_full,         ///< the file system has no room
  disk_fault,        ///< a read, write or fsync failed: stop, do not retry
  corrupt,           ///< stored bytes disagree with their hash or the state with the log
  bad_event,         ///< bytes that are not a well-formed event
  broken_chain,      ///< an event that does not follow the one before it
  bad_signature,     ///< a head whose signature does not verify
  other_collection,  ///< a peer that keeps another collection
  other_hub,         ///< a hub whose authority or key is not the pinned one
  expired_code,      ///< a join code that is used up, too old or tried too often
  not_allowed,       ///< the role of this device does not permit that
  unreachable,       ///< the hub does not answer
  protocol,          ///< a peer broke the protocol
  too_large,         ///< over a stated limit
  internal,          ///< our own bug
};

struct FaultInfo {
  Fault fault;
  std::string_view name;  ///< stable, lower case, for JSON and the protocol
  int exit_status;        ///< 1..125
  int http_status;
};

/// The one table of faults, in the order of the enumeration.
std::span<const FaultInfo> error_table();
const FaultInfo& fault_info(Fault fault);

/// The one exception type. `what()` is the whole message: what happened, why, and what to do, in one or two sentences.
/// Faults (disk, corruption, bad input) are thrown; expected outcomes (nothing read, nothing new) are values.
class Error : public std::runtime_error {
 public:
  Error(Fault fault, const std::string& message) : std::runtime_error(message), fault_(fault) {}
  Fault fault() const { return fault_; }

 private:
  Fault fault_;
};

}  // namespace rackside::core
