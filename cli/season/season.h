#pragma once

#include <cstdint>
#include <string>

namespace CLI {
class App;
}

// The verbs around a breeding season, one file each.
namespace rackside::cli {

class Session;

void add_clutch_verb(CLI::App& app, Session& session);
void add_hatchling_verb(CLI::App& app, Session& session);
void add_sex_verb(CLI::App& app, Session& session);
void add_rotation_verb(CLI::App& app, Session& session);
void add_question_lists(CLI::App& app, Session& session);
/// Prints labels, so it is none of the daily program's.
void add_young_verb(CLI::App& app, Session& session);

/// "28.5 °C"
std::string celsius_text(std::int64_t tenths);

}  // namespace rackside::cli
