#pragma once

#include <string>

#include "cli/terminal.h"

namespace rackside::cli {

/// Shows a text as a QR symbol in half blocks, dark on light whatever the terminal's colours are. Nothing where the
/// output is no terminal with colours.
void print_symbol(const Terminal& out, const std::string& text);

/// Writes it as a PNG, large enough to be scanned from a screen or a printed page. Errors: disk_full, disk_fault.
void write_symbol_png(const std::string& path, const std::string& text);

}  // namespace rackside::cli
