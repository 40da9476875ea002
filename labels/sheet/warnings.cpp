#include "labels/sheet/warnings.h"

#include <algorithm>
#include <cstdio>

namespace rackside::labels {
namespace {

constexpr std::size_t kMostNames = 4;

/// "the label of B-2", "5 labels (B-2, C-22, D-1, D-4 …)"
std::string which(const std::vector<std::string>& titles) {
  if (titles.size() == 1) return "the label of " + titles[0];
  std::string names;
  for (std::size_t i = 0; i < std::min(titles.size(), kMostNames); ++i) names += (i > 0 ? ", " : "") + titles[i];
  if (titles.size() > kMostNames) names += " …";
  return std::to_string(titles.size()) + " labels (" + names + ")";
}

std::string in_hundredths(double mm) {
  char text[32];
  std::snprintf(text, sizeof text, "%.2f mm", mm);
  return text;
}

}  // namespace

void PrintWarnings::add(const Label& label, const LaidOutLabel& laid_out) {
  if (laid_out.module_mm < kSmallModuleMm) {
    small_.push_back(label.title);
    smallest_module_ = std::min(smallest_module_, laid_out.module_mm);
  }
  for (const std::string& field : laid_out.left_out) no_room_[field].push_back(label.title);
}

std::vector<std::string> PrintWarnings::texts() const {
  std::vector<std::string> all;
  if (!small_.empty()) {
    all.push_back("The modules of " + which(small_) + " are small (" + in_hundredths(smallest_module_) +
                  "): they read only from close by. A larger label, or the bare code instead of a link, helps.");
  }
  for (const auto& [field, titles] : no_room_) all.push_back("No room for " + field + " on " + which(titles) + ".");
  return all;
}

}  // namespace rackside::labels
