#pragma once

#include <cstdint>

namespace rackside::simulation {

/// From now on whatever the program draws at random (the key of a device that succeeds itself, a signature's secret
/// number) comes from this seed, so that a run repeats. For the whole process; never for a program that people use.
void seed_randomness(std::uint64_t seed);

}  // namespace rackside::simulation
