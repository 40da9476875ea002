#pragma once

#include <string>
#include <vector>

namespace rackside::bench {

/// One run of a program, from its start to its end.
struct ProgramRun {
  double wall_ms = 0;
  double processor_ms = 0;  ///< in user space and in the kernel
};

/// Runs a program with its output thrown away. Throws when it fails.
ProgramRun run_program(const std::vector<std::string>& command);

/// The program that users run, and one whose main does nothing, both built beside this one.
std::string rackside_program();
std::string empty_program();

/// Medians of several runs.
ProgramRun median_run(const std::vector<ProgramRun>& runs);

/// How long it takes on the folder's disk to write two pages behind a file and to sync them: the median of many.
double fsync_milliseconds(const std::string& folder);

}  // namespace rackside::bench
