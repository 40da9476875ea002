#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <nlohmann/json.hpp>

#include "cli/backup.h"
#include "cli/session.h"
#include "cli/verbs.h"

namespace rackside::cli {
namespace {

using namespace core;
using Json = nlohmann::json;

struct CheckOptions {
  bool digest = false;
  bool rebuild = false;
};

void print_digest(const Terminal& terminal, const Digest& digest) {
  terminal.line("log " + to_hex(digest.log));
  terminal.line(fmt::format("state {} {}", kRuleSet, to_hex(digest.state)));
}

void rebuild(Session& session) {
  session.book().fold_anew([&](std::size_t done, std::size_t all) {
    session.terminal.progress("Folding the state anew from the log:", done, all);
  });
  session.terminal.end_progress();
  session.terminal.good("The folded state was made anew from the log.");
}

void report(Session& session, const CheckReport& report) {
  const Terminal& out = session.terminal;
  if (session.json) {
    Json forked = Json::array();
    for (const DeviceId& device : report.forked) forked.push_back(to_hex(device));
    out.line(Json{{"events", report.events},
                  {"unread", report.unread},
                  {"forked", forked},
                  {"problems", report.problems},
                  {"log", to_hex(report.digest.log)},
                  {"state", to_hex(report.digest.state)},
                  {"ruleset", kRuleSet}}
                 .dump());
  } else {
    out.line(fmt::format("{} events; chains, signatures, form and folded state looked through.", report.events));
    if (report.unread > 0)
      out.warn(fmt::format("{} events are kept but not read: their devices are not admitted, or were retired before.",
                           report.unread));
    for (const DeviceId& device : report.forked) {
      out.warn("Device " + to_hex(device) +
               " has two branches: a backup was restored, or a copy of its book was used. Both are kept and count.");
    }
    for (const std::string& problem : report.problems) out.line(out.styled(Terminal::Style::bad, "✗ ") + problem);
    if (report.problems.empty()) out.good("The book is sound.");
    if (const std::string reminder = backup_reminder(session); !reminder.empty()) out.warn(reminder);
    print_digest(out, report.digest);
  }
  if (!report.problems.empty())
    throw Error(Fault::corrupt,
                "The book is not sound: keep a copy of it as it is, then restore the last backup and sync.");
}

void check(Session& session, const CheckOptions& options) {
  if (options.digest) return print_digest(session.terminal, session.book().digest());
  if (options.rebuild) rebuild(session);
  session.book().tidy();
  const CheckReport found = session.book().check(
      [&](std::size_t done, std::size_t all) { session.terminal.progress("checking event", done, all); });
  session.terminal.end_progress();
  report(session, found);
}

}  // namespace

void add_check_verb(CLI::App& app, Session& session) {
  auto options = std::make_shared<CheckOptions>();
  auto* verb = app.add_subcommand(
      "check", "Look the whole book through: file, chains, signatures, forks, log against folded state");
  verb->add_flag("--digest", options->digest,
                 "Only the two lines that are equal on any two books with the same events");
  verb->add_flag("--rebuild", options->rebuild, "Fold the state anew from the log first");
  verb->callback([&session, options] { check(session, *options); });
}

}  // namespace rackside::cli
