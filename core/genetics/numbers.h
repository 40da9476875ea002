#pragma once

#include <cstdint>

namespace rackside::core::genetics {

/// Numbers from 0 to 1, always the same ones. Source: SplitMix64, Steele, Lea and Flood 2014.
class Numbers {
 public:
  explicit Numbers(std::uint64_t seed = 1) : state_(seed) {}
  double next() {
    std::uint64_t z = state_ += 0x9e3779b97f4a7c15U;
    z = (z ^ z >> 30) * 0xbf58476d1ce4e5b9U;
    z = (z ^ z >> 27) * 0x94d049bb133111ebU;
    return static_cast<double>((z ^ z >> 31) >> 11) * 0x1p-53;
  }

 private:
  std::uint64_t state_;
};

}  // namespace rackside::core::genetics
