#include <filesystem>
#include <stdexcept>

#include "core/book/database.h"
#include "tests/bench/benchmarks.h"
#include "tests/bench/floor.h"

namespace rackside::bench {
namespace {

std::vector<std::string> words_of(core::Database& database, const char* sql) {
  std::vector<std::string> out;
  auto query = database.prepare(sql);
  while (query.step()) out.emplace_back(query.text(0));
  return out;
}

/// Every table of a finished book, with its indexes, into a new file: in the order of the keys, in one transaction. No
/// fold that keeps these tables can cost less, however little it thinks.
void copy_tables(const std::string& from, const std::string& to) {
  core::Database database(to, core::Database::Mode::create);
  database.execute("ATTACH '" + from + "' AS finished");
  for (const std::string& statement :
       words_of(database, "SELECT sql FROM finished.sqlite_schema WHERE sql IS NOT NULL ORDER BY type DESC"))
    database.execute(statement);
  database.execute("BEGIN");
  for (const std::string& table : words_of(database, "SELECT name FROM finished.sqlite_schema WHERE type = 'table'"))
    database.execute("INSERT INTO main." + table + " SELECT * FROM finished." + table);
  database.execute("COMMIT");
}

}  // namespace

/// A fresh book on disk takes a whole season; the floor stores the same lines. Both make their files in the time. The
/// second row says what of it is storing.
std::vector<Row> merge_100k(Stage& stage) {
  const Season& season = stage.season_100k();
  const auto expect_all = [&](std::size_t stored) {
    if (stored != season.events) throw std::runtime_error("merge-100k: not every event was stored");
  };
  const auto floor = [&] { expect_all(feed_floor(season.path, stage.fresh("merge.floor"))); };
  const Row merge = compare(
      "merge-100k", 3, [&] { expect_all(feed_book(season, stage.fresh("merge.book"))); }, floor);
  const std::string finished = stage.path("merge.book");
  const Row tables = compare(
      "merge-100k-tables", 3, [&] { copy_tables(finished, stage.fresh("merge.copy")); }, floor);
  return {merge, tables};
}

}  // namespace rackside::bench
