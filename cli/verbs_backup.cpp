// backup, and the half of `restore` that makes a book from one.
#include <fmt/format.h>
#include <sys/stat.h>

#include <CLI/CLI.hpp>
#include <filesystem>
#include <nlohmann/json.hpp>

#include "cli/backup.h"
#include "cli/session.h"
#include "cli/verbs.h"
#include "core/book/schema.h"
#include "core/crypto/key.h"
#include "sync/files/whole_file.h"
#include "sync/hub/keys.h"

namespace rackside::cli {
namespace {

using namespace core;
using Json = nlohmann::json;
namespace files = std::filesystem;

std::string target_file(Session& session, const std::string& target) {
  if (!files::is_directory(target)) return target;
  const std::string stem = files::path(session.path()).stem().string();
  const DayNumber today = session.reader().settings().zone.day_of(session.now());
  return (files::path(target) / (stem + "-" + date_text(today) + ".book")).string();
}

void remove_with_journals(const std::string& path) {
  for (const char* end : {"", "-wal", "-shm", "-journal", "-lock"}) files::remove(path + end);
}

/// A file made under another name, which disappears again unless it was finished.
class Unfinished {
 public:
  explicit Unfinished(const std::string& path) : path_(path), draft_(path + ".unfinished") {
    remove_with_journals(draft_);
  }
  ~Unfinished() { remove_with_journals(draft_); }
  Unfinished(const Unfinished&) = delete;
  Unfinished& operator=(const Unfinished&) = delete;
  const std::string& draft() const { return draft_; }
  void finish() {
    if (::chmod(draft_.c_str(), 0600) != 0 || ::rename(draft_.c_str(), path_.c_str()) != 0)
      throw Error(Fault::disk_fault, "The copy could not be given its name " + path_ + ". Nothing was left there.");
    sync::sync_folder_of(path_);
  }

 private:
  std::string path_, draft_;
};

void refuse_foreign_file(Session& session, const std::string& path) {
  if (!files::exists(path)) return;
  std::error_code none;
  if (files::equivalent(path, session.path(), none))
    throw Error(Fault::usage, "That is the book itself. Name another file, best on another disk.");
  bool same = false;
  try {
    Database old(path, Database::Mode::open);
    auto query = old.prepare("SELECT value FROM meta WHERE key = 'collection'");
    same = query.step() && query.text(0) == to_hex(session.book().collection());
  } catch (const Error&) {
    // No book at all: as foreign as another collection's.
  }
  if (!same)
    throw Error(
        Fault::book_exists,
        path + " is there already and is no backup of this collection. Name another file; nothing was written.");
}

/// The hub's keys lie beside its book: without them every phone would have to join again.
bool copy_keys(const std::string& from_book, const std::string& to_book) {
  const std::string from = sync::hub::keys_path(from_book);
  if (!files::exists(from)) return false;
  Unfinished copy(sync::hub::keys_path(to_book));
  files::copy_file(from, copy.draft());
  copy.finish();
  return true;
}

/// What a backup holds: entries, after SQLite's own look at every page of it.
std::size_t sound_entries(const std::string& path) {
  Database copy(path, Database::Mode::open);
  const std::string damage = copy.integrity_problem();
  if (!damage.empty())
    throw Error(Fault::corrupt, path + " is damaged (" + damage + "). Take another backup; nothing was changed.");
  auto query = copy.prepare("SELECT count(*) FROM event");
  query.step();
  return static_cast<std::size_t>(query.integer(0));
}

void copy_book(Session& session, Database& from, const std::string& to) {
  Unfinished copy(to);
  from.copy_to(copy.draft(), [&](std::size_t done, std::size_t all) {
    session.terminal.progress("copying the book, pages", done, all);
  });
  session.terminal.end_progress();
  sound_entries(copy.draft());
  copy.finish();
}

void note_backup(Book& book, std::int64_t now_ms) {
  book.write([&] { book.set_own_value("backup_ms", std::to_string(now_ms)); });
}

}  // namespace

void make_backup(Session& session, const std::string& target) {
  Book& book = session.book();
  const std::string path = target_file(session, target);
  refuse_foreign_file(session, path);
  copy_book(session, book.database(), path);
  const bool keys = copy_keys(session.path(), path);
  const std::size_t entries = sound_entries(path);
  note_backup(book, session.now());
  if (session.json) return session.terminal.line(Json{{"backup", path}, {"entries", entries}, {"keys", keys}}.dump());
  session.terminal.good(fmt::format("{} entries are in {}, read back and sound{}.", entries, path,
                                    keys ? "; the hub's keys lie beside it" : ""));
  session.terminal.line(session.terminal.faint(
      "It holds this device's key: keep it where strangers cannot reach it, best in another building."));
}

void restore_backup(Session& session, const std::string& backup) {
  const std::string path = session.path();
  if (files::exists(path))
    throw Error(Fault::book_exists, "There is a book at " + path +
                                        " already. Give another place with --book, or move it aside first; nothing was "
                                        "written.");
  {
    // Read as it is: a backup is never changed, not even to bring it to today's form.
    Database original(backup, Database::Mode::open);
    needs_migration(original);
    copy_book(session, original, path);
  }
  const bool keys = copy_keys(backup, path);
  Book& book = session.book();
  book.succeed(session.clock());
  const std::size_t entries = sound_entries(path);
  const std::string id = to_hex(book.device());
  if (session.json)
    return session.terminal.line(Json{{"book", path}, {"entries", entries}, {"device", id}, {"keys", keys}}.dump());
  session.terminal.good(fmt::format("{} was made from the backup: {} entries.", path, entries));
  session.terminal.line(
      "It writes as a new device, " + id.substr(0, 6) +
      ", because the book that was lost may have written on: what others hold of that comes back when they sync, and "
      "nothing counts twice.");
  session.terminal.line(keys ? "Start `rackside serve` now: phones and laptops know this hub and need nothing."
                             : "Run `rackside sync` now, with the hub or with any other book of the collection.");
}

void add_backup_verbs(CLI::App& app, Session& session) {
  auto target = std::make_shared<std::string>();
  auto* verb = app.add_subcommand("backup", "Copy the book to a file or folder, also while a hub serves it");
  verb->add_option("target", *target, "A file, or a folder in which it gets a name with today's date")->required();
  verb->footer(
      "`rackside --book NEW restore FILE` makes a book from a backup. In some countries the law asks for records that "
      "survive a fire: keep one copy elsewhere.");
  verb->callback([&session, target] { make_backup(session, *target); });
}

}  // namespace rackside::cli
