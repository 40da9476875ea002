#pragma once

#include <string>
#include <vector>

#include "labels/labels.h"

namespace rackside::cli {

/// What goes to a printer through CUPS' program `lp`.
struct PrintJob {
  std::string printer;  ///< empty: the default one
  std::string title;
  std::string media;  ///< "A4", "Letter" or "Custom.50x25mm"
  std::string file;
};

std::string media_of(labels::LabelSize page);

/// The command, word by word.
std::vector<std::string> lp_command(const PrintJob& job);
/// The same as one would type it.
std::string as_typed(const std::vector<std::string>& command);

/// Runs `lp` and returns what it said ("request id is …").
/// Errors: bad_input where there is no `lp` or it refused, with what it said and where the proven file is.
std::string send_to_printer(const PrintJob& job);

}  // namespace rackside::cli
