#include "core/book/schema.h"

#include <array>

#include "core/log/kinds.h"

namespace rackside::core {
namespace {

// "RKSB": marks the file as a book of ours in SQLite's header.
constexpr int kApplicationId = 0x524B5342;

// An event's row is branch << 32 | seq, so that the log needs no index beside its key, and a chain reads in order.
constexpr const char* kVersion1 = R"sql(
-- the log
CREATE TABLE meta(key TEXT PRIMARY KEY, value) WITHOUT ROWID;
CREATE TABLE device(id INTEGER PRIMARY KEY, name BLOB NOT NULL UNIQUE, key BLOB);
CREATE TABLE branch(id INTEGER PRIMARY KEY, device INTEGER NOT NULL REFERENCES device(id),
  parent INTEGER, base_seq INTEGER NOT NULL, head_seq INTEGER NOT NULL, head_hash BLOB NOT NULL);
CREATE INDEX branch_device ON branch(device);
CREATE TABLE event(id INTEGER PRIMARY KEY, hash BLOB NOT NULL, bytes TEXT NOT NULL, at INTEGER, mark INTEGER NOT NULL DEFAULT 0);
CREATE TABLE signature(event INTEGER PRIMARY KEY, bytes BLOB NOT NULL);
CREATE TABLE sealed(event INTEGER PRIMARY KEY, salt BLOB NOT NULL, text TEXT NOT NULL);
CREATE TABLE erased(event INTEGER PRIMARY KEY);
-- this copy of the book: its own device, its peers; never synced
CREATE TABLE own(key TEXT PRIMARY KEY, value) WITHOUT ROWID;
-- this copy as a hub: open join codes and the devices that joined, hashes of secrets only; never synced
CREATE TABLE join_invitation(secret_hash BLOB PRIMARY KEY CHECK(length(secret_hash) = 32), role TEXT NOT NULL,
  label TEXT NOT NULL, expires_ms INTEGER NOT NULL, tries_left INTEGER NOT NULL) WITHOUT ROWID;
CREATE TABLE device_token(token_hash BLOB PRIMARY KEY CHECK(length(token_hash) = 32), device TEXT NOT NULL,
  role TEXT NOT NULL, label TEXT NOT NULL, issued_ms INTEGER NOT NULL, revoked_ms INTEGER) WITHOUT ROWID;
-- folded: who names whom
CREATE TABLE answer(target INTEGER NOT NULL, source INTEGER NOT NULL, relation INTEGER NOT NULL,
  PRIMARY KEY(target, source, relation)) WITHOUT ROWID;
CREATE TABLE awaited(device BLOB NOT NULL, seq INTEGER NOT NULL, hash BLOB NOT NULL, source INTEGER NOT NULL,
  relation INTEGER NOT NULL, PRIMARY KEY(device, seq, hash, source, relation)) WITHOUT ROWID;
-- folded: administration, clocks, settings, codes
CREATE TABLE administration(event INTEGER PRIMARY KEY, kind INTEGER NOT NULL);
CREATE TABLE standing(device INTEGER PRIMARY KEY, role INTEGER NOT NULL, clock INTEGER NOT NULL, retired INTEGER NOT NULL,
  read_until INTEGER, text TEXT NOT NULL);
CREATE TABLE stretch(branch INTEGER NOT NULL, first_seq INTEGER NOT NULL, PRIMARY KEY(branch, first_seq)) WITHOUT ROWID;
CREATE TABLE clock_check(branch INTEGER NOT NULL, seq INTEGER NOT NULL, source INTEGER NOT NULL, offset_ms INTEGER NOT NULL,
  PRIMARY KEY(branch, seq, source)) WITHOUT ROWID;
CREATE TABLE setting(key TEXT PRIMARY KEY, value TEXT NOT NULL) WITHOUT ROWID;
CREATE TABLE code(id INTEGER PRIMARY KEY, text TEXT NOT NULL UNIQUE, joined INTEGER);
CREATE INDEX code_joined ON code(joined) WHERE joined IS NOT NULL;
-- folded: live accounts by what they are about, place scans and whom they are bound to
CREATE TABLE account(subject INTEGER NOT NULL, at INTEGER NOT NULL, event INTEGER NOT NULL, kind INTEGER NOT NULL,
  PRIMARY KEY(subject, at, event)) WITHOUT ROWID;
CREATE INDEX account_event ON account(event);
CREATE TABLE scan(place INTEGER NOT NULL, at INTEGER NOT NULL, event INTEGER NOT NULL, how INTEGER NOT NULL DEFAULT 0,
  bound TEXT NOT NULL DEFAULT '', PRIMARY KEY(place, at, event)) WITHOUT ROWID;
CREATE TABLE move(animal INTEGER NOT NULL, event INTEGER NOT NULL, place INTEGER, PRIMARY KEY(animal, event)) WITHOUT ROWID;
CREATE TABLE stay(animal INTEGER NOT NULL, since INTEGER NOT NULL, by INTEGER NOT NULL, until INTEGER, ended_by INTEGER,
  place INTEGER NOT NULL, role INTEGER NOT NULL, partner INTEGER, PRIMARY KEY(animal, since, by)) WITHOUT ROWID;
CREATE INDEX move_event ON move(event);
CREATE INDEX move_place ON move(place) WHERE place IS NOT NULL;
CREATE INDEX scan_event ON scan(event);
CREATE INDEX scan_doubtful ON scan(event) WHERE how <> 0;
CREATE INDEX stay_place ON stay(place, since);
-- folded: verdicts of the rules, open questions, the register
CREATE TABLE matter(rule INTEGER NOT NULL, subject INTEGER NOT NULL, at INTEGER NOT NULL, lead INTEGER NOT NULL,
  outcome TEXT NOT NULL, amount INTEGER NOT NULL, asks INTEGER NOT NULL, answers TEXT NOT NULL, members TEXT NOT NULL,
  detail TEXT NOT NULL, PRIMARY KEY(rule, subject, at, lead)) WITHOUT ROWID;
CREATE INDEX matter_asks ON matter(rule, subject) WHERE asks = 1;
CREATE TABLE edit(subject INTEGER NOT NULL, field TEXT NOT NULL, event INTEGER NOT NULL,
  PRIMARY KEY(subject, field, event)) WITHOUT ROWID;
CREATE TABLE field(subject INTEGER NOT NULL, name TEXT NOT NULL, value TEXT NOT NULL, event INTEGER NOT NULL,
  others TEXT NOT NULL, PRIMARY KEY(subject, name)) WITHOUT ROWID;
CREATE INDEX edit_event ON edit(event);
CREATE INDEX field_value ON field(name, value);
)sql";

// What cannot be is looked for at every account: departures (left, died) and eggs (palpated, ovulated, gravid, laid)
// are found without reading an animal's life.
constexpr const char* kVersion2 = R"sql(
CREATE INDEX account_rare ON account(subject) WHERE kind IN (20, 21, 39, 40, 41, 42);
CREATE TABLE parent(child INTEGER NOT NULL, parent INTEGER NOT NULL, event INTEGER NOT NULL,
  PRIMARY KEY(child, parent, event)) WITHOUT ROWID;
CREATE INDEX parent_event ON parent(event);
CREATE INDEX parent_parent ON parent(parent);
-- questions, open and settled
DROP INDEX matter_asks;
CREATE INDEX matter_asked ON matter(rule, subject) WHERE answers <> '';
)sql";
static_assert(static_cast<int>(Kind::left) == 20 && static_cast<int>(Kind::died) == 21 &&
              static_cast<int>(Kind::palpated) == 39 && static_cast<int>(Kind::laid) == 42);

