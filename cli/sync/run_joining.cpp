#include <fmt/format.h>
#include <unistd.h>

#include <filesystem>
#include <nlohmann/json.hpp>

#include "cli/sync/join_sheet.h"
#include "cli/sync/symbols.h"
#include "cli/sync/sync_options.h"
#include "sync/hub/book_store.h"
#include "sync/hub/http_peer.h"
#include "sync/hub/joining.h"
#include "sync/hub/keys.h"
#include "sync/hub/members.h"
#include "sync/join/desk.h"
#include "sync/protocol/exchange.h"

namespace rackside::cli {

using core::Book;
using core::Error;
using core::Fault;
using Json = nlohmann::json;

namespace {

// ---- inviting

std::string serving_url(Book& book) {
  const auto url = book.own_value("serving_url");
  if (url) return *url;
  throw Error(Fault::usage,
              "This book has not been served as a hub yet, so there is nothing to join. Start `rackside serve` on this "
              "computer first; leave it running, then invite.");
}

void write_join_pictures(const std::string& name, const std::string& trust, const std::string& link) {
  if (!trust.empty()) write_symbol_png(name + "-1-trust.png", trust);
  write_symbol_png(name + "-2-join.png", link);
}

// ---- joining

core::KeyPair own_key(Book& book) {
  const auto secret = core::array_from_hex<32>(book.own_value("secret").value_or(""));
  if (!secret) throw Error(Fault::corrupt, "The book has lost its device key. Restore it from a backup.");
  return core::KeyPair::from_secret(*secret);
}

std::string computer_name() {
  char name[256] = "";
  return ::gethostname(name, sizeof name - 1) == 0 ? name : "laptop";
}

/// A book that is there already joins anew under its old key, when it is of the hub's own collection.
void join_again(Session& session, const sync::hub::Joined& joined) {
  Book& book = session.book();
  if (book.collection() != joined.answer.collection) {
    sync::refuse_other_collection(book.collection(), session.path(), joined.answer.collection, joined.answer.hub_name);
  }
  book.write([&] {
    sync::hub::set_hub_link(book, joined.link);
    book.set_own_value("known_as", core::to_hex(book.device()));
  });
}

void first_sync(Session& session, const sync::hub::HubLink& link) {
  try {
    run_sync(session, {});
  } catch (const Error& error) {
    throw Error(error.fault(), std::string("This device has joined ") + link.name +
                                   ", but its first sync failed: " + error.what() + " Run `rackside sync` again.");
  }
}

}  // namespace

void run_invite(Session& session, const InviteOptions& options) {
  const auto role = sync::join::role_from_name(options.role);
  if (!role) throw Error(Fault::usage, "The role is keeper, helper or viewer.");
  Book& book = session.book();
  sync::hub::require_keeper(book);
  const std::string url = serving_url(book);
  const auto identity = sync::hub::open_identity(session.path(), "", sync::hub::machine_addresses(), session.now());
  sync::join::JoinCode code;
  code.secret = core::random_array<16>();
  code.pin = sync::join::pin_of(sync::tls::fingerprint(identity.root));
  sync::hub::BookStore store(book);
  sync::join::Desk desk(store);
  desk.invite(*role, core::mend_text(options.person), code.secret, session.now());
  // A phone that joins now is bound to this address: its store belongs to it.
  if (!book.own_value("phone_origin")) book.write([&] { book.set_own_value("phone_origin", url); });
  const std::string text = to_text(code);
  const Terminal& out = session.terminal;
  const std::string link = join_link(url, code);
  const std::string trust = book.own_value("trust_url").value_or("");
  if (!options.png.empty()) write_join_pictures(options.png, trust, link);
  if (!options.sheet.empty()) {
    if (trust.empty())
      throw Error(Fault::usage,
                  "There is no sheet before the hub was served with encryption: start `rackside serve` first.");
    const auto fingerprint = sync::tls::grouped_fingerprint(sync::tls::fingerprint(identity.root));
    write_join_sheet(options.sheet, {trust, fingerprint, identity.name});
  }
  if (session.json) {
    Json said = {{"code", text}, {"url", url}, {"role", options.role}, {"minutes", 10}, {"tries", sync::join::kTries}};
    said["link"] = link;
    if (!trust.empty()) said["trust_url"] = trust;
    out.line(said.dump());
    return;
  }
  out.good("A join code for " +
           (options.person.empty() ? "a " + options.role : options.person + ", as " + options.role) +
           ", good for ten minutes and one device:");
  out.line();
  out.line("  " + out.strong(text));
  out.line();
  if (!trust.empty()) {
    out.line(out.strong("On a phone, first:") + " open " + trust +
             " (scan this with its camera app) and follow the steps.");
    print_symbol(out, trust);
    out.line(out.strong("Then, inside the page") + " that this leads to: scan this, or type the code above.");
  }
  print_symbol(out, link);
  if (!options.png.empty()) out.line("Both are pictures too: " + options.png + "-1-trust.png and -2-join.png");
  if (!options.sheet.empty()) out.line("The sheet for new phones, to hang up: " + options.sheet);
  out.line("On the laptop: rackside join " + url + " " + text);
}

void run_join(Session& session, const JoinOptions& options) {
  const sync::join::JoinCode code = sync::join::parse_join_code(options.code);
  const std::string path = session.path();
  const bool again = std::filesystem::exists(path);
  const core::KeyPair key = again ? own_key(session.book()) : core::KeyPair::generate();
  const std::string name = options.device_name.empty() ? computer_name() : options.device_name;
  if (!again) {
    const std::string folder = std::filesystem::path(path).parent_path().string();
    if (!folder.empty()) std::filesystem::create_directories(folder);
  }
  const sync::hub::Joined joined = sync::hub::ask_to_join(options.url, code, key, name);
  if (again) {
    join_again(session, joined);
  } else {
    sync::hub::make_joined_book(path, joined, key, session.clock());
  }
  if (!session.json) {
    const std::string role(role_name(joined.answer.role));
    session.terminal.good("This device joined " + session.terminal.name(joined.answer.hub_name) + " as " + role +
                          ". Its book: " + path);
  }
  first_sync(session, joined.link);
}

// ---- devices

namespace {

std::string standing_of(const sync::hub::Member& member) {
  if (member.is_retired) return "retired";
  if (member.role == core::Role::none) return "not admitted";
  return std::string(core::word_of(member.role)) + (member.is_clock ? ", clock" : "");
}

std::string offset_of(const sync::hub::Member& member) {
  if (!member.offset_ms) return "";
  const double seconds = static_cast<double>(*member.offset_ms) / 1000;
  // The offset corrects the device: a positive one means that its clock is behind.
  if (seconds > -1 && seconds < 1) return "right";
  return fmt::format("{:.0f} s {}", seconds < 0 ? -seconds : seconds, seconds < 0 ? "ahead" : "behind");
}

Json json_of(const sync::hub::Member& member) {
  Json out = {{"device", core::to_hex(member.device)},
              {"name", member.name},
              {"role", core::word_of(member.role)},
              {"clock", member.is_clock},
              {"retired", member.is_retired},
              {"this", member.is_self},
              {"events", member.events},
              {"lines", member.lines}};
  if (member.last_entry_ms) out["last_entry_ms"] = *member.last_entry_ms;
  if (member.seen_ms) out["seen_ms"] = *member.seen_ms;
  if (member.offset_ms) out["offset_ms"] = *member.offset_ms;
  if (member.unsent) out["unsent"] = *member.unsent;
  if (member.oldest_ms) out["oldest_unsent_ms"] = *member.oldest_ms;
  return out;
}

/// What waited on it when it was heard last, since when.
std::string unsent_of(Session& session, const sync::hub::Member& member) {
  if (!member.unsent) return "";
  if (*member.unsent == 0) return "none";
  return fmt::format("{}{}", *member.unsent, member.oldest_ms ? ", " + session.when(*member.oldest_ms) : "");
}

}  // namespace

void run_devices(Session& session) {
  const auto all = sync::hub::members(session.book());
  const Terminal& out = session.terminal;
  if (session.json) {
    Json list = Json::array();
    for (const auto& member : all) list.push_back(json_of(member));
    return out.line(list.dump(-1, ' ', false, Json::error_handler_t::replace));
  }
  std::vector<std::vector<std::string>> rows = {
      {"device", "name", "standing", "entries", "last entry", "last seen", "unsent", "clock"}};
  for (const auto& member : all) {
    rows.push_back(
        {core::to_hex(member.device), member.is_self ? member.name + " (this one)" : member.name, standing_of(member),
         std::to_string(member.events) + (member.lines > 1 ? fmt::format(" on {} lines", member.lines) : ""),
         member.last_entry_ms ? session.when(*member.last_entry_ms) : "",
         member.seen_ms ? session.when(*member.seen_ms) : "", unsent_of(session, member), offset_of(member)});
  }
  out.table(rows);
}

void run_rename(Session& session, const std::string& device, const std::string& name) {
  Book& book = session.book();
  const sync::hub::Member member = sync::hub::find_member(book, device);
  sync::hub::rename(book, member, name, session.clock());
  const std::string id = core::to_hex(member.device);
  if (session.json) return session.terminal.line(Json{{"renamed", id}, {"name", name}}.dump());
  session.terminal.good("Device " + id + " is called " + name + " from now on.");
}

void run_retire(Session& session, const std::string& device) {
  Book& book = session.book();
  const sync::hub::Member member = sync::hub::find_member(book, device);
  sync::hub::retire(book, member, session.clock());
  sync::hub::BookStore store(book);
  sync::join::Desk desk(store);
  for (const core::DeviceId& one : sync::hub::with_predecessors(book, member.device)) {
    desk.revoke(core::to_hex(one), session.now());
  }
  const std::string id = core::to_hex(member.device);
  if (session.json) return session.terminal.line(Json{{"retired", id}}.dump());
  session.terminal.good("Device " + id + (member.name.empty() ? "" : " (" + member.name + ")") +
                        " is retired: what it wrote up to now counts, what it writes from now on does not.");
}

}  // namespace rackside::cli
