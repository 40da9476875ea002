#pragma once

namespace CLI {
class App;
}

namespace rackside::cli {

class Session;

/// Runs the program and returns its exit status (core/base/error.h gives the table).
int run(int argc, const char* const* argv);

/// Whether the command is one of the daily verbs: entries, `today`, questions and what else needs neither pictures,
/// pages nor the network. The libraries for those are 40 files, whose loading takes longer than an entry, so the
/// program `rackside` holds the daily verbs alone and hands every other command to `rackside-all` beside it.
bool is_daily(int argc, const char* const* argv);
int run_daily(int argc, const char* const* argv);

/// Runs a program of these verbs.
using AddVerbs = void (*)(CLI::App& app, Session& session);
int run_verbs(int argc, const char* const* argv, AddVerbs add_verbs);

}  // namespace rackside::cli
