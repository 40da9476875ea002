#include "core/read/genes.h"

namespace rackside::core {
namespace {

std::vector<EventRow> statements_of(Reader& reader, Thing animal) {
  std::vector<EventRow> rows;
  auto query =
      reader.book().database().prepare("SELECT event FROM account WHERE subject = ? AND kind = ? ORDER BY at, event");
  query.bind(animal, static_cast<int>(Kind::says));
  while (query.step()) rows.push_back(query.integer(0));
  return rows;
}

void add(std::string& line, const std::string& text) {
  if (line.find(text) == std::string::npos) line += (line.empty() ? "" : ", ") + text;
}

}  // namespace

std::string others_text(const Value& own) {
  const Value* others = own.find("or");
  if (!others || !others->as_array()) return {};
  std::string out;
  for (const Value& other : *others->as_array()) {
    if (other.as_string()) out += " or " + *other.as_string();
  }
  return out;
}

GeneLines gene_lines(Reader& reader, Thing animal) {
  GeneLines lines;
  for (const EventRow row : statements_of(reader, animal)) {
    const auto event = reader.book().log().event_of(row);
    const Value& own = event->own;
    const std::string gene(own.text("gene"));
    const std::string state(own.text("state"));
    if (gene.empty()) continue;
    if (state == "possible-het") {
      add(lines.possible, std::to_string(own.number("chance_percent", 50)) + " % pos het " + gene);
    } else if (!own.text("certainty", "sure").starts_with("sure") || own.find("or") != nullptr) {
      // What an eye was not sure of is never among the certain ones.
      if (state == "visual") add(lines.possible, "perhaps " + gene + others_text(own));
    } else if (state == "het" || state == "carries") {
      add(lines.certain, (state == "het" ? "het " : "carries ") + gene);
    } else if (state == "visual" || state == "homozygous") {
      add(lines.certain, gene);
    }
  }
  return lines;
}

}  // namespace rackside::core
