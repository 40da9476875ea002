#pragma once

#include <set>
#include <string>
#include <vector>

#include "core/husbandry/facts.h"
#include "core/husbandry/limits.h"
#include "core/read/reader.h"

namespace rackside::core {

/// One thing that a phone in the aisle must know, as one line of compact JSON. The same thing has the same key in every
/// copy, so that only lines that changed need to travel.
struct AisleLine {
  std::string key;   ///< "animal:A7K2M9QX4A", "question:3f2a91c0"
  std::string text;  ///< an object whose member "t" names the sort of line; sync/PROTOCOL.md, section 8
};

/// The compact copy of a book that the aisle needs: settings, racks, places, animals that live here with what was seen
/// of them lately, helpers, scan sheet entries, codes of egg boxes and of cards printed anew, open questions, what
/// rotations ask for today, when eggs are due. What is due is not in it: the phone computes that from the facts, for
/// every night that it stays away.
std::vector<AisleLine> aisle_lines(Reader& reader, Instant now);

/// The lines of some animals and places, and of all open questions: what an event at hand changes, long before all
/// lines of a large book are gathered. Things of other kinds are passed over.
std::vector<AisleLine> aisle_lines_of(Reader& reader, const std::set<Thing>& things, Instant now);

/// Animals and places that these events tell of, those of the events that they answer included. Not what a late event
/// changes of others: only the whole copy is sure to hold that.
std::set<Thing> told_of(Reader& reader, const std::vector<EventRow>& events);

/// The facts from which the phone computes what is due, by the names of core/husbandry/facts.h; zeros and unknowns left
/// out. `interval` [least, most, 1 for a rule of thumb], `fast` [from, to, why], `courses` [[remedy, day, repeat]…].
void add_facts_to(const AnimalFacts& facts, Value& line);
/// The limits of care by their words, with underscores.
Value value_of(const Limits& limits);

}  // namespace rackside::core
