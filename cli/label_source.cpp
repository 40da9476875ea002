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

/// "2026-07-08" as people write it: "8 Jul 2026", and "2026-07" as "Jul 2026". What is neither stays as it is.
std::string day_for_people(const std::string& iso) {
  constexpr const char* kMonths[] = {"Jan", "Feb", "Mar", "Apr", "May", "Jun",
                                     "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"};
  const bool is_day = iso.size() == 10 && iso[4] == '-' && iso[7] == '-';
  if (!is_day && !(iso.size() == 7 && iso[4] == '-')) return iso;
  const int month = std::atoi(iso.substr(5, 2).c_str());
  if (month < 1 || month > 12) return iso;
  if (!is_day) return fmt::format("{} {}", kMonths[month - 1], iso.substr(0, 4));
  return fmt::format("{} {} {}", std::atoi(iso.substr(8, 2).c_str()), kMonths[month - 1], iso.substr(0, 4));
}

std::string day_of(Reader& reader, Instant at) {
  return day_for_people(date_text(reader.settings().zone.day_of(at)));
}

std::optional<labels::LabelSex> sex_of(Reader& reader, Thing animal) {
  const std::string sex = reader.field(animal, "sex");
  if (sex == "male") return labels::LabelSex::male;
  if (sex == "female") return labels::LabelSex::female;
  if (sex == "unknown") return labels::LabelSex::unknown;
  return std::nullopt;
}

bool in_quarantine(Reader& reader, Thing place) {
  const auto rack = reader.rack_of(place);
  return rack && reader.field(*rack, "quarantine") == "yes";
}

/// The one band: what matters most first.
std::string warning_of(Reader& reader, Thing animal, Instant now) {
  for (const Lodging& lodging : reader.lodgings_of(animal, now)) {
    if (in_quarantine(reader, lodging.place)) return "QUARANTINE";
  }
  if (is_under_treatment(reader, animal, now)) return "UNDER TREATMENT";
  const auto fate = reader.latest(animal, {Kind::held, Kind::reserved, Kind::sold, Kind::left});
  if (fate && fate->kind == Kind::held) return "HOLD";
  return fate && fate->kind == Kind::reserved ? "RESERVED" : "";
}

// ---- genes

[[noreturn]] void refuse_card(const Named& animal, const std::vector<BrokenClaim>& broken) {
  std::string text = "No card of " + animal.label + " is printed: it would say ";
  for (std::size_t i = 0; i < broken.size(); ++i)
    text += (i == 0 ? "“" : "; and “") + broken[i].text + "”, but " + broken[i].because;
  throw BrokenCard(Fault::bad_input,
                   text + ". `rackside genes " + animal.label +
                       "` gives the reasons and `rackside doubt` the likeliest wrong record. Withdraw "
                       "what is wrong, or say what is true: `rackside says " +
                       animal.label + " not GENE`.");
}

/// "66 % het anery", "50 % het charcoal (both by parents)", "50 % het hypo (as bought)": how it is known stands behind
/// the last of those that share it. Of what is seen nothing is said, and it stands first.
std::vector<std::string> with_bases(std::vector<CardClaim> claims) {
  const auto group = [](const CardClaim& one) { return std::pair(!one.seen, one.seen ? std::string() : one.basis); };
  std::stable_sort(claims.begin(), claims.end(),
                   [&](const CardClaim& a, const CardClaim& b) { return group(a) < group(b); });
  std::vector<std::string> out;
  std::size_t alike = 0;
  for (std::size_t i = 0; i < claims.size(); ++i) {
    ++alike;
    const bool last = i + 1 == claims.size() || group(claims[i + 1]) != group(claims[i]);
    const char* all = alike == 1 ? "" : alike == 2 ? "both " : "all ";
    out.push_back(claims[i].text + (last && !claims[i].seen ? " (" + (all + claims[i].basis) + ")" : ""));
    if (last) alike = 0;
  }
  return out;
}

bool any_says(const std::vector<CardClaim>& claims, std::string_view words) {
  return std::any_of(claims.begin(), claims.end(),
                     [&](const CardClaim& one) { return one.text.find(words) != std::string::npos; });
}

