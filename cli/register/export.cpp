#include "cli/register/export.h"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <nlohmann/json.hpp>

#include "cli/print/output_file.h"
#include "cli/register/columns.h"
#include "cli/register/table.h"
#include "cli/wording.h"
#include "core/read/family.h"
#include "core/read/inspection.h"

namespace rackside::cli {
namespace {

using namespace core;
using Json = nlohmann::json;

struct Written {
  std::string name;
  std::size_t rows = 0;
};

/// What the newest accounts of an animal say, as the import's columns want it.
class AnimalRow {
 public:
  AnimalRow(Reader& reader, const Named& animal, Instant now) : reader_(reader), animal_(animal), now_(now) {}

  std::vector<std::string> cells() {
    std::vector<std::string> out;
    for (const FieldInfo& info : field_table()) out.push_back(cell(info.field));
    return out;
  }

 private:
  std::string field(const char* name) { return reader_.field(animal_.thing, name); }
  std::string day(const std::optional<StoryLine>& line) {
    return line ? date_text(reader_.settings().zone.day_of(line->at)) : std::string();
  }
  std::optional<StoryLine> latest(std::initializer_list<Kind> kinds) { return reader_.latest(animal_.thing, kinds); }
  std::optional<StoryLine> only(Kind kind, std::initializer_list<Kind> kinds) {
    auto line = latest(kinds);
    return line && line->kind == kind ? line : std::nullopt;
  }

  std::optional<Lodging> lodging(Stay::Role role) {
    for (const Lodging& one : reader_.lodgings_of(animal_.thing, now_))
      if (one.role == role) return one;
    return std::nullopt;
  }

  std::string prey_of(const std::optional<StoryLine>& meal) {
    const Value* items = meal ? meal->event->own.find("items") : nullptr;
    if (!items || !items->as_array() || items->as_array()->empty()) return {};
    return std::string(items->as_array()->front().text("prey"));
  }

