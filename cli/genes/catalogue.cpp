// The catalogues of genes: those that come with the program, and the keeper's own in the book.
#include <fmt/format.h>

#include <fstream>
#include <nlohmann/json.hpp>
#include <sstream>

#include "cli/genes/genes.h"
#include "core/genetics/catalogue_text.h"

namespace rackside::cli {

using namespace core;
using namespace core::genetics;
using Json = nlohmann::json;

namespace {

/// An event holds 65 536 bytes; escapes and the rest of it need room.
constexpr std::size_t kMostText = 48 * 1024;

std::string name_for(const std::string& species) {
  std::string out;
  for (char c : plain_name(species)) out += c == ' ' ? '-' : c;
  return out;
}

std::string text_of_file(const std::string& path) {
  std::ifstream file(path, std::ios::binary);
  if (!file) throw Error(Fault::bad_input, "The file " + path + " cannot be read.");
  std::ostringstream text;
  text << file.rdbuf();
  if (text.str().size() > kMostText)
    throw Error(Fault::too_large, fmt::format("{} has {} bytes; a catalogue has at most {}, so that it travels in one "
                                              "entry.",
                                              path, text.str().size(), kMostText));
  return text.str();
}

UsedCatalogue catalogue_named(Session& session, const std::string& name) {
  Reader reader = session.reader();
  std::string known;
  for (UsedCatalogue& one : catalogues(reader)) {
    if (one.name == name_for(name) || name_for(one.species->name) == name_for(name)) return one;
    known += (known.empty() ? "" : ", ") + one.name;
  }
  throw Error(Fault::bad_input, "There is no catalogue called “" + name + "”; there are " + known + ".");
}

/// "charcoal (2), lava (1)"
std::string counted(const std::map<std::string, std::size_t>& names) {
  std::string out;
  for (const auto& [name, count] : names) out += fmt::format("{}{} ({})", out.empty() ? "" : ", ", name, count);
  return out;
}

/// What was said stays in the log; what it counts for may change.
void tell_rereading(Session& session, const Species& then) {
  Reader reader = session.reader();
  const Rereading rereading = reread(reader, then);
  if (!rereading.several.empty())
    session.terminal.line(
        "Said under a name that is now of several genes, so weighed over them: " + counted(rereading.several) + ".");
  if (!rereading.gained.empty())
    session.terminal.line("Said before and understood from now on: " + counted(rereading.gained) + ".");
  if (!rereading.lost.empty())
    session.terminal.warn(
        "Names that were said in this book and are not in this catalogue: " + counted(rereading.lost) +
        ". What was said stays in the book and counts for no odds; `also`, `same` or `split` can say "
        "what such a name means now.");
}

void set_catalogue(Session& session, const std::string& name, const std::string& text) {
  session.record(
      {{.kind = Kind::set,
        .own = Value::Object{
            {"key", catalogue_setting(name)}, {"value", text}, {"from", static_cast<std::int64_t>(session.now())}}}});
}

}  // namespace

void list_catalogues(Session& session) {
  Reader reader = session.reader();
  std::vector<std::vector<std::string>> table;
  Json list = Json::array();
  for (const UsedCatalogue& one : catalogues(reader)) {
    list.push_back({{"name", one.name},
                    {"species", one.species->name},
                    {"loci", one.species->loci.size()},
                    {"own", one.own},
                    {"problem", one.problem}});
    table.push_back({session.terminal.name(one.name), one.species->latin,
                     fmt::format("{} loci", one.species->loci.size()),
                     !one.problem.empty() ? "your own is not used: " + one.problem
                     : one.own            ? "your own"
                                          : "came with Rackside"});
  }
  if (session.json) return session.terminal.line(list.dump());
  session.terminal.table(table);
}

void show_catalogue(Session& session, const std::string& name) {
  const UsedCatalogue one = catalogue_named(session, name);
  if (session.json) return session.terminal.line(Json{{"name", one.name}, {"own", one.own}, {"text", one.text}}.dump());
  std::string text = one.text;
  if (!text.empty() && text.back() == '\n') text.pop_back();
  session.terminal.line(text);
}

void use_catalogue(Session& session, const std::string& path, bool dry_run) {
  const std::string text = text_of_file(path);
  const CatalogueRead read = read_catalogue(text);
  if (!read.good()) {
    std::string all;
    for (const CatalogueError& error : read.errors) all += fmt::format("\n  line {}: {}", error.line, error.message);
    throw Error(Fault::bad_input, fmt::format("{} is not taken, the book is as it was:{}", path, all));
  }
  const std::string name = name_for(read.species.name);
  for (const Finding& one : read.species.findings)
    session.terminal.line(fmt::format("{}: {}.", one.sentence, sentence_of(one.source)));
  tell_rereading(session, read.species);
  if (dry_run)
    return session.terminal.good(
        fmt::format("{}: {} loci of the {}; nothing was changed.", path, read.species.loci.size(), read.species.name));
  set_catalogue(session, name, text);
  session.terminal.good(
      fmt::format("The genes of the {} are now those of {}: {} loci. `rackside catalogue drop {}` "
                  "goes back.",
                  read.species.name, path, read.species.loci.size(), name));
}

void drop_catalogue(Session& session, const std::string& name) {
  const UsedCatalogue one = catalogue_named(session, name);
  if (!one.own && one.problem.empty())
    throw Error(Fault::bad_input,
                "The catalogue " + one.name + " came with Rackside; there is none of your own to drop.");
  set_catalogue(session, one.name, "");
  session.terminal.good("Your own catalogue " + one.name + " is no longer used.");
}

}  // namespace rackside::cli
