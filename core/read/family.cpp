#include "core/read/family.h"

#include <algorithm>

namespace rackside::core {
namespace {

void add_once(std::vector<Thing>& list, Thing thing) {
  if (std::find(list.begin(), list.end(), thing) == list.end()) list.push_back(thing);
}

}  // namespace

ParentsSaid parents_said(Reader& reader, Thing animal) {
  std::vector<EventRow> rows;
  {
    auto query = reader.book().database().prepare(
        "SELECT event FROM account INDEXED BY account_says WHERE subject = ? AND kind = 16 ORDER BY at, event");
    query.bind(animal);
    while (query.step()) rows.push_back(query.integer(0));
  }
  ParentsSaid out;
  for (const EventRow row : rows) {
    const auto event = reader.book().log().event_of(row);
    const std::string_view what = event->own.text("parent");
    const auto parent = reader.thing_of(event->own.text("animal"));
    if (!parent) continue;
    if (what == "dam") out.dam = *parent;
    if (what == "sire") add_once(out.sires, *parent);
    if (what == "possible-sire") add_once(out.possible_sires, *parent);
  }
  std::erase_if(out.possible_sires,
                [&](Thing thing) { return std::find(out.sires.begin(), out.sires.end(), thing) != out.sires.end(); });
  return out;
}

std::string parents_text(Reader& reader, const ParentsSaid& parents) {
  std::string sires;
  for (const Thing sire : parents.sires.empty() ? parents.possible_sires : parents.sires)
    sires += (sires.empty() ? "" : " or ") + reader.label(sire);
  if (sires.empty() && !parents.dam) return {};
  return (sires.empty() ? "?" : sires) + " × " + (parents.dam ? reader.label(*parents.dam) : "?");
}

}  // namespace rackside::core
