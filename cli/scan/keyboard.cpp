#include "cli/scan/keyboard.h"

#include <array>
#include <vector>

namespace rackside::cli {
namespace {

// Source: the symbols of xkb-data 2.35.1 (us, de, ch, fr, be, cz, sk, hu, es, it, se, dk, no, pt), key by key. The
// rows with Shift or Caps Lock: from memory of how common keyboards behave.
constexpr std::array kLayouts = {
    KeyboardLayout{"German (QWERTZ)", "zyZYöÖ-_ß", "yzYZ;:/?-"},
    KeyboardLayout{"Swiss (QWERTZ)", "zyZYöé-_'", "yzYZ;:/?-"},
    KeyboardLayout{"French (AZERTY)", "aqzwAQZW,?&é\"'(-è_çàmM!):;", "qawzQAWZmM1234567890;:/-.,"},
    KeyboardLayout{"Belgian (AZERTY)", "aqzwAQZW,?&é\"'(§è!çàmM=):;", "qawzQAWZmM1234567890;:/-.,"},
    KeyboardLayout{"Czech (QWERTZ)", "zyZY+ěščřžýáíéů\"-=", "yzYZ1234567890;:/-"},
    KeyboardLayout{"Slovak (QWERTZ)", "zyZY+ľščťžýáíéô\"-=", "yzYZ1234567890;:/-"},
    KeyboardLayout{"Hungarian (QWERTZ)", "zyZYöéÉ-_ü", "yzYZ0;:/?-"},
    KeyboardLayout{"Spanish, Italian or Portuguese", "ñÑçÇ-'", ";:::/-"},
    KeyboardLayout{"Nordic", "öÖæÆøØ-+", ";:;:;:/-"},
    KeyboardLayout{"one with Shift or Caps Lock on", "!@\"#£$%^&*()", "122334567890"},
    KeyboardLayout{"German with Shift or Caps Lock on", "zyZY!\"§$%&/()=", "yzYZ1234567890"},
};

/// The characters of a UTF-8 text.
std::vector<std::string_view> characters(std::string_view text) {
  std::vector<std::string_view> out;
  for (std::size_t i = 0; i < text.size();) {
    std::size_t length = 1;
    while (i + length < text.size() && (static_cast<unsigned char>(text[i + length]) & 0xc0U) == 0x80U) ++length;
    out.push_back(text.substr(i, length));
    i += length;
  }
  return out;
}

}  // namespace

std::span<const KeyboardLayout> keyboard_layouts() {
  return kLayouts;
}

std::string undo_layout(std::string_view line, const KeyboardLayout& layout) {
  const auto typed = characters(layout.typed);
  std::string out;
  for (const std::string_view character : characters(line)) {
    std::size_t key = 0;
    while (key < typed.size() && typed[key] != character) ++key;
    if (key < typed.size()) {
      out += layout.meant[key];
    } else {
      out += character;
    }
  }
  return out;
}

std::optional<LayoutReading> read_through_layouts(std::string_view line,
                                                  const std::function<bool(const core::Code&)>& known) {
  std::optional<LayoutReading> found;
  for (const KeyboardLayout& layout : kLayouts) {
    const std::string meant = undo_layout(line, layout);
    if (meant == line) continue;
    const auto reading = core::read_code(meant);
    if (!reading.code || !known(*reading.code)) continue;
    if (found && found->code != *reading.code) return std::nullopt;
    if (found) {
      found->layouts += " or " + std::string(layout.name);
    } else {
      found = LayoutReading{*reading.code, std::string(layout.name)};
    }
  }
  return found;
}

std::string layout_advice(const std::string& layouts) {
  return "the scanner types for a US keyboard, but this computer is set to another one: " + layouts +
         ". Read all the same. Set the scanner to this computer's keyboard with the code for it in the scanner's "
         "manual, "
         "or the computer's keyboard to US";
}

}  // namespace rackside::cli
