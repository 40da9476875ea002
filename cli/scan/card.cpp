#include "cli/scan/card.h"

#include "cli/wording.h"
#include "core/entry/entry.h"
#include "core/read/today.h"

namespace rackside::cli {

using namespace core;

namespace {

constexpr Instant kTreatmentShown = 14 * kDay;

bool is_caution(Due due) {
  return info_of(due).is_sign && due != Due::unseen && due != Due::off_feed;
}

std::string outcome_words(const NightOutcome& night) {
  if (night.outcome == "check-tub") return "ate or refused? Accounts disagree";
  if (night.outcome == "offered") return "was offered food, outcome not recorded";
  if (night.outcome == "offered-lapsed") return "was offered food, outcome never recorded";
  return night.outcome;
}

std::string last_meal_line(Session& session, const Resident& one) {
  if (!one.last_night) return "no meal recorded";
  const NightOutcome& night = *one.last_night;
  std::string out = outcome_words(night) + " " + session.when(night.last_at);
  if (!night.prey.empty()) out += " (" + night.prey + ")";
  return out;
}

void add_signs(Session& session, const Resident& one, Instant now, std::vector<std::string>& cautions) {
  for (const Seen& seen : one.recent) {
    if (seen.kind != Kind::treated || now - seen.at > kTreatmentShown) continue;
    cautions.push_back(one.animal.label + ": under treatment, last " + session.when(seen.at));
    break;
  }
  if (one.dose_in_doubt) {
    cautions.push_back(one.animal.label + ": perhaps treated twice, " + session.when(*one.dose_in_doubt) +
                       ". Ask before another dose");
  }
  if (one.gone) {
    cautions.push_back(one.animal.label + ": by the book " + (one.gone->kind == Kind::died ? "it died " : "it left ") +
                       session.when(one.gone->at) + ". Wrong animal, or wrong record?");
  }
}

/// "C-14 ♂ at B-07"
std::string who_line(Reader& reader, const Resident& one) {
  std::string out = one.animal.label + " " + sex_sign(one.sex);
  if (const Lodging* visit = one.visit()) {
    out += " visiting " + (one.company ? one.company->animal.label + " " : std::string()) + "at " +
           reader.label(visit->place);
  } else if (one.home_place) {
    out += " at " + one.home_place->label;
    if (one.company) out += " with " + one.company->animal.label;
  }
  return out;
}

void add_resident(Session& session, Reader& reader, const Scene& scene, const Resident& one, Card& card) {
  const Terminal& out = session.terminal;
  const std::string who = who_line(reader, one);
  const std::string meal = last_meal_line(session, one);
  card.line += (card.line.empty() ? "" : " | ") + who + ", " + meal;
  const std::string name = reader.field(one.animal.thing, "name");
  card.lines.push_back("  " + out.strong(who) + (name.empty() ? "" : "  " + name));
  const GeneLines genes = gene_lines(reader, one.animal.thing);
  if (!genes.certain.empty()) card.lines.push_back("  carries    " + genes.certain);
  if (!genes.possible.empty()) card.lines.push_back("  possible   " + genes.possible);
  card.lines.push_back("  food       " + meal);
  for (const DueLine& due : due_at_tub(reader, one.animal.thing, scene.at)) {
    if (due.due == Due::nothing) continue;
    const std::string text = std::string(word_of(due.due)) + (due.why.empty() ? "" : ": " + due.why);
    if (is_caution(due.due)) {
      card.cautions.push_back(one.animal.label + ": " + text);
    } else {
      card.line += ", " + text;
      card.lines.push_back("  due        " + text);
    }
  }
  add_signs(session, one, scene.at, card.cautions);
}

void add_empty(Reader& reader, const Scene& scene, Card& card) {
  std::string text = "nobody is here by the book";
  for (const Resident& one : scene.reserved) {
    const Lodging* visit = one.visit();
    text = "reserved for " + one.animal.label + (visit ? ", who visits at " + reader.label(visit->place) : "");
  }
  card.line = text;
  card.lines.push_back("  " + text);
}

bool is_unpaired_pair(const Scene& scene) {
  int living = 0;
  for (const Resident& one : scene.found) living += one.visit() ? 0 : 1;
  return living > 1;
}

}  // namespace

std::string joined_labels(const std::vector<Named>& things, const std::string& between) {
  std::string out;
  for (const Named& thing : things) out += (out.empty() ? "" : between) + thing.label;
  return out;
}

Card card_of(Session& session, Reader& reader, const Scene& scene) {
  Card card{.headline = scene.scanned.label};
  if (!scene.known) {
    card.line = card.headline + ": not in this book yet; entries are kept and bound when its registration comes";
    card.lines = {"  " + card.line};
    return card;
  }
  if (scene.is_place) {
    std::vector<Named> animals;
    for (const Resident& one : scene.found) animals.push_back(one.animal);
    if (!animals.empty()) card.headline = joined_labels(animals, " + ");
  }
  for (const Resident& one : scene.found) add_resident(session, reader, scene, one, card);
  if (scene.found.empty()) add_empty(reader, scene, card);
  if (scene.is_place) card.line = scene.scanned.label + ": " + card.line;
  if (is_unpaired_pair(scene))
    card.cautions.push_back("two animals live here by the book and were not paired: look before anybody feeds");
  return card;
}

}  // namespace rackside::cli
