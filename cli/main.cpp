#include "cli/app.h"

int main(int argc, char** argv) {
  return rackside::cli::run(argc, argv);
}
