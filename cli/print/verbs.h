#pragma once

namespace CLI {
class App;
}

namespace rackside::cli {

class Session;

/// Adds `label` and its verbs.
void add_print_verbs(CLI::App& app, Session& session);

}  // namespace rackside::cli
