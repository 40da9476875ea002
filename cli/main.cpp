// The program `rackside`: the daily verbs in itself, all others in `rackside-all` beside it (see cli/app.h).
#include <unistd.h>

#include <cstdio>
#include <filesystem>

#include "cli/app.h"
#include "cli/memory.h"
#include "core/base/error.h"

namespace {

/// Becomes the whole program; returns only where that fails.
int hand_over(char** argv) {
  std::error_code failed;
  const auto self = std::filesystem::read_symlink("/proc/self/exe", failed);
  const std::string whole = (self.parent_path() / "rackside-all").string();
  ::execv(whole.c_str(), argv);
  std::fprintf(stderr, "rackside: its other half, %s, cannot be started. Keep both files in one folder.\n",
               whole.c_str());
  return rackside::core::fault_info(rackside::core::Fault::internal).exit_status;
}

}  // namespace

int main(int argc, char** argv) {
  const rackside::cli::AddVerbs verbs = rackside::cli::daily_verbs_for(argc, argv);
  if (verbs == nullptr) return hand_over(argv);
  rackside::cli::keep_memory_flat();
  return rackside::cli::run_verbs(argc, argv, verbs);
}
