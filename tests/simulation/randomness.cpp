// OpenSSL 3 calls this way of replacing its random source old; its new way is a provider of some hundred lines.
#define OPENSSL_SUPPRESS_DEPRECATED
#include "tests/simulation/randomness.h"

#include <openssl/rand.h>

#include <random>

namespace rackside::simulation {
namespace {

std::mt19937_64& engine() {
  static std::mt19937_64 made;
  return made;
}

int draw(unsigned char* out, int count) {
  for (int i = 0; i < count; ++i) out[i] = static_cast<unsigned char>(engine()() & 0xff);
  return 1;
}
int always_ready() {
  return 1;
}

}  // namespace

void seed_randomness(std::uint64_t seed) {
  static const RAND_METHOD method = {nullptr, draw, nullptr, nullptr, draw, always_ready};
  static const int installed = RAND_set_rand_method(&method);
  static_cast<void>(installed);
  engine().seed(seed);
}

}  // namespace rackside::simulation
