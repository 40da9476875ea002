#pragma once

#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace rackside::sync::page {

/// A file of the page, compressed (gzip) when the program was built.
struct Asset {
  std::string_view path;  ///< "/app.mjs"
  std::string_view type;
  std::string_view etag;  ///< quoted; of the content
  std::string_view gzip;
};

/// What the secure page is made of.
std::vector<Asset> app_assets();
/// What the plain page that hands out the authority is made of.
std::vector<Asset> trust_assets();

}  // namespace rackside::sync::page
