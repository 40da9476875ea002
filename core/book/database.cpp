#include "core/book/database.h"

#include <SQLiteCpp/Backup.h>
#include <sqlite3.h>

#include <algorithm>

namespace rackside::core {
namespace {

Fault fault_of(int code) {
  switch (code & 0xff) {
    case SQLITE_BUSY:
    case SQLITE_LOCKED:
      return Fault::busy;
    case SQLITE_FULL:
      return Fault::disk_full;
    case SQLITE_NOTADB:
      return Fault::not_a_book;
    case SQLITE_CORRUPT:
      return Fault::corrupt;
    case SQLITE_CANTOPEN:
      return Fault::no_book;
    case SQLITE_IOERR:
    case SQLITE_READONLY:
      return Fault::disk_fault;
    default:
      return Fault::internal;
  }
}

std::string advice_for(Fault fault) {
  switch (fault) {
    case Fault::busy:
      return "Another program holds the book; try again.";
    case Fault::disk_full:
      return "The disk is full: free some room and repeat. Nothing was half written.";
    case Fault::not_a_book:
      return "The file is no Rackside book.";
    case Fault::corrupt:
      return "The book is damaged: keep the file, restore the last backup and sync.";
    case Fault::no_book:
      return "The book cannot be opened there: does the folder exist, and may you write in it?";
    case Fault::disk_fault:
      return "The disk did not take the data: check the disk before you go on.";
    default:
      return "This is a fault of the program.";
  }
}

[[noreturn]] void fail(int code, const char* what) {
  const Fault fault = fault_of(code);
  throw Error(fault, advice_for(fault) + " (" + what + ")");
}
[[noreturn]] void fail(int code, sqlite3* database) {
  fail(code, sqlite3_errmsg(database));
}

template <typename Work>
auto guarded(const Work& work) {
  try {
    return work();
  } catch (const SQLite::Exception& error) {
    fail(error.getErrorCode(), error.what());
  }
}

SQLite::Database open(const std::string& path, Database::Mode mode) {
  const int create = mode == Database::Mode::create ? SQLite::OPEN_CREATE : 0;
  // One thread at a time speaks to a connection, so SQLite need not lock at every call.
  const int flags = SQLite::OPEN_READWRITE | SQLite::OPEN_NOMUTEX | create;
  return guarded([&] { return SQLite::Database(path, flags, 10'000); });
}

}  // namespace

Statement::Statement(sqlite3_stmt* handle, bool& in_use) : handle_(handle), in_use_(in_use) {
  in_use_ = true;
}

Statement::~Statement() {
  sqlite3_reset(handle_);  // tells again what step() has thrown already
  in_use_ = false;
}

void Statement::check(int result) const {
  if (result != SQLITE_OK) fail(result, sqlite3_db_handle(handle_));
}

bool Statement::step() {
  const int result = sqlite3_step(handle_);
  if (result == SQLITE_ROW) return true;
  if (result != SQLITE_DONE) fail(result, sqlite3_db_handle(handle_));
  return false;
}

std::int64_t Statement::integer(int column) const {
  return sqlite3_column_int64(handle_, column);
}
bool Statement::null(int column) const {
  return sqlite3_column_type(handle_, column) == SQLITE_NULL;
}

std::string_view Statement::text(int column) const {
  const auto* data = reinterpret_cast<const char*>(sqlite3_column_text(handle_, column));
  return data ? std::string_view(data, static_cast<std::size_t>(sqlite3_column_bytes(handle_, column)))
              : std::string_view("");
}

ByteSpan Statement::blob(int column) const {
  const auto* data = static_cast<const std::uint8_t*>(sqlite3_column_blob(handle_, column));
  return {data, static_cast<std::size_t>(sqlite3_column_bytes(handle_, column))};
}

void Statement::copy_blob(int column, std::span<std::uint8_t> out) const {
  const ByteSpan stored = blob(column);
  if (stored.size() != out.size())
    throw Error(Fault::corrupt, "The book is damaged: a stored value has the wrong length.");
  std::copy(stored.begin(), stored.end(), out.begin());
}

void Statement::bind_one(int index, std::int64_t value) {
  check(sqlite3_bind_int64(handle_, index, value));
}
void Statement::bind_one(int index, std::string_view value) {
  const char* data = value.data() ? value.data() : "";  // an empty text is a text
  check(sqlite3_bind_text64(handle_, index, data, value.size(), SQLITE_TRANSIENT, SQLITE_UTF8));
}
void Statement::bind_one(int index, ByteSpan value) {
  static const std::uint8_t nothing = 0;
  check(sqlite3_bind_blob64(handle_, index, value.empty() ? &nothing : value.data(), value.size(), SQLITE_TRANSIENT));
}
void Statement::bind_one(int index, std::nullptr_t) {
  check(sqlite3_bind_null(handle_, index));
}

void Database::Finalize::operator()(sqlite3_stmt* handle) const {
  sqlite3_finalize(handle);
}

Database::Database(const std::string& path, Mode mode) : path_(path), database_(open(path, mode)) {
  sqlite3_db_config(database_.getHandle(), SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, 1, nullptr);
  execute(
      "PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL; PRAGMA foreign_keys=ON; PRAGMA trusted_schema=OFF;"
      "PRAGMA wal_autocheckpoint=0; PRAGMA cache_size=-8192; PRAGMA temp_store=MEMORY;");
}

Statement Database::prepare(const char* sql) {
  const auto [begin, end] = cache_.equal_range(sql);
  for (auto it = begin; it != end; ++it) {
    if (!*it->second.in_use) return {it->second.statement.get(), *it->second.in_use};
  }
  sqlite3_stmt* made = nullptr;
  constexpr int kWholeText = -1;
  const int result = sqlite3_prepare_v3(database_.getHandle(), sql, kWholeText, SQLITE_PREPARE_PERSISTENT, &made, {});
  if (result != SQLITE_OK) fail(result, database_.getHandle());
  Cached cached{std::unique_ptr<sqlite3_stmt, Finalize>(made), std::make_unique<bool>(false)};
  const auto kept = cache_.emplace(sql, std::move(cached));
  return {kept->second.statement.get(), *kept->second.in_use};
}

void Database::execute(const std::string& sql) {
  guarded([&] { database_.exec(sql); });
}

int Database::changes() const {
  return sqlite3_changes(database_.getHandle());
}
std::int64_t Database::last_row() const {
  return database_.getLastInsertRowid();
}

void Database::checkpoint() {
  if (!in_memory()) execute("PRAGMA wal_checkpoint(TRUNCATE)");
}

void Database::copy_to(const std::string& path, const std::function<void(std::size_t, std::size_t)>& progress) {
  constexpr int kPages = 2048;
  guarded([&] {
    SQLite::Database target(path, SQLite::OPEN_READWRITE | SQLite::OPEN_CREATE);
    // A reading transaction holds one moment, so that writers beside it do not make the copy start over.
    database_.exec("BEGIN; SELECT count(*) FROM meta");
    try {
      SQLite::Backup backup(target, database_);
      while (backup.executeStep(kPages) != SQLITE_DONE) {
        const auto all = static_cast<std::size_t>(backup.getTotalPageCount());
        if (progress) progress(all - static_cast<std::size_t>(backup.getRemainingPageCount()), all);
      }
    } catch (...) {
      database_.exec("ROLLBACK");
      throw;
    }
    database_.exec("COMMIT");
    // One file, complete by itself.
    target.exec("PRAGMA journal_mode=DELETE");
  });
}

std::string Database::integrity_problem() {
  auto query = prepare("PRAGMA integrity_check(1)");
  if (!query.step()) return "no answer";
  const std::string answer(query.text(0));
  return answer == "ok" ? "" : answer;
}

}  // namespace rackside::core
