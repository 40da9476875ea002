#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "cli/sync/sync_options.h"

namespace rackside::cli {

using Json = nlohmann::json;

namespace {

std::string counted(std::size_t number, std::string_view thing) {
  return fmt::format("{} {}{}", number, thing, number == 1 ? "" : "s");
}

std::vector<std::string> hex_of(const std::vector<core::DeviceId>& devices) {
  std::vector<std::string> out;
  for (const core::DeviceId& device : devices) out.push_back(core::to_hex(device));
  return out;
}

std::string traffic(const sync::SyncResult& result) {
  if (result.received + result.sent == 0) return "Nothing new on either side.";
  std::string came = result.received == 0 ? "nothing came" : counted(result.received, "entry") + " came";
  std::string went = result.sent == 0 ? "nothing went" : counted(result.sent, "entry") + " went";
  const auto plural = [](std::string text) {
    const std::size_t at = text.find("entrys");
    return at == text.npos ? text : text.replace(at, 6, "entries");
  };
  return plural(std::move(came)) + ", " + plural(std::move(went)) + ".";
}

}  // namespace

sync::ClockSource clock_of(const Session& session) {
  return [&session] { return session.clock(); };
}

sync::OnProgress progress_of(const Session& session) {
  if (session.json) return {};
  return [&session](const sync::Progress& progress) {
    session.terminal.progress("exchanging entries", progress.received + progress.sent, 0);
  };
}

SyncReport::SyncReport(Session& session) : session_(session), questions_before_(open_questions()) {}

std::size_t SyncReport::open_questions() {
  auto query = session_.book().database().prepare("SELECT count(*) FROM matter WHERE answers <> '' AND asks = 1");
  return query.step() ? static_cast<std::size_t>(query.integer(0)) : 0;
}

void SyncReport::print(const sync::SyncResult& result) {
  const Terminal& out = session_.terminal;
  out.end_progress();
  const std::size_t questions = open_questions();
  const std::size_t fresh = questions > questions_before_ ? questions - questions_before_ : 0;
  if (session_.json) {
    out.line(Json{{"peer", result.peer},
                  {"received", result.received},
                  {"sent", result.sent},
                  {"repeated", result.repeated},
                  {"questions", questions},
                  {"new_questions", fresh},
                  {"forked", hex_of(result.forked)},
                  {"succeeded", result.succeeded ? Json(core::to_hex(*result.succeeded)) : Json()},
                  {"round_trips", result.round_trips}}
                 .dump(-1, ' ', false, Json::error_handler_t::replace));
    return;
  }
  out.good("Synced with " + out.name(result.peer) + ": " + traffic(result));
  if (fresh > 0)
    out.warn(counted(fresh, "new question") + ": `rackside questions` shows " + (fresh == 1 ? "it." : "them."));
  if (result.succeeded) {
    out.warn(
        "This book is a copy, or a restored backup, and the other one wrote on under the same name. Nothing is lost "
        "and "
        "nothing counts twice: all entries of both are kept. From now on this book writes as a device of its own, " +
        core::to_hex(*result.succeeded).substr(0, 6) + "; what both recorded of one animal may come as a question.");
    return;
  }
  for (const core::DeviceId& device : result.forked) {
    out.warn("Device " + core::to_hex(device) +
             " wrote two different lines of entries: a backup was restored, or its book was copied. "
             "Both are kept and count, nothing twice. Each copy goes on under a name of its own when it next syncs.");
  }
}

}  // namespace rackside::cli
