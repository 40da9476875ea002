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

[[noreturn]] void rethrow(const SQLite::Exception& error) {
  const Fault fault = fault_of(error.getErrorCode());
  throw Error(fault, advice_for(fault) + " (" + error.what() + ")");
}

template <typename Work>
auto guarded(const Work& work) {
  try {
    return work();
  } catch (const SQLite::Exception& error) {
    rethrow(error);
  }
}

SQLite::Database open(const std::string& path, Database::Mode mode) {
  const int create = mode == Database::Mode::create ? SQLite::OPEN_CREATE : 0;
  // One thread at a time speaks to a connection, so SQLite need not lock at every call.
  const int flags = SQLite::OPEN_READWRITE | SQLite::OPEN_NOMUTEX | create;
  return guarded([&] { return SQLite::Database(path, flags, 10'000); });
}

}  // namespace

Statement::Statement(SQLite::Statement& statement, bool& in_use) : statement_(statement), in_use_(in_use) {
  in_use_ = true;
}

Statement::~Statement() {
  statement_.tryReset();
  in_use_ = false;
}

bool Statement::step() {
  return guarded([&] { return statement_.executeStep(); });
}

std::int64_t Statement::integer(int column) const {
  return statement_.getColumn(column).getInt64();
}
bool Statement::null(int column) const {
  return statement_.isColumnNull(column);
}

std::string_view Statement::text(int column) const {
  const SQLite::Column value = statement_.getColumn(column);
  const char* data = value.getText();
  return {data, static_cast<std::size_t>(value.getBytes())};
}

ByteSpan Statement::blob(int column) const {
  const SQLite::Column value = statement_.getColumn(column);
  const auto* data = static_cast<const std::uint8_t*>(value.getBlob());
  return {data, static_cast<std::size_t>(value.getBytes())};
}

void Statement::copy_blob(int column, std::span<std::uint8_t> out) const {
  const ByteSpan stored = blob(column);
  if (stored.size() != out.size())
    throw Error(Fault::corrupt, "The book is damaged: a stored value has the wrong length.");
  std::copy(stored.begin(), stored.end(), out.begin());
}

void Statement::bind_one(int index, std::int64_t value) {
  guarded([&] { statement_.bind(index, value); });
}
void Statement::bind_one(int index, std::string_view value) {
  guarded([&] { statement_.bind(index, std::string(value)); });
}
void Statement::bind_one(int index, ByteSpan value) {
  static const std::uint8_t nothing = 0;
  guarded([&] { statement_.bind(index, value.empty() ? &nothing : value.data(), static_cast<int>(value.size())); });
}
void Statement::bind_one(int index, std::nullptr_t) {
  guarded([&] { statement_.bind(index); });
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
    if (!*it->second.in_use) return {*it->second.statement, *it->second.in_use};
  }
  return guarded([&]() -> Statement {
    auto made =
        cache_.emplace(sql, Cached{std::make_unique<SQLite::Statement>(database_, sql), std::make_unique<bool>(false)});
    return {*made->second.statement, *made->second.in_use};
  });
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
