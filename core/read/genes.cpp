#include "core/read/genes.h"

#include <algorithm>
#include <vector>

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

void add(std::vector<std::string>& list, std::string text) {
  if (std::find(list.begin(), list.end(), text) == list.end()) list.push_back(std::move(text));
}

std::string line_of(const std::vector<std::string>& list) {
  std::string out;
  for (const std::string& one : list) out += (out.empty() ? "" : ", ") + one;
  return out;
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
  std::vector<std::string> seen;
  std::vector<std::string> carried;
  std::vector<std::string> possible;
  for (const EventRow row : statements_of(reader, animal)) {
    const auto event = reader.book().log().event_of(row);
    const Value& own = event->own;
    const std::string gene(own.text("gene"));
    const std::string state(own.text("state"));
    if (gene.empty()) continue;
    if (state == "possible-het") {
      add(possible, std::to_string(own.number("chance_percent", 50)) + " % het " + gene);
    } else if (!own.text("certainty", "sure").starts_with("sure") || own.find("or") != nullptr) {
      // What an eye was not sure of is never among the certain ones.
      if (state == "visual") add(possible, "perhaps " + gene + others_text(own));
    } else if (state == "het" || state == "carries") {
      add(carried, (state == "het" ? "het " : "carries ") + gene);
    } else if (state == "visual" || state == "homozygous") {
      add(seen, gene);
    }
  }
  seen.insert(seen.end(), carried.begin(), carried.end());
  return {line_of(seen), line_of(possible)};
}

}  // namespace rackside::core
