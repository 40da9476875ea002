#pragma once

#include <map>
#include <string>
#include <vector>

#include "core/book/book.h"

namespace rackside::core {

// The register of prints: which label was printed when, on what, and what it said then (kind `printed`, FORM.md).

/// One print, as one event or the part of it that one event holds.
struct PrintRecord {
  EventRow row = 0;
  Instant at = 0;
  std::string design;                ///< "animal"
  std::string on;                    ///< "a4-3x8", "57x32@203"
  std::vector<std::string> codes;    ///< what was labelled
  std::vector<std::string> digests;  ///< of what each label said, in the same order
};

/// What was printed last for a code in a design.
struct LastPrint {
  std::string digest;
  std::string on;
  Instant at = 0;
};

/// All prints, newest first. Events whose lists do not fit together are left out.
std::vector<PrintRecord> prints(Book& book);

/// By code and design.
std::map<std::pair<std::string, std::string>, LastPrint> last_prints(Book& book);

/// Codes that one event names at most: with their digests it then stays well under the largest event.
inline constexpr std::size_t kMostPrintedInOneEvent = 1500;

/// The events that register one print. `codes` and `digests` go together.
std::vector<Draft> printed_drafts(const std::string& design, const std::string& on,
                                  const std::vector<std::string>& codes, const std::vector<std::string>& digests);

/// 16 hex digits that stand for what a label says.
std::string print_digest(std::string_view content);

}  // namespace rackside::core
