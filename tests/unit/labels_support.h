#pragma once

#include <algorithm>
#include <random>
#include <span>
#include <string>
#include <vector>

#include "core/base/error.h"
#include "core/codes/code.h"
#include "labels/design/label.h"

namespace rackside::tests {

/// Codes that are the same in every run.
inline void seeded_bytes(std::span<std::uint8_t> out) {
  static std::mt19937 random(20240611);
  for (std::uint8_t& byte : out) byte = static_cast<std::uint8_t>(random());
}
inline core::Code some_code(core::CodeKind kind) {
  return core::Code::generate(kind, seeded_bytes);
}

inline constexpr const char* kHost = "rack-7f3k.local:8443";

inline labels::Label place_label(const std::string& name, std::string_view host = {}) {
  labels::Label label = labels::label_for(labels::LabelKind::place, some_code(core::CodeKind::place), name, host);
  label.subtitle = "Rack B, row 2";
  return label;
}

/// With every field, so that every row is laid out.
inline labels::Label animal_card(const std::string& name, std::string_view host = {}) {
  labels::Label label =
      labels::label_for(labels::LabelKind::animal_card, some_code(core::CodeKind::animal), name, host);
  label.sex = labels::LabelSex::female;
  label.prey = "small rat";
  label.warning = "QUARANTINE";
  label.genes = {"amel", "motley"};
  label.possible_genes = {"66 % het anery", "50 % het charcoal"};
  label.hatch_year = "2021";
  label.parents = "C-03 × C-09";
  return label;
}

inline labels::Label scan_line(const std::string& entry) {
  labels::Label label = labels::label_for(labels::LabelKind::scan_line, some_code(core::CodeKind::shortcut), entry);
  label.subtitle = "ate at once";
  return label;
}

/// Names of many lengths and scripts, among them some that no label holds.
inline std::vector<std::string> names_of_all_sorts() {
  return {"C-14",
          "24-Okeetee-3",
          "gypsy jg",
          "The Extraordinarily Long-Named Princess of the Eastern Room",
          "WWWWWWWWWWWWWWWWWWWWWWWW",
          "نجمة الصباح",
          "نجمة الصباح فوق الجبال البعيدة في الشرق",
          "ฟ้าใส",
          "ปู่ที่อยู่ใต้ต้นไม้ใหญ่ที่สุดในป่า",
          "春の小川",
          "春の小川はさらさら行くよ岸のすみれやれんげの花に",
          "Ångström Ệ Ǻ",
          "שלום",
          "i",
          "-",
          "a\tb\nc"};
}

inline std::vector<std::string> payloads_of(const std::vector<labels::Label>& all) {
  std::vector<std::string> payloads;
  for (const labels::Label& label : all) payloads.push_back(label.payload);
  return payloads;
}

inline std::vector<std::string> sorted(std::vector<std::string> texts) {
  std::sort(texts.begin(), texts.end());
  return texts;
}

/// The error that a call throws: its fault, and its message for further checks.
template <class Call>
core::Error error_of(Call call) {
  try {
    call();
  } catch (const core::Error& error) {
    return error;
  }
  return {core::Fault::internal, "nothing was thrown"};
}

}  // namespace rackside::tests