// The same index: for a list of kinds SQLite builds a table at every account that is written.
constexpr const char* kVersion3 = R"sql(
DROP INDEX account_rare;
CREATE INDEX account_rare ON account(subject) WHERE kind BETWEEN 20 AND 21 OR kind BETWEEN 39 AND 42;
)sql";

// Statements of genes and parents are read together, for all animals, without reading their lives.
constexpr const char* kVersion4 = R"sql(
CREATE INDEX account_says ON account(subject, at, event) WHERE kind = 16;
)sql";
static_assert(static_cast<int>(Kind::says) == 16);

// For the day's list and for short IDs, which must not read a life or a whole register. `due` is not folded: it is what
// core/read/due_board last read of an animal, and goes when the fold learns something of it.
constexpr const char* kVersion5 = R"sql(
CREATE TABLE due(animal INTEGER PRIMARY KEY, as_of INTEGER NOT NULL, last_meal INTEGER, servings INTEGER NOT NULL,
  last_refusal INTEGER, refusals INTEGER NOT NULL, open_offer INTEGER, check_tub INTEGER, caution TEXT NOT NULL,
  caution_night INTEGER, opaque INTEGER, regurgitated INTEGER, registered INTEGER, every TEXT NOT NULL,
  hatched TEXT NOT NULL, prey TEXT NOT NULL);
