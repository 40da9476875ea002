#pragma once

#include <limits>
#include <map>
#include <string>
#include <vector>

#include "labels/design/layout.h"

namespace rackside::labels {

/// Gathers what laid out labels make a keeper want to know, and says each thing once with the labels it holds for.
/// Its memory does not grow with the number of labels.
class PrintWarnings {
 public:
  void add(const Label& label, const LaidOutLabel& laid_out);
  void add(const PrintWarnings& other);
  /// One sentence or two for each kind of warning; empty when all is well.
  std::vector<std::string> texts() const;

  double smallest_module_mm() const { return smallest_module_; }
  double largest_module_mm() const { return largest_module_; }

 private:
  /// Some labels by name, and how many there are.
  struct Which {
    std::size_t count = 0;
    std::vector<std::string> first;
    void add(const std::string& title);
    void add(const Which& other);
    std::string text() const;
  };

  double smallest_module_ = std::numeric_limits<double>::max();
  double largest_module_ = 0;
  Which small_;                           ///< labels with small modules
  std::map<std::string, Which> no_room_;  ///< field → labels
  std::map<std::string, Which> no_font_;  ///< characters that no font here has → labels
};

}  // namespace rackside::labels
