#include "sync/hub/hub.h"

#include "core/crypto/sha256.h"
#include "sync/hub/book_store.h"
#include "sync/hub/members.h"
#include "sync/join/gate.h"

namespace rackside::sync::hub {

using core::Book;
using core::Error;
using core::Fault;
using http::Request;
using http::Response;

namespace {

constexpr std::size_t kMostIdleReaders = 8;
constexpr std::size_t kJoinBody = 4 * 1024;
constexpr std::size_t kMostNameBytes = 200;
constexpr int kLockWaitMs = 20'000;

Response lines(std::string body) {
  Response out;
  out.content_type = std::string(kLinesType);
  out.body = std::move(body);
  return out;
}

}  // namespace

std::shared_ptr<Book> ReaderPool::take() {
  std::unique_ptr<Book> book;
  {
    const std::lock_guard lock(mutex_);
    if (!idle_.empty()) {
      book = std::move(idle_.back());
      idle_.pop_back();
    }
  }
  if (!book) book = std::make_unique<Book>(Book::open(path_));
  return {book.release(), [this](Book* used) {
            std::unique_ptr<Book> back(used);
            const std::lock_guard lock(mutex_);
            if (idle_.size() < kMostIdleReaders) idle_.push_back(std::move(back));
          }};
}

/// Tokens and invitations have a connection of their own, so that admitting a caller never waits for a merge.
struct Hub::DeskPart {
  explicit DeskPart(const std::string& path) : book(Book::open(path)), store(book), desk(store) {}
  Book book;
  BookStore store;
  join::Desk desk;
};

Hub::Hub(const std::string& book_path, std::string name, ClockSource clock)
    : name_(std::move(name)),
      clock_(std::move(clock)),
      writer_(Book::open(book_path)),
      readers_(book_path),
      desk_(std::make_unique<DeskPart>(book_path)) {}

Hub::~Hub() = default;

http::Admit Hub::admission() {
  return join::gate(desk_->desk);
}

core::CollectionId Hub::collection() {
  return writer_.collection();
}

void Hub::checkpoint() {
  const std::lock_guard lock(writer_mutex_);
  const core::BookLock book_lock(writer_.path() + "-lock", kLockWaitMs);
  writer_.database().checkpoint();
}

void Hub::add_routes(http::Server& server) {
  const auto handler = [this](Response (Hub::*work)(const Request&)) {
    return [this, work](const Request& request) { return (this->*work)(request); };
  };
  server.route("GET", "/v1/hello", [this](const Request&) {
    return lines(to_line(core::Value::Object{{"rackside", kProtocolVersion}, {"name", name_}}));
  });
  server.route("POST", "/v1/heads", handler(&Hub::heads), {.right = "pull"});
  server.route("POST", "/v1/ladders", handler(&Hub::ladders), {.right = "pull"});
  server.route("POST", "/v1/pull", handler(&Hub::pull), {.right = "pull"});
  server.route("POST", "/v1/push", handler(&Hub::push), {.right = "push", .body_limit = kBatchBytes});
  server.route("POST", "/v1/join", handler(&Hub::join), {.body_limit = kJoinBody});
}

Response Hub::heads(const Request& request) {
  VectorMessage asked = vector_from_text(request.body);
  // Only the device itself may have its clock checked: a relay's word about another would be hearsay.
  if (core::to_hex(asked.device) != request.device) {
    throw Error(Fault::not_allowed, "This token was given to another device. Join this one with a code of its own.");
  }
  const std::lock_guard lock(writer_mutex_);
  if (asked.newest && !is_or_succeeded(writer_, asked.device, asked.newest->device)) asked.newest.reset();
  note_seen(writer_, request.device, clock_().wall_ms);
  return lines(to_text(responder(writer_).heads(asked)));
}

Response Hub::ladders(const Request& request) {
  const auto book = readers_.take();
  return lines(to_text(responder(*book).ladders(vector_from_text(request.body))));
}

Response Hub::pull(const Request& request) {
  auto book = readers_.take();
  VectorMessage asked = vector_from_text(request.body);
  responder(*book).require_same_collection(asked);
  Response out = lines("");
  out.stream = [this, book = std::move(book), asked = std::move(asked)](const Sink& sink) {
    responder(*book).pull(asked, sink);
    return false;
  };
  return out;
}

Response Hub::push(const Request& request) {
  const std::lock_guard lock(writer_mutex_);
  return lines(to_text(responder(writer_).push(request.body)));
}

Response Hub::join(const Request& request) {
  const JoinRequest asked = join_request_from_text(request.body);
  if (asked.name.size() > kMostNameBytes) throw Error(Fault::too_large, "The name of the device is too long.");
  if (!holds_its_key(asked)) throw Error(Fault::bad_signature, "The device does not hold the key that it shows.");
  const core::DeviceId device = core::device_id_of(asked.key);
  const auto joined =
      desk_->desk.redeem(asked.secret, core::to_hex(device), core::random_array<32>(), clock_().wall_ms);
  if (!joined) throw Error(Fault::expired_code, std::string(join::kJoinRefused));
  const std::lock_guard lock(writer_mutex_);
  JoinAnswer answer{writer_.collection(), writer_.device(), name_, joined->token, joined->role, {}};
  answer.by = admit(writer_, device, joined->role, asked.name, joined->label, clock_());
  return lines(to_text(answer));
}

}  // namespace rackside::sync::hub
