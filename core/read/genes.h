#pragma once

#include <string>

#include "core/read/reader.h"

namespace rackside::core {

/// "anery het (by parents)" … certain ones first, possible ones apart: two lines, either may be empty.
struct GeneLines {
  std::string certain;
  std::string possible;
};
GeneLines gene_lines(Reader& reader, Thing animal);

/// " or sunkissed or lava": what else a look may have been, by the statement's own words; empty when nothing.
std::string others_text(const Value& own);

}  // namespace rackside::core
