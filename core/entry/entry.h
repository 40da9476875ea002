#pragma once

#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "core/log/event.h"
#include "core/log/kinds.h"
#include "core/log/value.h"

// What people type or scan at the tub: "fed small-rat x2", "shed stuck tail", "laid 7+1". Pure.
namespace rackside::core {

/// One short entry as understood, before anybody knows of whom.
struct Entry {
  Kind kind = Kind::unknown;
  Value own;                         ///< the kind's own fields (core/log/FORM.md, section 3); null when it has none
  std::string target;                ///< `paired`, `moved`: the other animal or the place, as typed
  std::string note;                  ///< free text, sealed when written
  std::optional<Relation> relation;  ///< a trailing "again", "same" or "replaces"
  bool operator==(const Entry&) const = default;
};

/// A kind's entry form: one row of `entry_forms()`. To let a kind be entered, add its row in entry.cpp.
struct EntryForm {
  Kind kind;
  std::string_view words;  ///< what begins it, the usual word first, separated by spaces
  std::string_view form;   ///< shown in help and with errors
  std::string_view help;
  /// Reads the words after the first into the entry; returns what was not understood, empty when fine.
  std::string (*read)(const std::vector<std::string>& words, Entry& entry);
  /// The words after the first that `read` reads back into the same fields.
  std::string (*type)(const Entry& entry);
  /// The event for people, past tense; where its own fields tell more, `say` makes it: "ate 2 × small-rat".
  std::string_view said;
  std::string (*say)(const Value& own) = nullptr;
};
std::span<const EntryForm> entry_forms();
/// nullptr where a kind has no entry form.
const EntryForm* entry_form(Kind kind);
/// The form that a word begins, in any case; nullptr for any other word.
const EntryForm* entry_form(std::string_view word);
/// Whether a line begins like an entry.
bool begins_entry(std::string_view line);

struct EntryReading {
  std::optional<Entry> entry;
  std::string problem;  ///< for people: what was not understood, and the form; empty when fine
};
/// Free words go behind "--" (sealed); a relation stands last before it. Case and spacing do not matter.
EntryReading parse_entry(std::string_view line);

/// The entry as one would type it: parsing it gives the same entry. The key of the double-scan guard.
std::string typed_form(const Entry& entry);
/// "ate 2 × small-rat", "laid 7 good, 1 slug"; for kinds without an entry form the sentence of the kinds table.
std::string event_text(Kind kind, const Value& own);

}  // namespace rackside::core
