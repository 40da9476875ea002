#include "sync/page/serve/assets.h"

#include <array>
#include <cstddef>

// Compiled in as bytes, not as an array in C++: half a megabyte of those takes a compiler many seconds.
// NOLINTNEXTLINE: only the assembler can include bytes in C++20
asm(".section .rodata\n"
    ".balign 16\n"
    "rackside_page_begin:\n"
    ".incbin \"" RACKSIDE_PAGE_FILE
    "\"\n"
    ".byte 0\n"
    ".global rackside_page_begin\n"
    ".text\n");
extern "C" const char rackside_page_begin[];

namespace rackside::sync::page {
namespace {

struct Row {
  const char* path;
  const char* type;
  const char* etag;
  std::size_t offset;
  std::size_t size;
};

#include <page_table.inc>

template <std::size_t N>
std::vector<Asset> assets_of(const std::array<Row, N>& rows) {
  std::vector<Asset> out;
  for (const Row& row : rows)
    out.push_back({row.path, row.type, row.etag, {rackside_page_begin + row.offset, row.size}});
  return out;
}

}  // namespace

std::vector<Asset> app_assets() {
  return assets_of(kApp);
}

std::vector<Asset> trust_assets() {
  return assets_of(kTrust);
}

}  // namespace rackside::sync::page
