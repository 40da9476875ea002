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
  std::string short_id, name, species, sex, hatched, prey, every, acquired;
  std::string supplier;  ///< sealed, never a field
  std::string place;
};

inline constexpr int kMostPlaces = 500;

std::string checked_sex(const std::string& text);
std::string checked_date(const std::string& text);
std::string checked_interval(const std::string& text);
/// The fields that were said, checked. Errors: usage.
core::Value set_of(const AnimalOptions& options);

/// A draft that registers a thing. `set`: its first fields.
core::Draft registration(core::Kind kind, const core::Code& code, core::Value set);
/// A draft that registers an animal with what was said of it, its supplier sealed. Errors: usage.
core::Draft animal_registration(const core::Code& code, const AnimalOptions& options);

/// A rack that does not exist yet, with its places in the order of the walk.
struct RackOptions {
  std::string name;
  int places = 0;
  int walk = 0;  ///< 0: after the racks there are
  bool quarantine = false;
};
struct NewRack {
  core::Code code;
  std::vector<core::Draft> drafts;
  std::vector<std::pair<std::string, std::string>> places;  ///< short ID and code
};
/// Errors: usage for a wrong number of places, bad_input for a name that is taken.
NewRack new_rack(Session& session, const RackOptions& options);

/// Short IDs are the keeper's own and name one thing each. Errors: bad_input.
void refuse_known_short_id(Session& session, const std::string& short_id);

/// A move names the occupancy that its author believed in: where the animal was, and who was there.
std::vector<core::Answer> believed_occupancy(core::Reader& reader, core::Thing animal, std::optional<core::Thing> place,
                                             core::Instant now);

inline const std::vector<std::string> kParents = {"sire", "dam", "possible-sire"};

}  // namespace rackside::cli
