#pragma once

#include <cstdint>
#include <random>
#include <span>

namespace rackside::tests {

/// Everything that varies in a made-up photo, from one seed; the same on every platform, which the standard's
/// distributions are not.
class Chance {
 public:
  explicit Chance(std::uint32_t seed) : random_(seed) {}

  /// In [low, high).
  double between(double low, double high) { return low + (high - low) * static_cast<double>(random_()) / 4294967296.0; }
  /// In low..high, both included.
  int whole(int low, int high) {
    return low + static_cast<int>(random_() % static_cast<std::uint32_t>(high - low + 1));
  }
  bool one_in(double part) { return between(0, 1) < part; }
  /// With either sign.
  double either(double low, double high) { return (one_in(0.5) ? 1 : -1) * between(low, high); }
  template <class List>
  const auto& pick(const List& list) {
    return list[random_() % std::size(list)];
  }
  std::mt19937& source() { return random_; }

 private:
  std::mt19937 random_;
};

}  // namespace rackside::tests
