#include <fmt/format.h>
#include <unistd.h>

#include <filesystem>
#include <nlohmann/json.hpp>

#include "cli/sync/child.h"
#include "cli/sync/sync_options.h"
#include "sync/hub/http_peer.h"
#include "sync/hub/joining.h"
#include "sync/protocol/bundle.h"
#include "sync/protocol/pipe.h"

namespace rackside::cli {

using core::Book;
using core::Error;
using core::Fault;
using Json = nlohmann::json;

namespace {

void exchange_with(Session& session, sync::Peer& peer, sync::Ways ways) {
  SyncReport report(session);
  report.print(sync::exchange(session.book(), session.path(), peer, clock_of(session), ways, progress_of(session)));
}

void with_book(Session& session, const std::string& path) {
  std::error_code none;
  if (std::filesystem::equivalent(path, session.path(), none)) {
    throw Error(Fault::usage, "That is the same book. Name another one to sync with.");
  }
  Book other = Book::open(path);
  sync::LocalPeer peer({other, path, clock_of(session)});
  exchange_with(session, peer, sync::Ways::both);
}

void with_hub(Session& session, const std::string& url) {
  auto link = sync::hub::hub_link(session.book());
  if (!link) {
    throw Error(Fault::usage,
                "This book has joined no hub yet. Ask at the hub for a join code (`rackside invite`), then "
                "`rackside join URL CODE`; or name another book: `rackside sync FILE.book`.");
  }
  const bool moved = !url.empty() && url != link->url;
  if (moved) link->url = url;
  sync::hub::HttpPeer peer(sync::hub::client_of(*link));
  const bool reads_only = link->role == sync::join::Role::viewer;
  exchange_with(session, peer, reads_only ? sync::Ways::receive : sync::Ways::both);
  if (moved) session.book().write([&] { sync::hub::set_hub_link(session.book(), *link); });
}

void answer_on_standard_io(Session& session) {
  sync::Responder responder(session.book(), session.path(), clock_of(session));
  try {
    sync::serve_pipe(responder, STDIN_FILENO, STDOUT_FILENO);
  } catch (const Error& error) {
    // Standard output belongs to the protocol, also with --json.
    session.json = false;
    throw;
  }
}

void with_command(Session& session, const std::string& command) {
  Child child(command);
  try {
    sync::PipePeer peer(child.from(), child.to());
    exchange_with(session, peer, sync::Ways::both);
    peer.leave();
  } catch (const Error& error) {
    const int status = child.finish();
    if (error.fault() != Fault::unreachable) throw;
    throw Error(Fault::unreachable,
                fmt::format("The command ended with status {} before the exchange was over: {}", status, error.what()));
  }
  child.finish();
}

void write_bundle(Session& session, const SyncOptions& options) {
  const auto what = options.own_only ? sync::BundleOf::own_device : sync::BundleOf::everything;
  const auto written = sync::write_bundle(session.book(), options.out, what, clock_of(session), progress_of(session));
  session.terminal.end_progress();
  if (session.json) return session.terminal.line(Json{{"bundle", options.out}, {"events", written.events}}.dump());
  session.terminal.good(fmt::format("{} entries are in {}. At the other book: `rackside sync --in {}`.", written.events,
                                    options.out, options.out));
}

void read_bundle(Session& session, const SyncOptions& options) {
  SyncReport report(session);
  const auto read = sync::read_bundle(session.book(), options.in, progress_of(session));
  report.print({.peer = options.in, .received = read.events, .repeated = read.known, .forked = read.forked});
}

}  // namespace

void run_sync(Session& session, const SyncOptions& options) {
  const int ways = !options.with.empty() + !options.command.empty() + !options.out.empty() + !options.in.empty();
  if (ways > 1) throw Error(Fault::usage, "Give one of: a book or address, --command, --out, --in.");
  if (!options.out.empty()) return write_bundle(session, options);
  if (!options.in.empty()) return read_bundle(session, options);
  if (!options.command.empty()) return with_command(session, options.command);
  if (options.with == "-") return answer_on_standard_io(session);
  if (options.with.empty() || options.with.find("://") != std::string::npos) return with_hub(session, options.with);
  with_book(session, options.with);
}

}  // namespace rackside::cli
