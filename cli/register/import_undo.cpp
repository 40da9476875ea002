#include <fmt/format.h>

#include <algorithm>
#include <nlohmann/json.hpp>
#include <set>

#include "cli/register/import.h"
#include "cli/wording.h"

namespace rackside::cli {
namespace {

using namespace core;
using Json = nlohmann::json;

/// So many entries a withdrawal names: an event holds 64 KiB.
constexpr std::size_t kNamedAtOnce = 400;
constexpr std::size_t kShownLater = 8;

/// An import of the log: the setting that begins it, and the events that follow on its device's line.
struct PastImport {
  std::string id, file;
  std::int64_t animals = 0;
  Instant at = 0;
  std::vector<EventRow> events;
};

std::vector<PastImport> imports_of(Reader& reader) {
  std::vector<EventRow> settings;
  {
    auto query = reader.book().database().prepare("SELECT event FROM administration WHERE kind = ? ORDER BY event");
    query.bind(static_cast<int>(Kind::set));
    while (query.step()) settings.push_back(query.integer(0));
  }
  std::vector<PastImport> out;
  for (const EventRow row : settings) {
    const auto event = reader.book().log().event_of(row);
    const std::string key(event->own.text("key"));
    const Value* value = event->own.find("value");
    if (!key.starts_with(kImportPrefix) || !value) continue;
    PastImport one{.id = key.substr(std::string_view(kImportPrefix).size()),
                   .file = std::string(value->text("file")),
                   .animals = value->number("animals"),
                   .at = reader.line(row).at};
    const std::int64_t count = std::clamp<std::int64_t>(value->number("events"), 0, UINT32_MAX - 1);
    for (std::int64_t i = 1; i <= count; ++i) one.events.push_back(row + i);
    out.push_back(std::move(one));
  }
  std::stable_sort(out.begin(), out.end(), [](const PastImport& a, const PastImport& b) { return a.at > b.at; });
  return out;
}

PastImport import_meant(Reader& reader, const std::string& id) {
  std::vector<PastImport> all = imports_of(reader);
  if (all.empty()) throw Error(Fault::unknown_code, "This book holds no import.");
  if (id.empty()) return all.front();
  const auto found = std::find_if(all.begin(), all.end(), [&](const PastImport& one) { return one.id == id; });
  if (found == all.end())
    throw Error(Fault::unknown_code, "This book holds no import “" + id + "”. `rackside import list` shows them.");
  return *found;
}

/// What was told since of the animals and places that the import made.
std::vector<StoryLine> told_since(Reader& reader, const PastImport& import) {
  const std::set<EventRow> own(import.events.begin(), import.events.end());
  std::set<Thing> things;
  for (const EventRow row : import.events) {
    const auto event = reader.book().log().event_of(row);
    const bool registers = info_of(event->kind).kind_class == KindClass::registration;
    if (registers && !event->of.empty())
      if (const auto thing = reader.thing_of(event->of.front())) things.insert(*thing);
  }
  std::set<EventRow> rows;
  for (const Thing thing : things) {
    auto query = reader.book().database().prepare(
        "SELECT event FROM account WHERE subject = ?1 UNION SELECT event FROM scan WHERE place = ?1");
    query.bind(thing);
    while (query.step())
      if (!own.contains(query.integer(0))) rows.insert(query.integer(0));
  }
  std::vector<StoryLine> out;
  for (const EventRow row : rows) out.push_back(reader.line(row));
  return out;
}

void refuse_if_told_since(Session& session, Reader& reader, const PastImport& import) {
  const std::vector<StoryLine> later = told_since(reader, import);
  if (later.empty()) return;
  for (std::size_t i = 0; i < std::min(later.size(), kShownLater); ++i) {
    const auto thing = later[i].event->of.empty() ? std::nullopt : reader.thing_of(later[i].event->of.front());
    session.terminal.warn((thing ? reader.label(*thing) + ": " : "") + sentence_of(reader, later[i]) + ", " +
                          session.when(later[i].at));
  }
  throw Error(Fault::bad_input,
              fmt::format("{} were made about what the import registered, and would be about nobody. Nothing was taken "
                          "back; --even-so does it nevertheless.",
                          later.size() == 1 ? "An entry" : fmt::format("{} entries", later.size())));
}

}  // namespace

void undo_import(Session& session, const UndoOptions& options) {
  Reader reader = session.reader();
  const PastImport import = import_meant(reader, options.id);
  if (!options.even_so) refuse_if_told_since(session, reader, import);
  std::vector<Draft> drafts;
  std::size_t count = 0;
  // The newest first, so that nothing stands for a moment that rests on what is gone.
  for (auto row = import.events.rbegin(); row != import.events.rend(); ++row) {
    const StoryLine line = reader.line(*row);
    if (!info_of(line.kind).voidable || line.gone) continue;
    if (drafts.empty() || drafts.back().re.size() >= kNamedAtOnce) drafts.push_back({.kind = Kind::voided});
    drafts.back().re.push_back({line.ref, Relation::saw});
    ++count;
  }
  if (!drafts.empty()) session.record(std::move(drafts));
  if (session.json) return session.terminal.line(Json{{"import", import.id}, {"withdrawn", count}}.dump());
  if (count == 0) return session.terminal.line("Import " + import.id + " is taken back already.");
  session.terminal.good(fmt::format("Import {} is taken back: {} entries of {} withdrawn. They stay in the log.",
                                    import.id, count, import.file));
  std::size_t disputed = 0;
  for (const EventRow row : import.events) disputed += session.reader().line(row).disputed;
  if (disputed > 0)
    session.terminal.warn(
        fmt::format("{} of them (eggs, treatments, sales, deaths of another day) stand until somebody "
                    "agrees: `rackside questions`.",
                    disputed));
}

void list_imports(Session& session) {
  Reader reader = session.reader();
  Json all = Json::array();
  std::vector<std::vector<std::string>> rows;
  for (const PastImport& one : imports_of(reader)) {
    const bool gone = std::all_of(one.events.begin(), one.events.end(), [&](EventRow row) {
      const StoryLine line = reader.line(row);
      return line.gone || !info_of(line.kind).voidable;
    });
    all.push_back(
        {{"import", one.id}, {"file", one.file}, {"animals", one.animals}, {"at_ms", one.at}, {"undone", gone}});
    rows.push_back({session.terminal.name(one.id), session.when(one.at), fmt::format("{} animals", one.animals),
                    one.file, gone ? session.terminal.faint("taken back") : ""});
  }
  if (session.json) return session.terminal.line(all.dump());
  if (rows.empty()) return session.terminal.line("This book holds no import.");
  session.terminal.table(rows);
}

}  // namespace rackside::cli
