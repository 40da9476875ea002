#include "core/entry/entry.h"

#include <algorithm>
#include <array>
#include <unordered_map>

#include "core/entry/shapes.h"

namespace rackside::core {
namespace {

using namespace shapes;

std::string say_fed(const Value& own) {
  return "ate" + said_items(own);
}
std::string say_refused(const Value& own) {
  return "refused" + said_items(own);
}
std::string say_offered(const Value& own) {
  return "was offered" + (own.find("items") ? said_items(own) : " food");
}
std::string say_leftover(const Value& own) {
  return "left" + (own.find("items") ? said_items(own) : " its food");
}

std::string say_shed(const Value& own) {
  if (!own.find("stuck")) return "shed complete";
  const std::string_view where = own.text("stuck", "unknown");
  return where == "unknown" ? "shed, stuck (where was not said)" : "shed, stuck: " + std::string(where);
}

std::string say_palpated(const Value& own) {
  if (!own.find("follicles_mm")) return "was palpated";
  return "was palpated: follicles " + std::to_string(own.number("follicles_mm")) + " mm";
}

std::string say_laid(const Value& own) {
  const std::string eggs = said_eggs(own, "slugs", "slug", "slugs");
  return eggs.empty() ? "laid, eggs not counted" : "laid " + eggs;
}

std::string say_weighed(const Value& own) {
  return "weighed " + said_grams(own.number("grams_tenths"));
}

std::string say_treated(const Value& own) {
  std::string out = "was treated";
  if (!own.text("with").empty()) out += " with " + std::string(own.text("with"));
  if (own.find("repeat_days")) out += ", again in " + std::to_string(own.number("repeat_days")) + " days";
  return out;
}

std::string say_ill(const Value& own) {
  const std::string signs(own.text("signs"));
  return "looks unwell" + (signs.empty() ? "" : ": " + signs);
}

std::string say_candled(const Value& own) {
  const std::string eggs = said_eggs(own, "bad", "bad", "bad");
  return eggs.empty() ? "was candled" : "was candled: " + eggs;
}

std::string say_incubated(const Value& own) {
  if (!own.find("celsius_tenths")) return "has its eggs in the incubator";
  return "has its eggs at " + said_celsius(own.number("celsius_tenths"));
}

std::string said_young(const Value& own, const std::string& word) {
  const std::string which = own.find("egg") ? " (egg " + std::to_string(own.number("egg")) + ")" : "";
  return (own.find("count") ? std::to_string(own.number("count")) + " " : "") + word + which;
}
std::string say_pipped(const Value& own) {
  return said_young(own, "pipped");
}
std::string say_hatched(const Value& own) {
  return said_young(own, "hatched");
}

std::string say_sexed(const Value& own) {
  std::string out = "was sexed: " + std::string(own.text("sex", "not said"));
  if (!own.text("how").empty()) out += " (" + std::string(own.text("how")) + ")";
  return out;
}

constexpr std::string_view kMealHelp = "prey as you call it; thawed, live, fresh; tongs, dish, assisted; join with +";

constexpr std::array kForms = {
    EntryForm{Kind::fed, "fed", "fed [PREY] [xN] [thawed]", kMealHelp, read_meal, type_meal, "", say_fed},
    EntryForm{Kind::refused, "refused", "refused [PREY]", "did not take it", read_meal, type_meal, "", say_refused},
    EntryForm{Kind::offered, "offered", "offered [PREY] [xN]", "food left with it: look in the morning", read_meal,
              type_meal, "", say_offered},
    EntryForm{Kind::leftover, "leftover", "leftover", "the offer was found uneaten", read_meal, type_meal, "",
              say_leftover},
    EntryForm{Kind::ate, "ate", "ate", "the offer is gone: eaten", read_plain, type_plain, "ate what was offered"},
    EntryForm{Kind::regurgitated, "regurgitated", "regurgitated", "brought its meal up", read_plain, type_plain,
              "regurgitated"},
    EntryForm{Kind::shed, "shed", "shed [stuck [WHERE]]", "complete, or stuck and where", read_shed, type_shed, "",
              say_shed},
    EntryForm{Kind::cleared, "cleared", "cleared", "a stuck shed is off", read_plain, type_plain,
              "is clear of stuck shed"},
    EntryForm{Kind::opaque, "opaque blue", "opaque", "eyes clouded, a shed is coming", read_plain, type_plain,
              "is opaque"},
    EntryForm{Kind::paired, "paired", "paired CODE", "put together; the male visits the female", read_partner,
              type_target, "was paired"},
    EntryForm{Kind::separated, "separated", "separated", "the visit is over", read_plain, type_plain, "was separated"},
    EntryForm{Kind::locked, "locked", "locked", "seen mating", read_plain, type_plain, "was seen locked"},
    EntryForm{Kind::palpated, "palpated", "palpated [14mm]", "follicles in millimetres", read_follicles, type_follicles,
              "", say_palpated},
    EntryForm{Kind::ovulated, "ovulated", "ovulated", "the swelling was seen", read_plain, type_plain, "ovulated"},
    EntryForm{Kind::gravid, "gravid", "gravid", "carries eggs or young", read_plain, type_plain, "is gravid"},
    EntryForm{Kind::laid, "laid", "laid 7+1", "good eggs + slugs", read_eggs, type_eggs, "", say_laid},
    EntryForm{Kind::weighed, "weighed weight", "weighed 412 (or 41.2g, 1.2kg)", "grams", read_grams, type_grams, "",
              say_weighed},
    EntryForm{Kind::cleaned, "cleaned", "cleaned", "the tub", read_plain, type_plain, "was cleaned"},
    EntryForm{Kind::watered, "watered", "watered", "fresh water", read_plain, type_plain, "got fresh water"},
    EntryForm{Kind::noted, "note noted", "note TEXT", "free text, sealed: it can be erased", read_text, type_plain,
              "a note was made"},
    EntryForm{Kind::treated, "treated", "treated [REMEDY] [repeat DAYS]", "what with, and when again", read_remedy,
              type_remedy, "", say_treated},
    EntryForm{Kind::ill, "ill", "ill [SIGNS]", "looks unwell; what you see, no diagnosis", read_signs, type_signs, "",
              say_ill},
    EntryForm{Kind::well, "well", "well", "looks well again; ends ill and a treatment", read_plain, type_plain,
              "is well again"},
    EntryForm{Kind::candled, "candled", "candled [6+1]", "good eggs + bad", read_candled, type_candled, "",
              say_candled},
    EntryForm{Kind::incubated, "incubated", "incubated 28.5 (or 83F)", "how warm the eggs lie, from now on",
              read_celsius, type_celsius, "", say_incubated},
    EntryForm{Kind::pipped, "pipped", "pipped [N] [egg K]", "eggs that were slit; K is written on the egg", read_count,
              type_count, "", say_pipped},
    EntryForm{Kind::hatched, "hatched", "hatched [N] [egg K]", "young out of the egg", read_count, type_count, "",
              say_hatched},
    EntryForm{Kind::sexed, "sexed", "sexed male|female [HOW]", "popped, probed, shed …", read_sex, type_sex, "",
              say_sexed},
    EntryForm{Kind::moved, "moved", "moved PLACE", "lives there from now on", read_destination, type_target,
              "was moved"},
    EntryForm{Kind::held, "held", "held", "held back, not for sale", read_plain, type_plain, "was held back"},
    EntryForm{Kind::reserved, "reserved", "reserved", "for a buyer (name him behind --)", read_plain, type_plain,
              "was reserved"},
    EntryForm{Kind::sold, "sold", "sold", "sold, still eats here", read_plain, type_plain, "was sold"},
    EntryForm{Kind::left, "left", "left", "gone from the room", read_plain, type_plain, "left"},
    EntryForm{Kind::died, "died", "died", "dead", read_plain, type_plain, "died"},
};

char lower(char c) {
  return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
}

std::string lowered(std::string_view text) {
  std::string out(text);
  std::transform(out.begin(), out.end(), out.begin(), lower);
  return out;
}

std::vector<std::string> words_of(std::string_view text) {
  std::vector<std::string> out;
  std::string word;
  for (const char c : text) {
    if (c == ' ' || c == '\t' || c == '\r' || c == '\n') {
      if (!word.empty()) out.push_back(std::move(word));
      word.clear();
    } else {
      word += c;
    }
  }
  if (!word.empty()) out.push_back(std::move(word));
  return out;
}

const std::unordered_map<std::string, const EntryForm*>& by_word() {
  static const auto table = [] {
    std::unordered_map<std::string, const EntryForm*> out;
    for (const EntryForm& form : kForms) {
      for (const std::string& word : words_of(form.words)) out.emplace(word, &form);
    }
    return out;
  }();
  return table;
}

std::optional<Relation> trailing_relation(const std::vector<std::string>& words) {
  if (words.empty() || words.back() == "saw") return std::nullopt;
  return relation_of(words.back());
}

/// Whether the form keeps its words as typed: names of things and free text.
bool keeps_case(const EntryForm& form) {
  return form.read == read_text || form.type == type_target;
}

EntryReading failed(const std::string& problem, const EntryForm& form) {
  return {std::nullopt, problem + ". Write: " + std::string(form.form) + " (" + std::string(form.help) + ")"};
}

EntryReading unknown_word(const std::string& word) {
  std::string all;
  for (const EntryForm& form : kForms)
    all += (all.empty() ? "" : ", ") + std::string(form.words.substr(0, form.words.find(' ')));
  return {std::nullopt, "“" + word + "” begins no entry. Entries begin: " + all};
}

}  // namespace

std::span<const EntryForm> entry_forms() {
  return kForms;
}

const EntryForm* entry_form(Kind kind) {
  const auto found =
      std::find_if(kForms.begin(), kForms.end(), [&](const EntryForm& form) { return form.kind == kind; });
  return found == kForms.end() ? nullptr : &*found;
}

const EntryForm* entry_form(std::string_view word) {
  const auto found = by_word().find(lowered(word));
  return found == by_word().end() ? nullptr : found->second;
}

bool begins_entry(std::string_view line) {
  const auto words = words_of(line);
  return !words.empty() && entry_form(std::string_view(words.front())) != nullptr;
}

EntryReading parse_entry(std::string_view line) {
  std::vector<std::string> words = words_of(mend_text(line));
  if (words.empty()) return {std::nullopt, "the entry is empty"};
  const EntryForm* form = entry_form(std::string_view(words.front()));
  if (!form) return unknown_word(words.front());
  words.erase(words.begin());
  Entry entry{.kind = form->kind};
  if (form->read != read_text) {
    const auto dashes = std::find(words.begin(), words.end(), "--");
    for (auto word = dashes; word != words.end(); ++word)
      if (word != dashes) entry.note += (entry.note.empty() ? "" : " ") + *word;
    words.erase(dashes, words.end());
    if (!keeps_case(*form)) std::transform(words.begin(), words.end(), words.begin(), lowered);
    entry.relation = trailing_relation(words);
    if (entry.relation) words.pop_back();
  }
  const std::string problem = form->read(words, entry);
  if (!problem.empty()) return failed(problem, *form);
  return {std::move(entry), {}};
}

std::string typed_form(const Entry& entry) {
  const EntryForm* form = entry_form(entry.kind);
  if (!form) return std::string(word_of(entry.kind));
  std::string out(form->words.substr(0, form->words.find(' ')));
  if (form->read == read_text) return out + " " + entry.note;
  const std::string rest = form->type(entry);
  if (!rest.empty()) out += " " + rest;
  if (entry.relation) out += " " + std::string(word_of(*entry.relation));
  if (!entry.note.empty()) out += " -- " + entry.note;
  return out;
}

std::string event_text(Kind kind, const Value& own) {
  // What another device wrote must not begin a line of its own, or steer a terminal.
  if (const EntryForm* form = entry_form(kind)) return form->say ? mend_text(form->say(own)) : std::string(form->said);
  std::string text(info_of(kind).sentence);
  if (const auto hole = text.find("{} "); hole != std::string::npos) text.erase(hole, 3);
  return text;
}

}  // namespace rackside::core
