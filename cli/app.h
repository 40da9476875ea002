#pragma once

namespace CLI {
class App;
}

namespace rackside::cli {

class Session;

/// Runs the program and returns its exit status (core/base/error.h gives the table).
int run(int argc, const char* const* argv);

/// Adds some verbs to a program.
using AddVerbs = void (*)(CLI::App& app, Session& session);
/// Runs a program of these verbs.
int run_verbs(int argc, const char* const* argv, AddVerbs add_verbs);

/// The verbs among which the command is, if it is a daily one: entries, `today`, questions and what else needs neither
/// pictures, pages nor the network; nullptr for every other. The libraries for those are 40 files, whose loading takes
/// longer than an entry, so the program `rackside` holds the daily verbs alone and hands every other command to
/// `rackside-all` beside it.
AddVerbs daily_verbs_for(int argc, const char* const* argv);

}  // namespace rackside::cli