CREATE INDEX stay_until ON stay(until, role, place, partner);
CREATE INDEX field_short ON field(lower(value)) WHERE name = 'short';
)sql";

// What the day's list reads of an animal has grown: numbers and texts in two columns, in the order of
// core/husbandry/facts.
constexpr const char* kVersion6 = R"sql(
DROP TABLE due;
CREATE TABLE due(animal INTEGER PRIMARY KEY, as_of INTEGER NOT NULL, reading TEXT NOT NULL, numbers BLOB NOT NULL,
  texts TEXT NOT NULL);
)sql";

// Open questions by themselves: in a book of ten years the settled ones are a hundred times as many. With the columns
// of its condition, so that they are counted without a look at the table.
constexpr const char* kVersion7 = R"sql(
CREATE INDEX matter_open ON matter(rule, subject, asks, answers) WHERE answers <> '' AND asks = 1;
)sql";

// Who is at a place is asked at every scan of it: those who left long ago are not read for that. With the table's key
// behind it an index by the end answers for the beginning too.
constexpr const char* kVersion8 = R"sql(
DROP INDEX stay_place;
CREATE INDEX stay_place ON stay(place, until);
)sql";

constexpr std::array<const char*, kSchemaVersion> kMigrations = {kVersion1, kVersion2, kVersion3, kVersion4,
                                                                 kVersion5, kVersion6, kVersion7, kVersion8};

int pragma(Database& database, const char* sql) {
  auto query = database.prepare(sql);
  return query.step() ? static_cast<int>(query.integer(0)) : 0;
}

bool is_empty(Database& database) {
  auto query = database.prepare("SELECT 1 FROM sqlite_schema LIMIT 1");
  return !query.step();
}

}  // namespace

bool needs_migration(Database& database) {
  const int application = pragma(database, "PRAGMA application_id");
  if (application != kApplicationId && !is_empty(database)) {
    throw Error(Fault::not_a_book, "The file " + database.path() + " is a database, but no Rackside book.");
  }
  const int version = pragma(database, "PRAGMA user_version");
  if (version > kSchemaVersion) {
    throw Error(Fault::newer_book, "The book " + database.path() + " was written by a newer Rackside (form " +
                                       std::to_string(version) + ", this program knows " +
                                       std::to_string(kSchemaVersion) +
                                       "). Install the newer version; the book was not touched.");
  }
  return version < kSchemaVersion;
}

void migrate(Database& database) {
  if (!needs_migration(database)) return;
  for (int next = pragma(database, "PRAGMA user_version"); next < kSchemaVersion; ++next) {
    database.execute("BEGIN IMMEDIATE");
    database.execute(kMigrations[static_cast<std::size_t>(next)]);
    database.execute("PRAGMA application_id=" + std::to_string(kApplicationId));
    database.execute("PRAGMA user_version=" + std::to_string(next + 1) + "; COMMIT");
  }
}

void clear_folded(Database& database) {
  for (const char* table : {"answer", "awaited", "administration", "standing", "stretch", "clock_check", "setting",
                            "account", "scan", "move", "stay", "matter", "edit", "field", "parent", "due"}) {
    database.execute(std::string("DELETE FROM ") + table);
  }
  database.execute("UPDATE code SET joined = NULL");
}

}  // namespace rackside::core