/// `day`: of the newest record, where the card itself says none.
std::vector<std::string> footnote_of(const CardGenes& genes, const std::string& day) {
  std::vector<std::string> out;
  if (any_says(genes.certain, "het ") || any_says(genes.possible, "het ")) out.emplace_back("het = one hidden copy");
  if (any_says(genes.possible, "%")) out.push_back("% = the chance of it" + (day.empty() ? "" : " on " + day));
  if (any_says(genes.possible, "perhaps")) out.emplace_back("perhaps = not sure");
  return out;
}

void add_genes(LabelDesk& desk, const Named& animal, labels::Label& label) {
  const CardGenes genes = desk.genes.of(animal.thing);
  if (!genes.broken.empty()) refuse_card(animal, genes.broken);
  if (label.kind == labels::LabelKind::sale) {
    label.genes = with_bases(genes.certain);
  } else {
    for (const CardClaim& one : genes.certain) label.genes.push_back(one.text);
  }
  label.possible_genes = with_bases(genes.possible);
  if (!genes.possible.empty() && genes.newest > 0) label.dated = day_of(desk.reader, genes.newest);
  label.footnote = footnote_of(genes, label.kind == labels::LabelKind::sale ? "" : label.dated);
}

/// Fields of the register by their own names, for `my:NAME` in a design.
std::map<std::string, std::string> own_fields(Reader& reader, Thing thing) {
  return reader.fields(thing);
}

std::string keeper_of(Reader& reader) {
  for (const Named& helper : reader.all("helper")) {
    if (reader.field(helper.thing, "role") == "keeper") return helper.label;
  }
  return {};
}

/// The males that may be the sire of what was laid: who was put with her in the season before.
std::string sires_of(Reader& reader, const Named& dam, Instant laid) {
  constexpr Instant kSeason = Instant{180} * 86'400'000;
  std::vector<std::string> sires;
  for (const StoryLine& line : reader.story(dam.thing, 1000)) {
    if (line.kind != Kind::paired || line.gone || line.at > laid || line.at < laid - kSeason) continue;
    for (const std::string& code : line.event->of) {
      const auto other = reader.thing_of(code);
      if (!other || *other == dam.thing) continue;
      const std::string name = reader.label(*other);
      if (std::find(sires.begin(), sires.end(), name) == sires.end()) sires.push_back(name);
    }
  }
  std::string text;
  for (const std::string& sire : sires) text += (text.empty() ? "" : " or ") + sire;
  return text.empty() ? "?" : text;
}

std::string eggs_of(const Value& own) {
  const auto good = own.number("good", -1);
  const auto slugs = own.number("slugs", 0);
  if (good < 0) return {};
  return fmt::format("{} good", good) + (slugs > 0 ? fmt::format(", {} slug{}", slugs, slugs == 1 ? "" : "s") : "");
}

/// The codes that were given to the boxes of one laying.
std::map<std::int64_t, std::string> codes_of_laying(Session& session, const EventRef& laying) {
  std::map<std::int64_t, std::string> codes;
  auto query = session.book().database().prepare("SELECT event FROM administration WHERE kind = ?");
  query.bind(static_cast<int>(Kind::coded));
  while (query.step()) {
    const auto event = session.book().log().event_of(query.integer(0));
    const bool of_it =
        std::any_of(event->re.begin(), event->re.end(), [&](const Answer& answer) { return answer.event == laying; });
    if (of_it && event->own.find("box")) codes[event->own.number("box")] = event->own.text("code");
  }
  return codes;
}

}  // namespace

bool is_under_treatment(Reader& reader, Thing animal, Instant now) {
  // Most animals were never treated, and a print may be of thousands.
  if (!reader.latest(animal, {Kind::treated})) return false;
  return under_treatment(facts_of(reader, animal, now), care_settings(reader).limits,
                         reader.settings().zone.day_of(now));
}

labels::Label place_label(Reader& reader, Thing place, const std::string& host) {
  const Named named = reader.named(place);
  labels::Label label = labels::label_for(labels::LabelKind::place, code_of(named), named.label, host);
  const auto rack = reader.rack_of(place);
  if (rack) {
    label.subtitle = "Rack " + reader.label(*rack);
    if (in_quarantine(reader, place)) label.warning = "QUARANTINE";
  }
  label.own = own_fields(reader, place);
  return label;
}

std::vector<SourcedLabel> place_labels(Reader& reader, const Named& rack, labels::LabelKind kind,
                                       const std::string& host) {
  std::vector<SourcedLabel> out;
  for (Thing place : reader.places_of(rack.thing)) {
    out.push_back({reader.named(place).code, place_label(reader, place, host)});
    out.back().label.kind = kind;
  }
  return out;
}

