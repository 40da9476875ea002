#pragma once

#include <string>
#include <vector>

#include "cli/session.h"

// Animals from a keeper's table, in mid-season; and back again.
namespace rackside::cli {

struct ImportOptions {
  std::string path;
  std::vector<std::string> map;  ///< "HEADING=FIELD" each
  std::string dates;             ///< day-first, month-first
  std::string basis = "bought";  ///< of what the table says of genes and parents
  bool dry_run = false, even_so = false, make_racks = false, skip_known = false;
};

/// All or nothing, in one transaction; every problem is listed by its line, whether it is a dry run or not.
/// Errors: bad_input where a problem stands.
void import_animals(Session& session, const ImportOptions& options);

/// Takes a whole import back, by withdrawing each of its entries. `id` empty: the newest of this computer.
struct UndoOptions {
  std::string id;
  bool even_so = false;
};
void undo_import(Session& session, const UndoOptions& options);
void list_imports(Session& session);

/// The setting that begins an import's events, and the one that keeps what headings mean.
constexpr const char* kImportPrefix = "import/";
constexpr const char* kColumnsSetting = "import-columns";

}  // namespace rackside::cli
