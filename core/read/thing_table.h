#pragma once

#include <algorithm>
#include <cstddef>
#include <vector>

#include "core/base/error.h"
#include "core/book/book.h"

namespace rackside::core {

/// A value for every thing of a book. Things are numbered from 1 without gaps (table `code`), so that a look is an
/// index: a hash table of ten thousand places cost a day's list more than the places themselves.
template <typename T>
class ThingTable {
 public:
  /// Makes room. Errors: corrupt, for a number that no book reaches.
  T& operator[](Thing thing) {
    if (thing < 0 || thing > kMostThings)
      throw Error(Fault::corrupt, "The book is damaged: a thing has a number that no book reaches.");
    const auto index = static_cast<std::size_t>(thing);
    if (index >= values_.size()) values_.resize(std::max(index + 1, 2 * values_.size()));
    return values_[index];
  }
  /// Makes room for things up to that number at once.
  void make_room(Thing last) { (*this)[last]; }
  /// Numbers of things end before it.
  Thing end() const { return static_cast<Thing>(values_.size()); }
  /// What was never set is T{}.
  const T& of(Thing thing) const {
    static const T kNothing{};
    const auto index = static_cast<std::size_t>(thing);
    return index < values_.size() ? values_[index] : kNothing;
  }

 private:
  static constexpr Thing kMostThings = 100'000'000;
  std::vector<T> values_;
};

}  // namespace rackside::core