labels::Label animal_label(LabelDesk& desk, const Named& animal, labels::LabelKind kind) {
  Reader& reader = desk.reader;
  labels::Label label = labels::label_for(kind, code_of(animal), animal.label, desk.host);
  label.sex = sex_of(reader, animal.thing);
  label.prey = reader.field(animal.thing, "prey");
  std::replace(label.prey.begin(), label.prey.end(), '-', ' ');
  label.species = reader.field(animal.thing, "species");
  add_genes(desk, animal, label);
  const std::string hatched = reader.field(animal.thing, "hatched");
  label.hatched = day_for_people(hatched);
  label.hatch_year = hatched.substr(0, 4);
  label.parents = parents_of(reader, animal.thing);
  label.warning = warning_of(reader, animal.thing, desk.now);
  if (kind == labels::LabelKind::sale) {
    label.warning.clear();  // what goes to the buyer says what the animal is, not what the keeper does with it
    label.breeder = keeper_of(reader);
    label.dated = day_of(reader, desk.now);
  }
  // Nobody needs to be told at every tub that young ones are not sexed yet.
  if (kind == labels::LabelKind::hatchling && label.sex == labels::LabelSex::unknown) label.sex.reset();
  label.own = own_fields(reader, animal.thing);
  return label;
}

labels::Label helper_label(Reader& reader, const Named& helper, const std::string& host) {
  labels::Label label = labels::label_for(labels::LabelKind::helper_badge, code_of(helper), helper.label, host);
  label.subtitle = reader.field(helper.thing, "role");
  const std::string keeper = keeper_of(reader);
  if (keeper != helper.label && !keeper.empty()) label.breeder = "with " + keeper;
  label.own = own_fields(reader, helper.thing);
  return label;
}

labels::LabelKind usual_kind(const Named& thing) {
  if (thing.kind == "animal") return labels::LabelKind::animal_card;
  return thing.kind == "helper" ? labels::LabelKind::helper_badge : labels::LabelKind::place;
}

labels::Label label_of(LabelDesk& desk, const Named& thing, labels::LabelKind kind) {
  if (thing.kind == "animal") return animal_label(desk, thing, kind);
  if (thing.kind == "helper") return helper_label(desk.reader, thing, desk.host);
  if (thing.kind != "place") return labels::label_for(kind, code_of(thing), thing.label, desk.host);
  labels::Label label = place_label(desk.reader, thing.thing, desk.host);
  label.kind = kind;
  return label;
}

std::vector<SourcedLabel> clutch_labels(Session& session, const Named& dam, int boxes, const std::string& host) {
  Reader reader = session.reader();
  const auto laying = reader.latest(dam.thing, {Kind::laid});
  if (!laying) {
    throw Error(Fault::bad_input, dam.label + " has laid nothing by this book. Record it first: `rackside log laid " +
                                      dam.label + " 7+1`.");
  }
  std::map<std::int64_t, std::string> codes = codes_of_laying(session, laying->ref);
  std::vector<Draft> drafts;
  for (int box = 1; box <= boxes; ++box) {
    if (codes.contains(box)) continue;
    codes[box] = session.new_code(boxes == 1 ? CodeKind::clutch : CodeKind::egg_box).str();
    drafts.push_back({.kind = Kind::coded,
                      .of = {dam.code},
                      .re = {{laying->ref, Relation::saw}},
                      .own = Value::Object{{"code", codes[box]}, {"box", box}}});
  }
  if (!drafts.empty()) session.record(std::move(drafts));
  std::vector<SourcedLabel> out;
  for (int box = 1; box <= boxes; ++box) {
    const auto kind = boxes == 1 ? labels::LabelKind::clutch : labels::LabelKind::egg_box;
    labels::Label label = labels::label_for(kind, *read_code(codes[box]).code, dam.label, host);
    label.parents = sires_of(reader, dam, laying->at) + " × " + dam.label;
    label.laid = day_of(reader, laying->at);
    label.eggs = eggs_of(laying->event->own);
    if (boxes > 1) label.subtitle = fmt::format("box {} of {}", box, boxes);
    label.own = own_fields(reader, dam.thing);
    out.push_back({codes[box], std::move(label)});
  }
  return out;
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
