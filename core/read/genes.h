#pragma once

#include <string>

#include "core/read/reader.h"

namespace rackside::core {

/// What was said of an animal's genes. Certain: "anery, het amel, het hypo", what is seen first. Possible, apart:
/// "66 % het anery, perhaps sunkissed or lava". Either may be empty.
struct GeneLines {
  std::string certain;
  std::string possible;
};
GeneLines gene_lines(Reader& reader, Thing animal);

/// " or sunkissed or lava": what else a look may have been, by the statement's own words; empty when nothing.
std::string others_text(const Value& own);

}  // namespace rackside::core
