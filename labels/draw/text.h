#pragma once

#include "labels/design/text_ruler.h"

namespace rackside::labels {

/// Measures with the fonts that the drawing code uses: real shaping, any script, without hinting, so that sizes scale.
/// Thread: one per thread.
class PangoRuler : public TextRuler {
 public:
  PangoRuler();
  ~PangoRuler() override;
  TextExtent measure(std::string_view text, Weight weight) const override;
  std::string missing(std::string_view text, Weight weight) const override;
  /// Where the line's ink really falls, ellipsis and all.
  Box ink_box(const TextLine& line) const;

 private:
  struct Surface;
  struct Measured;
  const Measured& measured(std::string_view text, Weight weight) const;
  Surface* surface_;
};

}  // namespace rackside::labels
