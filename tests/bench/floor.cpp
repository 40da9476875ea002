#include "tests/bench/floor.h"

#include <simdjson.h>
#include <sqlite3.h>

#include <stdexcept>
#include <string_view>

#include "core/base/bytes.h"
#include "tests/bench/line_reader.h"

namespace rackside::bench {
namespace {

constexpr const char* kSetting =
    "PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL; PRAGMA wal_autocheckpoint=0; PRAGMA cache_size=-8192;"
    "CREATE TABLE IF NOT EXISTS event(device BLOB NOT NULL, seq INTEGER NOT NULL, bytes TEXT NOT NULL, subject TEXT,"
    " time INTEGER, PRIMARY KEY(device, seq)) WITHOUT ROWID;"
    "CREATE INDEX IF NOT EXISTS event_subject ON event(subject, time);";

class Floor {
 public:
  explicit Floor(const std::string& path) {
    check(sqlite3_open(path.c_str(), &database_));
    sqlite3_db_config(database_, SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, 1, nullptr);
    run(kSetting);
    check(sqlite3_prepare_v3(database_,
                             "INSERT OR IGNORE INTO event(device, seq, bytes, subject, time) VALUES(?,?,?,?,?)", -1,
                             SQLITE_PREPARE_PERSISTENT, &insert_, nullptr));
    run("BEGIN IMMEDIATE");
  }
  ~Floor() {
    sqlite3_finalize(insert_);
    sqlite3_close(database_);
  }
  Floor(const Floor&) = delete;
  Floor& operator=(const Floor&) = delete;

  /// One line of a block; simdjson reads behind it.
  void line(std::string_view text) {
    simdjson::ondemand::document document;
    const simdjson::padded_string_view padded(text.data(), text.size(), text.size() + simdjson::SIMDJSON_PADDING);
    check(parser_.iterate(padded).get(document));
    simdjson::ondemand::object object = document.get_object();
    read(object, text);
  }
  std::size_t finish() {
    run("COMMIT");
    return static_cast<std::size_t>(sqlite3_total_changes(database_));
  }

 private:
  void check(int code) {
    if (code != SQLITE_OK && code != SQLITE_DONE) throw std::runtime_error(sqlite3_errmsg(database_));
  }
  void run(const char* sql) { check(sqlite3_exec(database_, sql, nullptr, nullptr, nullptr)); }

  void check(simdjson::error_code code) {
    if (code != simdjson::SUCCESS) throw std::runtime_error(simdjson::error_message(code));
  }

  void read(simdjson::ondemand::object& object, std::string_view text) {
    std::string_view subject;
    std::int64_t time = 0;
    bool is_event = false;
    for (auto field : object) {
      const std::string_view key = field.unescaped_key();
      if (key == "v") {
        is_event = true;
      } else if (key == "device" && !is_event) {
        core::from_hex(std::string_view(field.value()), device_);
      } else if (key == "after" && !is_event) {
        seq_ = static_cast<std::int64_t>(std::int64_t(field.value()));
      } else if (key == "of") {
        subject = std::string_view(field.value().get_array().at(0));
      } else if (key == "place" && subject.empty()) {
        subject = std::string_view(field.value());
      } else if (key == "wall") {
        time = std::int64_t(field.value());
        break;
      }
    }
    if (is_event) store(text, subject, time);
  }

  void store(std::string_view bytes, std::string_view subject, std::int64_t time) {
    sqlite3_bind_blob(insert_, 1, device_.data(), static_cast<int>(device_.size()), SQLITE_STATIC);
    sqlite3_bind_int64(insert_, 2, ++seq_);
    sqlite3_bind_text(insert_, 3, bytes.data(), static_cast<int>(bytes.size()), SQLITE_STATIC);
    sqlite3_bind_text(insert_, 4, subject.data(), static_cast<int>(subject.size()), SQLITE_STATIC);
    sqlite3_bind_int64(insert_, 5, time);
    check(sqlite3_step(insert_));
    sqlite3_reset(insert_);
  }

  sqlite3* database_ = nullptr;
  sqlite3_stmt* insert_ = nullptr;
  simdjson::ondemand::parser parser_;
  core::DeviceId device_{};
  std::int64_t seq_ = 0;
};

}  // namespace

std::size_t feed_floor(const std::string& stream, const std::string& database) {
  Floor floor(database);
  for_each_line(stream, simdjson::SIMDJSON_PADDING, [&](std::string_view line) { floor.line(line); });
  return floor.finish();
}

}  // namespace rackside::bench
