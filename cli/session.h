#pragma once

#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "cli/terminal.h"
#include "core/book/book.h"
#include "core/read/reader.h"

namespace CLI {
class App;
}

namespace rackside::cli {

/// What every verb gets: the options that all share, the book, the clock and the terminal.
/// The book is opened at the first use, so that `--help` and bad usage need none.
class Session {
 public:
  std::string book_path;  ///< from --book, else RACKSIDE_BOOK, else the XDG data folder
  bool json = false;
  Terminal terminal;

  /// Opens the book at `path()`; the same object afterwards. Errors: as core::Book::open.
  core::Book& book();
  /// A fresh reader of the book: call again after writing.
  core::Reader reader() { return core::Reader(book()); }
  /// Where the book is or will be.
  std::string path() const;

  /// The device's raw clock: wall, and the time since this boot with the boot's random id.
  core::ClockReading clock() const;
  core::Instant now() const;

  /// Finds a thing by what a person typed or scanned: a code in either form, or a short ID (any case). `kinds` limits
  /// what may be meant ("animal", "place" …); empty: anything.
  /// Errors: BadCode (says which check failed and what it might have been, known things first), UnknownCode (with
  /// similar short IDs), Ambiguous (lists them).
  core::Named find(const std::string& text, const std::vector<std::string>& kinds = {});
  core::Named find_animal(const std::string& text) { return find(text, {"animal", "group", "clutch"}); }
  core::Named find_place(const std::string& text) { return find(text, {"place"}); }

  /// A code that the book does not hold yet.
  core::Code new_code(core::CodeKind kind);

  /// Records events and returns their references: the one way by which verbs write.
  std::vector<core::EventRef> record(std::vector<core::Draft> drafts) {
    end_double();
    return book().record(std::move(drafts), clock());
  }

  /// Parses `--at`: "19:30", "yesterday 19:30", "2026-11-24 19:30", "2026-11-24", "2h ago", "20 min ago".
  /// Error(usage) says the forms. Days are those of the collection's zone.
  core::SaidTime parse_at(const std::string& text);

  /// "tonight 19:05", "yesterday", "3 days ago", "2026-10-02": for people, in the collection's zone.
  std::string when(core::Instant at);
  std::string clock_of(core::Instant at);

 private:
  void end_double();
  std::unique_ptr<core::Book> book_;
};

/// A verb registers itself: its options, its help and what it does. Each verbs_*.cpp has one such function, listed in
/// verbs.h, and app.cpp calls them all. What a verb throws becomes one message and the exit status of its fault.
using Work = std::function<void()>;

/// The local zone of this computer for the years ahead: what `init` writes into the book.
core::Zone system_zone(core::Instant now);

}  // namespace rackside::cli
