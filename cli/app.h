#pragma once

namespace rackside::cli {

/// Runs the program and returns its exit status (core/base/error.h gives the table).
int run(int argc, const char* const* argv);

}  // namespace rackside::cli
