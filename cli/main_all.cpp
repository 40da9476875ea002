// The program `rackside-all`: every verb. `rackside` starts it for what it does not do itself.
#include "cli/app.h"
#include "cli/memory.h"

int main(int argc, char** argv) {
  rackside::cli::keep_memory_flat();
  return rackside::cli::run(argc, argv);
}
