#include "cli/scan/banner.h"

#include <array>
#include <cstdint>

namespace rackside::cli {
namespace {

constexpr int kColumns = 5;
constexpr std::size_t kRows = 6;  // the sixth is always empty: two rows make a line

struct Glyph {
  char character;
  std::array<std::uint8_t, kRows> rows;  ///< from the top; the highest of five bits is the leftmost dot
};

constexpr std::array kGlyphs = {
    Glyph{'A', {0b01110, 0b10001, 0b11111, 0b10001, 0b10001}},
    Glyph{'B', {0b11110, 0b10001, 0b11110, 0b10001, 0b11110}},
    Glyph{'C', {0b01111, 0b10000, 0b10000, 0b10000, 0b01111}},
    Glyph{'D', {0b11110, 0b10001, 0b10001, 0b10001, 0b11110}},
    Glyph{'E', {0b11111, 0b10000, 0b11110, 0b10000, 0b11111}},
    Glyph{'F', {0b11111, 0b10000, 0b11110, 0b10000, 0b10000}},
    Glyph{'G', {0b01111, 0b10000, 0b10011, 0b10001, 0b01111}},
    Glyph{'H', {0b10001, 0b10001, 0b11111, 0b10001, 0b10001}},
    Glyph{'I', {0b01110, 0b00100, 0b00100, 0b00100, 0b01110}},
    Glyph{'J', {0b00111, 0b00010, 0b00010, 0b10010, 0b01100}},
    Glyph{'K', {0b10010, 0b10100, 0b11000, 0b10100, 0b10010}},
    Glyph{'L', {0b10000, 0b10000, 0b10000, 0b10000, 0b11111}},
    Glyph{'M', {0b10001, 0b11011, 0b10101, 0b10001, 0b10001}},
    Glyph{'N', {0b10001, 0b11001, 0b10101, 0b10011, 0b10001}},
    Glyph{'O', {0b01110, 0b10001, 0b10001, 0b10001, 0b01110}},
    Glyph{'P', {0b11110, 0b10001, 0b11110, 0b10000, 0b10000}},
    Glyph{'Q', {0b01110, 0b10001, 0b10001, 0b10010, 0b01101}},
    Glyph{'R', {0b11110, 0b10001, 0b11110, 0b10010, 0b10001}},
    Glyph{'S', {0b01111, 0b10000, 0b01110, 0b00001, 0b11110}},
    Glyph{'T', {0b11111, 0b00100, 0b00100, 0b00100, 0b00100}},
    Glyph{'U', {0b10001, 0b10001, 0b10001, 0b10001, 0b01110}},
    Glyph{'V', {0b10001, 0b10001, 0b10001, 0b01010, 0b00100}},
    Glyph{'W', {0b10001, 0b10001, 0b10101, 0b11011, 0b10001}},
    Glyph{'X', {0b10001, 0b01010, 0b00100, 0b01010, 0b10001}},
    Glyph{'Y', {0b10001, 0b01010, 0b00100, 0b00100, 0b00100}},
    Glyph{'Z', {0b11111, 0b00010, 0b00100, 0b01000, 0b11111}},
    Glyph{'0', {0b01110, 0b10011, 0b10101, 0b11001, 0b01110}},
    Glyph{'1', {0b00100, 0b01100, 0b00100, 0b00100, 0b01110}},
    Glyph{'2', {0b11110, 0b00001, 0b01110, 0b10000, 0b11111}},
    Glyph{'3', {0b11110, 0b00001, 0b00110, 0b00001, 0b11110}},
    Glyph{'4', {0b10010, 0b10010, 0b11111, 0b00010, 0b00010}},
    Glyph{'5', {0b11111, 0b10000, 0b11110, 0b00001, 0b11110}},
    Glyph{'6', {0b01110, 0b10000, 0b11110, 0b10001, 0b01110}},
    Glyph{'7', {0b11111, 0b00001, 0b00010, 0b00100, 0b00100}},
    Glyph{'8', {0b01110, 0b10001, 0b01110, 0b10001, 0b01110}},
    Glyph{'9', {0b01110, 0b10001, 0b01111, 0b00001, 0b01110}},
    Glyph{'-', {0b00000, 0b00000, 0b11111, 0b00000, 0b00000}},
    Glyph{'+', {0b00100, 0b00100, 0b11111, 0b00100, 0b00100}},
    Glyph{'.', {0b00000, 0b00000, 0b00000, 0b00000, 0b00100}},
    Glyph{'/', {0b00001, 0b00010, 0b00100, 0b01000, 0b10000}},
    Glyph{'_', {0b00000, 0b00000, 0b00000, 0b00000, 0b11111}},
    Glyph{' ', {}},
};

const Glyph* glyph_of(char c) {
  if (c >= 'a' && c <= 'z') c = static_cast<char>(c - 'a' + 'A');
  for (const Glyph& glyph : kGlyphs) {
    if (glyph.character == c) return &glyph;
  }
  return nullptr;
}

const char* block(bool upper, bool lower) {
  if (upper && lower) return "█";
  return upper ? "▀" : lower ? "▄" : " ";
}

}  // namespace

std::vector<std::string> banner(std::string_view text, int width) {
  if (text.empty() || static_cast<int>(text.size()) * (kColumns + 1) > width) return {};
  std::vector<std::string> lines(kRows / 2);
  for (const char c : text) {
    const Glyph* glyph = glyph_of(c);
    if (!glyph) return {};
    for (std::size_t line = 0; line < lines.size(); ++line) {
      for (int column = kColumns - 1; column >= 0; --column) {
        lines[line] += block((glyph->rows[2 * line] >> column) & 1, (glyph->rows[2 * line + 1] >> column) & 1);
      }
      lines[line] += " ";
    }
  }
  return lines;
}

}  // namespace rackside::cli
