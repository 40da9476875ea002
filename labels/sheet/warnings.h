#pragma once

#include <map>
#include <string>
#include <vector>

#include "labels/design/layout.h"

namespace rackside::labels {

/// Gathers what laid out labels make a keeper want to know, and says each thing once with the labels it holds for.
class PrintWarnings {
 public:
  void add(const Label& label, const LaidOutLabel& laid_out);
  /// One sentence or two for each kind of warning; empty when all is well.
  std::vector<std::string> texts() const;

 private:
  double smallest_module_ = 1e9;
  std::vector<std::string> small_;                           ///< titles of the labels with small modules
  std::map<std::string, std::vector<std::string>> no_room_;  ///< field → titles
};

}  // namespace rackside::labels
