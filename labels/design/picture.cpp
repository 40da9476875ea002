#include "labels/design/picture.h"

namespace rackside::labels {
namespace {

struct Move {
  double dx;
  double dy;

  void operator()(FilledBox& shape) const { move(shape.box); }
  void operator()(OutlinedBox& shape) const { move(shape.box); }
  void operator()(Ring& shape) const { move(shape.x, shape.y); }
  void operator()(PlacedSymbol& shape) const { move(shape.x, shape.y); }
  void operator()(Stroke& shape) const {
    move(shape.x1, shape.y1);
    move(shape.x2, shape.y2);
  }
  void operator()(TextLine& shape) const {
    move(shape.box);
    shape.baseline += dy;
  }

 private:
  void move(double& x, double& y) const {
    x += dx;
    y += dy;
  }
  void move(Box& box) const { move(box.x, box.y); }
};

}  // namespace

TextLine text_line(double x, double baseline, double width, std::string text, double size) {
  constexpr double kBoxHeight = 1.4;  // ascenders and what hangs below, in sizes
  return {.box = {x, baseline - size, width, size * kBoxHeight},
          .baseline = baseline,
          .size = size,
          .text = std::move(text)};
}

void Picture::add(const Picture& other, double dx, double dy) {
  for (Shape shape : other.shapes) {
    std::visit(Move{dx, dy}, shape);
    shapes.emplace_back(std::move(shape));
  }
}

std::vector<const PlacedSymbol*> Picture::symbols() const {
  std::vector<const PlacedSymbol*> found;
  for (const Shape& shape : shapes) {
    if (const auto* symbol = std::get_if<PlacedSymbol>(&shape)) found.push_back(symbol);
  }
  return found;
}

}  // namespace rackside::labels
