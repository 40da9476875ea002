#pragma once

#include <string>

namespace rackside::cli {

/// The sheet on the wall by which new phones begin: the first code, the authority's SHA-256 to compare, and the steps.
/// It holds no secret, so it may hang for years.
struct JoinSheet {
  std::string trust_url;    ///< of the plain page
  std::string fingerprint;  ///< grouped, as the hub's screen shows it
  std::string hub_name;
};

/// Writes it as a PDF of one A4 page, after its symbol was read back from a drawing of that page.
/// Errors: internal (it does not read), disk_full, disk_fault.
void write_join_sheet(const std::string& path, const JoinSheet& sheet);

}  // namespace rackside::cli
