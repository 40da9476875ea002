#pragma once

#include <string>
#include <vector>

#include "cli/session.h"

// What the verbs of care share.
namespace rackside::cli {

/// Records one setting; an empty value takes it back. Only a keeper's devices count for settings, so on another's it is
/// turned down. Errors: usage.
void record_setting(Session& session, const std::string& key, core::Value value);

/// Changes fields of an animal's record, naming what the form showed.
void record_fields(Session& session, const core::Named& animal, const core::Value& set);

/// Animals of the register by their species as written there, and the classes that are in use, each once.
std::vector<std::string> species_in(core::Reader& reader);
std::vector<std::string> classes_in(core::Reader& reader);

/// "A, B, C"
std::string list_of(const std::vector<std::string>& all);

}  // namespace rackside::cli
