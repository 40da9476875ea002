// sync, serve, invite, join, devices, retire
#include <CLI/CLI.hpp>

#include "cli/session.h"
#include "cli/sync/sync_options.h"
#include "cli/verbs.h"

namespace rackside::cli {
namespace {

void add_sync(CLI::App& app, Session& session) {
  auto options = std::make_shared<SyncOptions>();
  auto* verb = app.add_subcommand("sync", "Exchange entries, both ways, with the hub or with any other book");
  verb->add_option("with", options->with,
                   "A book (FILE.book), the hub's address (https://…), or - to answer on standard input and output; "
                   "nothing: the hub that this book joined");
  verb->add_option("--command", options->command,
                   "A program that answers on its input and output: \"ssh desk rackside sync -\"");
  verb->add_option("--out", options->out, "Write a bundle instead, to be carried by hand");
  verb->add_option("--in", options->in, "Read a bundle");
  verb->add_flag("--own", options->own_only, "With --out: only what this very device wrote");
  verb->callback([&session, options] { run_sync(session, *options); });
}

void add_serve(CLI::App& app, Session& session) {
  auto options = std::make_shared<ServeOptions>();
  auto* verb = app.add_subcommand("serve", "Be the hub: serve this book to helpers' devices until Ctrl-C");
  verb->add_option("--listen", options->listen,
                   "Numeric address to listen on (default: every address of this computer)");
  verb->add_option("--port", options->port, "Port (default 8443, with --plain 8480; 0 picks a free one)")
      ->check(CLI::Range(0, 65535));
  verb->add_option("--join-port", options->join_port, "Port of the plain page for new phones (default 8480)")
      ->check(CLI::Range(0, 65535));
  verb->add_option("--name", options->name, "The hub's name for good, such as desk.local; only at the first start");
  verb->add_flag("--plain", options->plain, "Without encryption, for this computer only");
  verb->add_option("--ready-file", options->ready_file, "Write the address there once devices can connect");
  verb->callback([&session, options] { run_serve(session, *options); });
}

void add_joining(CLI::App& app, Session& session) {
  auto invite = std::make_shared<InviteOptions>();
  auto* invite_verb = app.add_subcommand("invite", "At the hub: a code with which one device may join");
  invite_verb->add_option("--role", invite->role, "helper, keeper or viewer (default helper)");
  invite_verb->add_option("--name", invite->person, "Who will use the device; registered as a helper if not known yet");
  invite_verb->add_option("--sheet", invite->sheet, "Write the sheet by which new phones begin (PDF, to hang up)");
  invite_verb->add_option("--png", invite->png, "Write both symbols as pictures: NAME-1-trust.png, NAME-2-join.png");
  invite_verb->callback([&session, invite] { run_invite(session, *invite); });

  auto join = std::make_shared<JoinOptions>();
  auto* join_verb = app.add_subcommand("join", "Make this computer a device of a hub, with a book of its own");
  join_verb->add_option("url", join->url, "The hub's address, as `serve` shows it")->required();
  join_verb->add_option("code", join->code, "The join code, as `invite` shows it")->required();
  join_verb->add_option("--name", join->device_name, "What this device is called (default: the computer's name)");
  join_verb->callback([&session, join] { run_join(session, *join); });
}

void add_devices(CLI::App& app, Session& session) {
  auto named = std::make_shared<std::string>();
  auto name = std::make_shared<std::string>();
  auto* devices = app.add_subcommand("devices", "List the devices that write into this collection, or rename one");
  auto* which = devices->add_option("device", *named, "Its id or name");
  devices->add_option("--name", *name, "Its new name")->needs(which);
  devices->callback([&session, named, name] {
    if (!name->empty()) return run_rename(session, *named, *name);
    run_devices(session);
  });
  auto device = std::make_shared<std::string>();
  auto* retire = app.add_subcommand("retire", "End a device: lost, sold, broken; what it wrote up to now stays");
  retire->add_option("device", *device, "Its id or name, as `devices` shows it")->required();
  retire->callback([&session, device] { run_retire(session, *device); });
}

}  // namespace

void add_sync_verbs(CLI::App& app, Session& session) {
  add_sync(app, session);
  add_serve(app, session);
  add_joining(app, session);
  add_devices(app, session);
}

}  // namespace rackside::cli
