#include "sync/hub/hub.h"

#include <charconv>
#include <chrono>
#include <map>
#include <set>

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
constexpr std::size_t kSmallBody = 1024;
constexpr std::size_t kMostNameBytes = 200;
constexpr int kLockWaitMs = 20'000;
constexpr std::string_view kPhotoRight = "photo";
constexpr std::size_t kWishBody = 32 * 1024;  ///< 2000 codes

Response lines(std::string body) {
  Response out;
  out.content_type = std::string(kLinesType);
  out.body = std::move(body);
  out.compress = Response::Compress::when_taken;
  return out;
}

std::int64_t steady_ms() {
  using namespace std::chrono;
  return duration_cast<milliseconds>(steady_clock::now().time_since_epoch()).count();
}

/// A count or a time in the query; nothing where there is none, or it is no such number.
std::optional<std::int64_t> number_parameter(const Request& request, std::string_view name) {
  const std::string text = request.parameter(name).value_or("");
  std::int64_t out = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), out);
  if (text.empty() || error != std::errc{} || end != text.data() + text.size() || out < 0) return std::nullopt;
  return out;
}

core::Value device_value(const Member& member) {
  core::Value line = core::Value::Object{{"device", core::to_hex(member.device)},
                                         {"name", member.name},
                                         {"role", core::word_of(member.role)},
                                         {"retired", member.is_retired},
                                         {"this_hub", member.is_self},
                                         {"events", static_cast<std::int64_t>(member.events)}};
  const auto set = [&](const char* name, const std::optional<std::int64_t>& number) {
    if (number) line.set(name, *number);
  };
  set("last_entry", member.last_entry_ms);
  set("seen", member.seen_ms);
  set("unsent", member.unsent);
  set("oldest", member.oldest_ms);
  set("offset", member.offset_ms);
  return line;
}

