#include "labels/design/label.h"

#include <algorithm>
#include <array>

#include "labels/symbol/symbol.h"

namespace rackside::labels {
namespace {

struct KindWord {
  LabelKind kind;
  std::string_view word;
};
constexpr std::array<KindWord, 9> kWords = {{{LabelKind::place, "place"},
                                             {LabelKind::strip, "strip"},
                                             {LabelKind::animal_card, "animal"},
                                             {LabelKind::hatchling, "hatchling"},
                                             {LabelKind::sale, "sale"},
                                             {LabelKind::clutch, "clutch"},
                                             {LabelKind::egg_box, "egg-box"},
                                             {LabelKind::helper_badge, "helper"},
                                             {LabelKind::scan_line, "scan-line"}}};

constexpr std::array<LabelKind, kWords.size()> kKinds = [] {
  std::array<LabelKind, kWords.size()> kinds{};
  for (std::size_t i = 0; i < kWords.size(); ++i) kinds[i] = kWords[i].kind;
  return kinds;
}();

}  // namespace

std::string_view word_of(LabelKind kind) {
  return kWords.at(static_cast<std::size_t>(kind)).word;
}

std::optional<LabelKind> label_kind_of(std::string_view word) {
  const auto found = std::find_if(kWords.begin(), kWords.end(), [&](const KindWord& row) { return row.word == word; });
  if (found == kWords.end()) return std::nullopt;
  return found->kind;
}

std::span<const LabelKind> label_kinds() {
  return kKinds;
}

Label label_for(LabelKind kind, const core::Code& code, std::string_view title, std::string_view host) {
  Label label;
  label.kind = kind;
  label.payload = host.empty() ? code.str() : link_text(host, code.text());
  label.code = code.spaced();
  label.title = title;
  return label;
}

}  // namespace rackside::labels
