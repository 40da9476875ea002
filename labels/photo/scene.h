#pragma once

#include <random>
#include <vector>

#include "labels/design/layout.h"

namespace rackside::labels {

/// Uniform in [0, 1): the same on every platform, which the standard's distributions are not.
inline double uniform(std::mt19937& random) {
  return static_cast<double>(random()) / 4294967296.0;
}

/// The front of a rack, flat and lit evenly: shelves, tubs with bedding, some with their dweller, and the labels.
Picture rack_front(const std::vector<Label>& labels, LabelSize size, int columns, std::mt19937& random,
                   const TextRuler& ruler);

}  // namespace rackside::labels
