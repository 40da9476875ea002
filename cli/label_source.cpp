#include "cli/label_source.h"

#include <fmt/format.h>

#include <algorithm>
#include <cstdio>
#include <fstream>
#include <sstream>

#include "cli/wording.h"

namespace rackside::cli {

using namespace core;

namespace {

std::vector<std::string> split(const std::string& text) {
  std::vector<std::string> out;
  std::istringstream in(text);
  for (std::string part; std::getline(in, part, ',');) {
    part.erase(0, part.find_first_not_of(' '));
    if (!part.empty()) out.push_back(part);
  }
  return out;
}

Code code_of(const Named& thing) {
  const CodeReading reading = read_code(thing.code);
  if (!reading.code) throw Error(Fault::bad_code, "“" + thing.code + "” in the book is no code: it cannot be printed.");
  return *reading.code;
}

std::string parents_of(Reader& reader, Thing animal) {
  std::string sire;
  std::string dam;
  for (const StoryLine& line : reader.story(animal, 1000)) {
    if (line.kind != Kind::says || line.gone) continue;
    const auto parent = reader.thing_of(line.event->own.text("animal"));
    if (!parent) continue;
    if (line.event->own.text("parent") == "sire" && sire.empty()) sire = reader.label(*parent);
    if (line.event->own.text("parent") == "dam" && dam.empty()) dam = reader.label(*parent);
  }
  if (sire.empty() && dam.empty()) return {};
  return (sire.empty() ? "?" : sire) + " × " + (dam.empty() ? "?" : dam);
}

}  // namespace

labels::Label place_label(Reader& reader, Thing place, const std::string& host) {
  const Named named = reader.named(place);
  labels::Label label = labels::label_for(labels::LabelKind::place, code_of(named), named.label, host);
  const auto rack = reader.rack_of(place);
  if (rack) {
    label.subtitle = "Rack " + reader.label(*rack);
    if (reader.field(*rack, "quarantine") == "yes") label.warning = "QUARANTINE";
  }
  return label;
}

std::vector<labels::Label> place_labels(Reader& reader, const Named& rack, const std::string& host) {
  std::vector<labels::Label> out;
  for (Thing place : reader.places_of(rack.thing)) out.push_back(place_label(reader, place, host));
  return out;
}

labels::Label animal_card(Reader& reader, const Named& animal, const std::string& host) {
  labels::Label label = labels::label_for(labels::LabelKind::animal_card, code_of(animal), animal.label, host);
  const std::string sex = reader.field(animal.thing, "sex");
  if (sex == "male") label.sex = labels::LabelSex::male;
  if (sex == "female") label.sex = labels::LabelSex::female;
  if (sex == "unknown") label.sex = labels::LabelSex::unknown;
  label.prey = reader.field(animal.thing, "prey");
  label.subtitle = reader.field(animal.thing, "species");
  const GeneLines genes = gene_lines(reader, animal.thing);
  label.genes = split(genes.certain);
  for (std::string gene : split(genes.possible)) {
    // The card says "poss." once for the whole line.
    const auto word = gene.find("pos ");
    label.possible_genes.push_back(word == std::string::npos ? gene : gene.erase(word, 4));
  }
  label.hatch_year = reader.field(animal.thing, "hatched").substr(0, 4);
  label.parents = parents_of(reader, animal.thing);
  label.marker = labels::MarkerBox::blank;
  return label;
}

labels::Label label_of(Reader& reader, const Named& thing, const std::string& host) {
  if (thing.kind == "animal") return animal_card(reader, thing, host);
  if (thing.kind == "place") return place_label(reader, thing.thing, host);
  return labels::label_for(labels::LabelKind::place, code_of(thing), thing.label, host);
}

std::vector<std::string> usual_entries(Reader& reader) {
  std::map<std::string, int> preys;
  for (const Named& animal : reader.all("animal")) {
    const std::string prey = reader.field(animal.thing, "prey");
    if (!prey.empty()) ++preys[prey];
  }
  std::vector<std::pair<int, std::string>> ranked;
  for (const auto& [prey, count] : preys) ranked.emplace_back(-count, prey);
  std::sort(ranked.begin(), ranked.end());
  std::vector<std::string> entries;
  for (std::size_t i = 0; i < std::min<std::size_t>(4, ranked.size()); ++i)
    entries.push_back("fed " + ranked[i].second);
  for (const char* entry : {"offered", "refused", "leftover", "shed", "opaque", "cleaned", "watered", "regurgitated"})
    entries.emplace_back(entry);
  return entries;
}

std::vector<labels::Label> scan_sheet_lines(Session& session, const std::vector<std::string>& entries) {
  Reader reader = session.reader();
  std::map<std::string, Named> known;
  for (const Named& shortcut : reader.all("shortcut")) known.emplace(reader.field(shortcut.thing, "entry"), shortcut);
  std::vector<Draft> drafts;
  std::vector<labels::Label> lines;
  for (const std::string& entry : entries) {
    const auto found = known.find(entry);
    const Code code = found != known.end() ? code_of(found->second) : session.new_code(CodeKind::shortcut);
    if (found == known.end()) {
      drafts.push_back(
          {.kind = Kind::shortcut, .of = {code.str()}, .own = Value::Object{{"set", Value::Object{{"entry", entry}}}}});
    }
    lines.push_back(labels::label_for(labels::LabelKind::scan_line, code, entry));
  }
  if (!drafts.empty()) session.record(std::move(drafts));
  return lines;
}

void write_file(const std::string& path, const std::string& bytes) {
  const std::string part = path + ".part";
  std::ofstream file(part, std::ios::binary | std::ios::trunc);
  file.write(bytes.data(), static_cast<std::streamsize>(bytes.size()));
  file.close();
  if (!file || std::rename(part.c_str(), path.c_str()) != 0) {
    std::remove(part.c_str());
    throw Error(Fault::bad_input,
                "The file " + path + " could not be written: is there room, and may you write in that folder?");
  }
}

std::string read_file(const std::string& path) {
  std::ifstream file(path, std::ios::binary);
  if (!file) throw Error(Fault::bad_input, "The file " + path + " cannot be read: is it there, and may you read it?");
  std::ostringstream out;
  out << file.rdbuf();
  return std::move(out).str();
}

}  // namespace rackside::cli
