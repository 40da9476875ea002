#pragma once

#include <optional>
#include <string>
#include <vector>

#include "cli/session.h"

// What the verbs of the register share: the fields of an animal, checked, and how they are recorded.
namespace rackside::cli {

core::Error bad_value(const std::string& what);

/// What a person said of an animal; empty texts were not said.
struct AnimalOptions {
  std::string id;
  std::string short_id, name, species, sex, hatched, prey, every, status;
  std::string place;
};

std::string checked_sex(const std::string& text);
std::string checked_date(const std::string& text);
std::string checked_interval(const std::string& text);
/// The fields that were said, checked. Errors: usage.
core::Value set_of(const AnimalOptions& options);

/// A draft that registers a thing. `set`: its first fields.
core::Draft registration(core::Kind kind, const core::Code& code, core::Value set);
/// Short IDs are the keeper's own and name one thing each. Errors: bad_input.
void refuse_known_short_id(Session& session, const std::string& short_id);

/// A move names the occupancy that its author believed in: where the animal was, and who was there.
std::vector<core::Answer> believed_occupancy(core::Reader& reader, core::Thing animal, std::optional<core::Thing> place,
                                             core::Instant now);

inline const std::vector<std::string> kParents = {"sire", "dam", "possible-sire"};

/// Registers animals from a table. See import.cpp for its form.
void import_animals(Session& session, const std::string& path);

}  // namespace rackside::cli
