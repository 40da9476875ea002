#include "labels/sheet/warnings.h"

#include <algorithm>
#include <cstdio>

namespace rackside::labels {
namespace {

constexpr std::size_t kMostNames = 4;

std::string in_hundredths(double mm) {
  char text[32];
  std::snprintf(text, sizeof text, "%.2f mm", mm);
  return text;
}

}  // namespace

void PrintWarnings::Which::add(const std::string& title) {
  if (first.size() < kMostNames) first.push_back(title);
  ++count;
}

void PrintWarnings::Which::add(const Which& other) {
  for (const std::string& title : other.first) {
    if (first.size() < kMostNames) first.push_back(title);
  }
  count += other.count;
}

/// "the label of B-2", "5 labels (B-2, C-22, D-1, D-4 …)"
std::string PrintWarnings::Which::text() const {
  if (count == 1) return "the label of " + first[0];
  std::string names;
  for (std::size_t i = 0; i < first.size(); ++i) names += (i > 0 ? ", " : "") + first[i];
  if (count > first.size()) names += " …";
  return std::to_string(count) + " labels (" + names + ")";
}

void PrintWarnings::add(const Label& label, const LaidOutLabel& laid_out) {
  smallest_module_ = std::min(smallest_module_, laid_out.module_mm);
  largest_module_ = std::max(largest_module_, laid_out.module_mm);
  if (laid_out.module_mm < kSmallModuleMm || laid_out.module_dots < kFewModuleDots) small_.add(label.title);
  for (const std::string& field : laid_out.left_out) no_room_[field].add(label.title);
  if (!laid_out.no_font.empty()) no_font_[laid_out.no_font].add(label.title);
}

void PrintWarnings::add(const PrintWarnings& other) {
  smallest_module_ = std::min(smallest_module_, other.smallest_module_);
  largest_module_ = std::max(largest_module_, other.largest_module_);
  small_.add(other.small_);
  for (const auto& [field, which] : other.no_room_) no_room_[field].add(which);
  for (const auto& [characters, which] : other.no_font_) no_font_[characters].add(which);
}

std::vector<std::string> PrintWarnings::texts() const {
  std::vector<std::string> all;
  if (small_.count > 0) {
    all.push_back("The modules of " + small_.text() + " are small (" + in_hundredths(smallest_module_) +
                  "): they read only from close by. A larger label, or the bare code instead of a link, helps.");
  }
  for (const auto& [field, which] : no_room_) all.push_back("No room for " + field + " on " + which.text() + ".");
  for (const auto& [characters, which] : no_font_) {
    all.push_back("No font on this computer has “" + characters + "” for " + which.text() +
                  ": boxes stand in its place. The package fonts-noto-core has most scripts, fonts-noto-cjk those of "
                  "Chinese, Japanese and Korean.");
  }
  return all;
}

}  // namespace rackside::labels
