#include <CLI/CLI.hpp>

#include "cli/print/verbs.h"
#include "cli/session.h"
#include "cli/verbs.h"

namespace rackside::cli {

void add_label_verbs(CLI::App& app, Session& session) {
  add_print_verbs(app, session);
}

}  // namespace rackside::cli
