#pragma once

#include <map>
#include <set>
#include <string_view>
#include <vector>

#include "core/fold/account.h"
#include "core/rules/rule.h"

// What cannot be: life after a departure, eggs of a male, a pair of one sex, an animal among its own ancestors, entries
// of a device after it was retired. What was seen is never refused and nothing is changed by these rules: they ask
// whether the animal or the record is the wrong one.
namespace rackside::core {

/// The kinds that tell of a living animal in the room.
bool tells_of_life(Kind kind);
/// The kinds that only a female can give cause for.
bool tells_of_eggs(Kind kind);

/// Of one animal's departures (`left`, `died`), moves home and signs of life: the departure that holds, first, and what
/// contradicts it, in the order of the group; empty where nothing does. A later move home ends an absence, but nobody
/// comes home after `died`: then the move is one of the contradictions. Seen within half an hour, or before by either
/// account's word, is no contradiction.
std::vector<std::size_t> contradictions_of_departure(const Group& group);

/// The belief while such a question is open, and its only answer: what was recorded stands.
Verdict stands_until_answered();

/// Who is whose parent, by all that was said: child to parents.
using Parents = std::map<Thing, std::set<Thing>>;
/// All animals that are, through their parents, among each other's ancestors with `animal`, itself included; empty
/// where it is not among its own.
std::set<Thing> ring_of_ancestors(const Parents& parents, Thing animal);

}  // namespace rackside::core
