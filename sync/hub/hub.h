#pragma once

#include <memory>
#include <mutex>
#include <string>
#include <vector>

#include "sync/http/server.h"
#include "sync/hub/aisle_copy.h"
#include "sync/hub/gene_desk.h"
#include "sync/hub/joining.h"
#include "sync/hub/label_desk.h"
#include "sync/hub/live.h"
#include "sync/hub/pictures.h"
#include "sync/hub/presence.h"
#include "sync/hub/services.h"
#include "sync/hub/turns.h"
#include "sync/join/desk.h"
#include "sync/protocol/responder.h"

namespace rackside::sync::hub {

/// Books of the same file for readers, opened when needed and kept: a slow peer that streams holds one of its own and
/// nobody else's. Thread: safe.
class ReaderPool {
 public:
  explicit ReaderPool(std::string path) : path_(std::move(path)) {}
  /// Given back when the last copy goes. The pool must outlive it.
  std::shared_ptr<core::Book> take();

 private:
  std::string path_;
  std::mutex mutex_;
  std::vector<std::unique_ptr<core::Book>> idle_;
};

/// The book behind a server: its routes, its devices, its invitations. One writer at a time within this process
/// (Turns); other processes keep out by the book's lock.
class Hub {
 public:
  /// `name` is what devices are told. Errors: those of Book::open.
  Hub(const std::string& book_path, std::string name, ClockSource clock, Services services = {});
  ~Hub();

  http::Admit admission();
  /// Adds the protocol's routes. The server must not outlive this object.
  void add_routes(http::Server& server);

  core::CollectionId collection();
  /// Moves what the write-ahead log holds into the book, under the lock. For a clean end.
  void checkpoint();

 private:
  http::Response heads(const http::Request& request);
  http::Response ladders(const http::Request& request);
  http::Response pull(const http::Request& request);
  http::Response push(const http::Request& request);
  http::Response join(const http::Request& request);
  http::Response aisle(const http::Request& request);
  http::Response live(const http::Request& request);
  http::Response claim(const http::Request& request);
  http::Response devices(const http::Request& request);
  http::Response retire(const http::Request& request);
  http::Response pairing(const http::Request& request);
  http::Response photo(const http::Request& request);
  http::Response label_offer(const http::Request& request);
  http::Response labels(const http::Request& request);
  void hear(const http::Request& request, const core::DeviceId& device);
  Responder responder(core::Book& book) { return {book, name_, clock_}; }

  std::string name_;
  ClockSource clock_;
  core::Book writer_;
  Turns turns_;  ///< at the writer
  ReaderPool readers_;
  GeneDesk genes_{[this] { return readers_.take(); }};
  AisleCopy aisle_{[this] { return readers_.take(); }, genes_};
  Live live_{[this] { return readers_.take(); }};
  Presence presence_;
  PictureDesk pictures_;
  LabelDesk label_desk_;
  struct DeskPart;
  std::unique_ptr<DeskPart> desk_;
};

}  // namespace rackside::sync::hub