/// A body that is one line, with or without its line feed.
core::Value one_line(const Request& request) {
  std::string_view body = request.body;
  if (body.ends_with('\n')) body.remove_suffix(1);
  return parse_line(body);
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

Hub::Hub(const std::string& book_path, std::string name, ClockSource clock, Services services)
    : name_(std::move(name)),
      clock_(std::move(clock)),
      writer_(Book::open(book_path)),
      turns_(writer_),
      readers_(book_path),
      pictures_(std::move(services.read_picture)),
      label_desk_(std::move(services.labels)),
      desk_(std::make_unique<DeskPart>(book_path)) {}

Hub::~Hub() = default;

http::Admit Hub::admission() {
  return [this, gate = join::gate(desk_->desk)](const Request& request, std::string_view right) {
    http::Admission admission = gate(request, right);
    // A picture is large, so whether there is room for it is settled before it comes.
    if (!admission.refused && right == kPhotoRight) admission.refused = pictures_.admit(admission.device, steady_ms());
    return admission;
  };
}

core::CollectionId Hub::collection() {
  return writer_.collection();
}

void Hub::checkpoint() {
  turns_.alone([&] {
    const core::BookLock book_lock(writer_.path() + "-lock", kLockWaitMs);
    writer_.database().checkpoint();
  });
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
  server.route("GET", "/v1/aisle", handler(&Hub::aisle), {.right = "look"});
  server.route("GET", "/v1/live", handler(&Hub::live), {.right = "live"});
  server.route("POST", "/v1/claim", handler(&Hub::claim), {.right = "push", .body_limit = kSmallBody});
  server.route("GET", "/v1/devices", handler(&Hub::devices), {.right = "devices"});
  server.route("POST", "/v1/retire", handler(&Hub::retire), {.right = "devices", .body_limit = kSmallBody});
  server.route("GET", "/v1/pairing", handler(&Hub::pairing), {.right = "look"});
  server.route("POST", "/v1/photo", handler(&Hub::photo),
               {.right = std::string(kPhotoRight), .body_limit = kMostPictureBytes});
  server.route("GET", "/v1/labels", handler(&Hub::label_offer), {.right = "print"});
  server.route("POST", "/v1/labels", handler(&Hub::labels), {.right = "print", .body_limit = kWishBody});
  server.route("POST", "/v1/join", handler(&Hub::join), {.body_limit = kJoinBody});
}

Response Hub::heads(const Request& request) {
  VectorMessage asked = vector_from_text(request.body);
  // Only the device itself may have its clock checked: a relay's word about another would be hearsay.
  if (core::to_hex(asked.device) != request.device) {
    throw Error(Fault::not_allowed, "This token was given to another device. Join this one with a code of its own.");
  }
  std::string answer;
  const auto told = presence_.hear(request.device, {clock_().wall_ms, {}, {}});
  turns_.run([&] {
    if (asked.newest && !is_or_succeeded(writer_, asked.device, asked.newest->device)) asked.newest.reset();
    if (told) keep(writer_, request.device, *told);
    answer = to_text(responder(writer_).heads(asked));
  });
  return lines(std::move(answer));
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
  std::string answer;
  turns_.run([&] { answer = to_text(responder(writer_).push(request.body)); });
  return lines(std::move(answer));
}

Response Hub::join(const Request& request) {
  const JoinRequest asked = join_request_from_text(request.body);
  if (asked.name.size() > kMostNameBytes) throw Error(Fault::too_large, "The name of the device is too long.");
  if (!holds_its_key(asked)) throw Error(Fault::bad_signature, "The device does not hold the key that it shows.");
  const core::DeviceId device = core::device_id_of(asked.key);
  const auto joined =
      desk_->desk.redeem(asked.secret, core::to_hex(device), core::random_array<32>(), clock_().wall_ms);
  if (!joined) throw Error(Fault::expired_code, std::string(join::kJoinRefused));
  JoinAnswer answer{writer_.collection(), {}, name_, joined->token, joined->role, {}};
  turns_.run([&] {
    answer.hub_device = writer_.device();
    answer.by = admit(writer_, device, joined->role, asked.name, joined->label, clock_());
  });
  Response out = lines(to_text(answer));
  out.compress = Response::Compress::never;  // it holds the token
  return out;
}

// ---- for phones: sync/PROTOCOL.md, sections 8 and 9

Response Hub::aisle(const Request& request) {
  // A phone whose store was set back goes on as another device under its old token, and asks for that one's head.
  auto device = core::array_from_hex<8>(request.parameter("device").value_or(""));
  if (!device) device = core::array_from_hex<8>(request.device);
  if (!device) throw Error(Fault::internal, "A token is tied to something that is no device.");
  hear(request, *device);
  const auto book = readers_.take();
  return lines(aisle_.answer(*book, *device, request.parameter("since").value_or(""), clock_().wall_ms));
}

void Hub::hear(const Request& request, const core::DeviceId& device) {
  Told told{clock_().wall_ms, number_parameter(request, "unsent"), number_parameter(request, "oldest")};
  std::string name = core::to_hex(device);
  // Of another device it is hearsay, unless that one is what this one became.
  const auto own = core::array_from_hex<8>(request.device);
  if (name != request.device && !(own && is_or_succeeded(*readers_.take(), *own, device))) name = request.device;
  const auto must = presence_.hear(name, told);
  if (!must) return;
  try {
    turns_.run([&] { keep(writer_, name, *must); });
  } catch (const Error&) {
    // A disk that is full must not keep the copy from the phones; the memory holds it meanwhile.
  }
}

Response Hub::live(const Request& request) {
  Response out = lines("");
  out.compress = Response::Compress::never;  // a mark must not wait in a compressor for more to come
  out.stream = live_.stream(request.device);
  return out;
}

Response Hub::claim(const Request& request) {
  const core::Value asked = one_line(request);
  const core::CodeReading rack = core::read_code(asked.text("rack"));
  if (!rack.code || rack.code->kind() != core::CodeKind::rack)
    throw Error(Fault::bad_code, "That is no rack's code. Scan the strip on the rack.");
  if (asked.flag("free")) {
    live_.free(rack.code->str());
  } else {
    const core::CodeReading by = core::read_code(asked.text("by"));
    live_.claim({rack.code->str(), by.code ? by.code->str() : "", request.device, clock_().wall_ms});
  }
  return lines(to_line(core::Value::Object{{"claimed", rack.code->str()}}));
}

Response Hub::devices(const Request&) {
  const auto book = readers_.take();
  std::map<std::string, std::string> people;
  for (const join::DeviceToken& token : desk_->desk.devices()) people[token.device] = token.label;
  const std::set<std::string> here = live_.listening();
  std::string out;
  std::int64_t count = 0;
  for (Member& member : members(*book)) {
    const std::string device = core::to_hex(member.device);
    if (const auto told = presence_.of(device)) {
      member.seen_ms = told->seen_ms;
      member.unsent = told->unsent;
      member.oldest_ms = told->oldest_ms;
    }
    core::Value line = device_value(member);
    if (const auto person = people.find(device); person != people.end() && !person->second.empty())
      line.set("person", person->second);
    if (here.contains(device)) line.set("here", true);
    out += to_line(line);
    ++count;
  }
  return lines(out + to_line(core::Value::Object{{"end", count}}));
}

Response Hub::retire(const Request& request) {
  const core::Value asked = one_line(request);
  const std::string name(asked.text("device"));
  std::vector<core::DeviceId> names;
  turns_.run([&] {
    const Member member = find_member(writer_, name);
    if (core::to_hex(member.device) != name)
      throw Error(Fault::unknown_code, "Devices are retired here by their full id; nothing was changed.");
    hub::retire(writer_, member, clock_());
    names = with_predecessors(writer_, member.device);
  });
  for (const core::DeviceId& one : names) desk_->desk.revoke(core::to_hex(one), clock_().wall_ms);
  return lines(to_line(core::Value::Object{{"retired", name}}));
}

Response Hub::pairing(const Request& request) {
  return lines(genes_.forecast(request.parameter("a").value_or(""), request.parameter("b").value_or("")));
}

Response Hub::photo(const Request& request) {
  return pictures_.take(request);
}

Response Hub::label_offer(const Request&) {
  return label_desk_.offer();
}

Response Hub::labels(const Request& request) {
  const LabelWish wish = wish_of(one_line(request));
  const auto book = readers_.take();
  LabelPages pages = label_desk_.print(*book, wish, clock_().wall_ms);
  if (!pages.printed.empty()) turns_.run([&] { writer_.record(pages.printed, clock_()); });
  return pages_response(std::move(pages));
}

}  // namespace rackside::sync::hub