  std::string genes() {
    std::string out;
    for (const StoryLine& line : reader_.story(animal_.thing, 100'000)) {
      if (line.kind != Kind::says || line.gone || line.event->own.find("parent")) continue;
      const Value& own = line.event->own;
      const std::string state(own.text("state"));
      std::string words(own.text("gene"));
      if (state == "normal") words = "normal";
      if (state == "het" || state == "not") words = state + " " + words;
      if (state == "possible-het") words = fmt::format("{} % het {}", own.number("chance_percent", 50), words);
      if (state == "unseen" || state == "carries" || state == "homozygous")
        continue;  // the table has no words for them
      out = words + (out.empty() ? "" : "; ") + out;
    }
    return out;
  }

  std::string parent(bool dam) {
    const ParentsSaid said = parents_said(reader_, animal_.thing);
    if (dam) return said.dam ? reader_.label(*said.dam) : std::string();
    return said.sires.size() == 1 ? reader_.label(said.sires.front()) : std::string();
  }

  std::string cell(Field which) {
    const auto meal = latest({Kind::fed, Kind::ate});
    const auto weight = latest({Kind::weighed});
    const auto laying = only(Kind::laid, {Kind::laid});
    const auto dose = latest({Kind::treated});
    const auto visit = lodging(Stay::Role::visiting);
    const auto home = lodging(Stay::Role::home);
    switch (which) {
      case Field::short_id:
        return animal_.label;
      case Field::supplier:
        return supplier_of(reader_, animal_.thing);
      case Field::at:
        return home ? reader_.label(home->place) : std::string();
      case Field::genes:
        return genes();
      case Field::sire:
        return parent(false);
      case Field::dam:
        return parent(true);
      case Field::last_meal:
        return day(meal);
      case Field::last_prey:
        return prey_of(meal);
      case Field::weight:
        return weight ? fmt::format("{}.{}", weight->event->own.number("grams_tenths") / 10,
                                    weight->event->own.number("grams_tenths") % 10)
                      : std::string();
      case Field::weighed:
        return day(weight);
      case Field::with:
        return visit && visit->partner ? reader_.label(*visit->partner) : std::string();
      case Field::paired:
        return visit && visit->partner ? date_text(reader_.settings().zone.day_of(visit->since)) : std::string();
      case Field::gravid:
        return day(only(Kind::gravid, {Kind::gravid, Kind::laid}));
      case Field::laid:
        return day(laying);
      case Field::eggs:
        return laying && laying->event->own.find("good")
                   ? fmt::format("{}+{}", laying->event->own.number("good"), laying->event->own.number("slugs"))
                   : std::string();
      case Field::treated:
        return dose ? std::string(dose->event->own.text("with", "unknown")) : std::string();
      case Field::treated_on:
        return day(dose);
      case Field::held:
        return only(Kind::held, {Kind::held, Kind::reserved, Kind::sold, Kind::left}) ? "yes" : "";
      case Field::sold:
        return day(latest({Kind::sold}));
      case Field::left:
        return day(only(Kind::left, {Kind::left, Kind::died, Kind::moved}));
      case Field::died:
        return day(latest({Kind::died}));
      case Field::note:
        return {};  // notes are many; events.csv has them all
      default:
        return field(std::string(info_of(which).word).c_str());
    }
  }

  Reader& reader_;
  const Named& animal_;
  Instant now_;
};

template <typename Write>
Written write_file_of(const std::string& folder, const std::string& name, const Write& write) {
  OutputFile file((std::filesystem::path(folder) / name).string());
  const std::size_t rows = write(file);
  file.keep();
  return {name, rows};
}

std::size_t write_animals(Reader& reader, Instant now, OutputFile& file) {
  std::vector<std::string> headings;
  for (const FieldInfo& info : field_table()) headings.emplace_back(info.word);
  file.write(table_row(headings));
  const std::vector<Named> all = reader.all("animal");
  for (const Named& animal : all) file.write(table_row(AnimalRow(reader, animal, now).cells()));
  return all.size();
}

std::size_t write_places(Reader& reader, Instant now, OutputFile& file) {
  file.write(table_row({"place", "code", "rack", "position", "walk", "quarantine", "found"}));
  std::size_t rows = 0;
  for (const Named& rack : reader.racks()) {
    for (const Thing place : reader.places_of(rack.thing)) {
      std::string found;
      for (const Lodging& one : reader.found_at(place, now))
        found += (found.empty() ? "" : "; ") + reader.label(one.animal);
      file.write(table_row({reader.label(place), reader.named(place).code, rack.label, reader.field(place, "position"),
                            reader.field(rack.thing, "walk"), reader.field(rack.thing, "quarantine"), found}));
      ++rows;
    }
  }
  return rows;
}

std::string labels_of(Reader& reader, const std::vector<std::string>& codes) {
  std::string out;
  for (const std::string& code : codes) {
    const auto thing = reader.thing_of(code);
    out += (out.empty() ? "" : "; ") + (thing ? reader.label(*thing) : code);
  }
  return out;
}

std::string local_time(const Zone& zone, Instant at) {
  return date_text(zone.day_of(at)) + " " + clock_text(zone.minute_of_day(at));
}

std::vector<EventRow> all_rows(Reader& reader, const char* sql) {
  std::vector<EventRow> out;
  auto query = reader.book().database().prepare(sql);
  while (query.step()) out.push_back(query.integer(0));
  return out;
}

/// What was read is let go now and then, so that a long log does not fill the memory.
void let_go(Reader& reader, std::size_t done) {
  constexpr std::size_t kPiece = 4096;
  if (done % kPiece == 0) reader.book().log().forget();
}

std::size_t write_events(Reader& reader, OutputFile& file) {
  file.write(table_row({"id", "when", "time is sure", "by", "of", "place", "kind", "what", "note", "state", "device"}));
  const Zone& zone = reader.settings().zone;
  std::size_t rows = 0;
  for (const EventRow row : all_rows(reader, "SELECT id FROM event ORDER BY coalesce(at, 0), id")) {
    const StoryLine line = reader.line(row);
    file.write(table_row({to_hex(line.ref.hash).substr(0, 8), local_time(zone, line.at), line.sure ? "yes" : "no",
                          line.by, labels_of(reader, line.event->of),
                          line.event->place.empty() ? "" : labels_of(reader, {line.event->place}), line.kind_name,
                          sentence_of(reader, line), line.note,
                          line.gone       ? "withdrawn"
                          : line.disputed ? "withdrawal disputed"
                          : !line.read    ? "not read"
                                          : "",
                          line.device}));
    let_go(reader, ++rows);
  }
  return rows;
}

/// Each event's own bytes as they were written, beside their place on their device's line and what was sealed.
std::size_t write_log(Reader& reader, OutputFile& file) {
  LogStore& log = reader.book().log();
  std::size_t rows = 0;
  for (const EventRow row : all_rows(reader, "SELECT id FROM event ORDER BY id")) {
    const EventRef ref = log.ref_of(row);
    std::string line = fmt::format("{{\"device\":\"{}\",\"seq\":{},\"hash\":\"{}\",\"event\":{}", to_hex(ref.device),
                                   ref.seq, to_hex(log.hash_of(row)), log.bytes_of(row));
    if (const auto part = reader.book().sealed_of(row))
      line += fmt::format(",\"salt\":\"{}\",\"sealed\":{}", to_hex(part->salt), write_compact(Value(part->text)));
    file.write(line + "}\n");
    let_go(reader, ++rows);
  }
  return rows;
}

}  // namespace

void export_all(Session& session, const std::string& folder) {
  std::error_code error;
  std::filesystem::create_directories(folder, error);
  if (error) throw Error(Fault::bad_input, "The folder " + folder + " cannot be made: " + error.message() + ".");
  Reader reader = session.reader();
  const Instant now = session.now();
  const std::vector<Written> files = {
      write_file_of(folder, "animals.csv", [&](OutputFile& file) { return write_animals(reader, now, file); }),
      write_file_of(folder, "places.csv", [&](OutputFile& file) { return write_places(reader, now, file); }),
      write_file_of(folder, "events.csv", [&](OutputFile& file) { return write_events(reader, file); }),
      write_file_of(folder, "log.jsonl", [&](OutputFile& file) { return write_log(reader, file); })};
  Json all = Json::array();
  for (const Written& one : files) all.push_back({{"file", one.name}, {"rows", one.rows}});
  if (session.json) return session.terminal.line(Json{{"folder", folder}, {"files", all}}.dump());
  session.terminal.good("Written to " + folder + ":");
  std::vector<std::vector<std::string>> rows;
  for (const Written& one : files) rows.push_back({"  " + one.name, fmt::format("{} rows", one.rows)});
  session.terminal.table(rows);
  session.terminal.line(session.terminal.faint(
      "Notes and names of people stand in events.csv, animals.csv and log.jsonl: keep them as you keep the book."));
  session.terminal.line(session.terminal.faint(
      "`rackside import animals animals.csv --make-racks` reads the animals into another book. A copy of the book that "
      "goes on is made by `rackside backup`."));
}

}  // namespace rackside::cli
