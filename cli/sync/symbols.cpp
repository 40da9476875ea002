#include "cli/sync/symbols.h"

#include "labels/image/png.h"
#include "labels/symbol/symbol.h"
#include "sync/files/whole_file.h"

namespace rackside::cli {
namespace {

constexpr int kPixelsAModule = 12;
constexpr int kDotsAnInch = 150;

bool is_dark(const labels::Symbol& symbol, int column, int row) {
  return column >= 0 && row >= 0 && column < symbol.size && row < symbol.size && symbol.dark(column, row);
}

}  // namespace

void print_symbol(const Terminal& out, const std::string& text) {
  if (!out.colours() || !out.out_is_terminal()) return;
  const labels::Symbol symbol = labels::make_symbol(text);
  constexpr int kQuiet = 2;
  for (int row = -kQuiet; row < symbol.size + kQuiet; row += 2) {
    std::string line = "  \033[30;107m";
    for (int column = -kQuiet; column < symbol.size + kQuiet; ++column) {
      const bool above = is_dark(symbol, column, row);
      const bool below = is_dark(symbol, column, row + 1);
      line += above ? (below ? "█" : "▀") : (below ? "▄" : " ");
    }
    out.line(line + "\033[0m");
  }
}

void write_symbol_png(const std::string& path, const std::string& text) {
  const labels::Symbol symbol = labels::make_symbol(text);
  const int side = symbol.size_with_quiet() * kPixelsAModule;
  labels::GrayImage image(side, side);
  for (int y = 0; y < side; ++y) {
    for (int x = 0; x < side; ++x) {
      const int column = x / kPixelsAModule - labels::kQuietModules;
      if (is_dark(symbol, column, y / kPixelsAModule - labels::kQuietModules)) image.at(x, y) = 0;
    }
  }
  sync::WholeFile file(path);
  file.write(labels::write_png_one_bit(image, kDotsAnInch));
  file.keep();
}

}  // namespace rackside::cli
