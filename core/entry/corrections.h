#pragma once

#include <optional>
#include <string>
#include <vector>

#include "core/read/reader.h"

// Taking back, bringing back, and closing a rack's offers: entries that judge other entries.
namespace rackside::core {

/// Whether a person takes it back as an entry: what was seen, a move, a fate. Register edits are corrected by edits.
bool is_entry(Kind kind);

/// This device's newest entry that stands, if it was written within the last 12 hours or on the same local day: an undo
/// pressed once too often must not reach into last week.
std::optional<StoryLine> newest_own_entry(Reader& reader, Instant now);
/// The newest entry that stands of a thing, whoever wrote it.
std::optional<StoryLine> newest_entry_of(Reader& reader, Thing thing);

/// Events whose hash begins with these hex digits (at least 4), as `history` shows them; at most 8.
std::vector<EventRef> events_beginning(Reader& reader, std::string_view hex);

/// Withdraws an event. Errors: usage when it is none that can be withdrawn, or is withdrawn already.
Draft withdrawal_of(const StoryLine& line);
/// Lifts every withdrawal of it that stands. Errors: usage when nothing stands against it; the message says when it was
/// replaced instead (then the replacing entry is what to withdraw).
Draft restoration_of(Reader& reader, const StoryLine& line);

/// The settlements that name an account of a question: a further one names them too, so that two people who answered
/// unawares can be told apart.
std::vector<EventRef> settlements_of(Reader& reader, const Question& question);

/// "The rest of rack C ate": one event that names every open offer of the rack.
struct RestAte {
  std::optional<Draft> draft;  ///< nothing when no offer is open
  std::vector<Named> animals;
};
RestAte rest_ate(Reader& reader, const Named& rack, Instant now);

}  // namespace rackside::core
