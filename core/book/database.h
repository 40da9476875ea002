#pragma once

#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <unordered_map>

#include <SQLiteCpp/SQLiteCpp.h>

#include "core/base/bytes.h"
#include "core/base/error.h"

struct sqlite3_stmt;

namespace rackside::core {

/// A prepared statement borrowed from its database's cache; given back, reset, when it goes out of scope. It speaks to
/// SQLite itself: a wrapper's column objects took a tenth of a day's list.
class Statement {
 public:
  Statement(sqlite3_stmt* handle, bool& in_use);
  ~Statement();
  Statement(const Statement&) = delete;
  Statement& operator=(const Statement&) = delete;

  /// Binds all parameters in order: integers, text, byte spans, nullptr, std::optional of those.
  template <typename... Values>
  Statement& bind(const Values&... values) {
    int index = 0;
    (bind_one(++index, values), ...);
    return *this;
  }
  bool step();
  /// For statements without rows.
  void run() { step(); }
  std::int64_t integer(int column) const;
  bool null(int column) const;
  std::string_view text(int column) const;  ///< valid until the next step
  ByteSpan blob(int column) const;          ///< valid until the next step
  template <std::size_t N>
  std::array<std::uint8_t, N> bytes(int column) const {
    std::array<std::uint8_t, N> out{};
    copy_blob(column, out);
    return out;
  }

 private:
  void bind_one(int index, std::int64_t value);
  void bind_one(int index, int value) { bind_one(index, std::int64_t{value}); }
  void bind_one(int index, std::uint32_t value) { bind_one(index, std::int64_t{value}); }
  void bind_one(int index, bool value) { bind_one(index, std::int64_t{value}); }
  void bind_one(int index, std::string_view value);
  void bind_one(int index, const std::string& value) { bind_one(index, std::string_view(value)); }
  void bind_one(int index, const char* value) { bind_one(index, std::string_view(value)); }
  void bind_one(int index, ByteSpan value);
  void bind_one(int index, std::nullptr_t);
  template <std::size_t N>
  void bind_one(int index, const std::array<std::uint8_t, N>& value) {
    bind_one(index, ByteSpan(value));
  }
  template <typename T>
  void bind_one(int index, const std::optional<T>& value) {
    if (value) {
      bind_one(index, *value);
    } else {
      bind_one(index, nullptr);
    }
  }
  void copy_blob(int column, std::span<std::uint8_t> out) const;
  void check(int result) const;

  sqlite3_stmt* handle_;
  bool& in_use_;
};

/// The only place where SQLite is spoken to. Errors come out as core::Error (busy, disk_full, disk_fault, not_a_book,
/// corrupt). Thread: one thread at a time.
class Database {
 public:
  enum class Mode { create, open };
  /// `path` ":memory:" gives a private book without a file (tests). WAL, synchronous FULL, foreign keys on,
  /// trusted_schema off, automatic checkpoints and checkpoint-on-close off: see checkpoint().
  Database(const std::string& path, Mode mode);

  /// Statements are compiled once; a nested use of the same text gets a copy of its own.
  Statement prepare(const char* sql);
  void execute(const std::string& sql);
  int changes() const;
  std::int64_t last_row() const;
  const std::string& path() const { return path_; }
  bool in_memory() const { return path_ == ":memory:"; }
  /// Moves what the write-ahead log holds into the book. Call only under the book's lock.
  void checkpoint();
  /// Copies everything as it is at one moment to a new file, by SQLite's own backup, while others read and write.
  /// `progress` is told pages done and pages in all. Errors: disk_full, disk_fault, busy; the file is then unfinished.
  void copy_to(const std::string& path, const std::function<void(std::size_t, std::size_t)>& progress);
  /// SQLite's own integrity check: empty when sound.
  std::string integrity_problem();

 private:
  struct Finalize {
    void operator()(sqlite3_stmt* handle) const;
  };
  struct Cached {
    std::unique_ptr<sqlite3_stmt, Finalize> statement;
    std::unique_ptr<bool> in_use;
  };
  std::string path_;
  SQLite::Database database_;
  std::unordered_multimap<const char*, Cached> cache_;
};

}  // namespace rackside::core
