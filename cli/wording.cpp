#include "cli/wording.h"

#include <fmt/format.h>

#include <algorithm>

#include "core/entry/entry.h"

namespace rackside::cli {

using namespace core;

namespace {

std::string items_text(const Value& own) {
  const Value* items = own.find("items");
  if (!items || !items->as_array()) return {};
  std::string out;
  for (const Value& item : *items->as_array()) {
    const std::int64_t count = item.number("count", 1);
    if (!out.empty()) out += " and ";
    if (count > 1) out += fmt::format("{} × ", count);
    out += item.text("prey");
  }
  return out;
}

std::string label_of(Reader& reader, const std::string& code) {
  const auto thing = reader.thing_of(code);
  return thing ? reader.label(*thing) : code;
}

std::string set_text(const Value& own) {
  const Value* set = own.find("set");
  if (!set || !set->as_object()) return {};
  std::string out;
  for (const auto& [name, value] : *set->as_object()) {
    const std::string text = value.as_string() ? *value.as_string() : write_compact(value);
    out += (out.empty() ? "" : ", ") + name + " " + text;
  }
  return out;
}

/// What a statement says of an animal, behind "said": "to be het amel", "to look amel or hypo", "to have the dam C-3".
std::string said_text(Reader& reader, const Value& own) {
  const std::string_view role = own.text("parent");
  if (!role.empty())
    return fmt::format("to have {} {}", role == "possible-sire" ? "the possible sire" : fmt::format("the {}", role),
                       label_of(reader, std::string(own.text("animal"))));
  const std::string_view state = own.text("state");
  const std::string gene = std::string(own.text("gene")) + others_text(own);
  if (state == "normal") return "to look normal";
  if (state == "possible-het") return fmt::format("to be {} % het {}", own.number("chance_percent", 50), gene);
  if (state == "visual") return "to look " + gene;
  if (state == "unseen") return "not to look " + gene;
  if (state == "carries") return "to carry " + gene;
  if (state == "not") return "not to carry " + gene;
  if (state == "homozygous") return "to have two copies of " + gene;
  return fmt::format("to be {} {}", state, gene);
}

std::string statement_text(Reader& reader, const Value& own) {
  const std::string_view certainty = own.text("certainty");
  std::string out = (certainty == "think-so" ? "thought " : "said ") + said_text(reader, own);
  if (certainty == "cannot-tell") out += ", which cannot be told";
  const std::string basis = basis_text(own.text("basis"));
  return basis.empty() ? out : out + ", " + basis;
}

std::string grams(std::int64_t tenths) {
  return tenths % 10 == 0 ? fmt::format("{} g", tenths / 10) : fmt::format("{}.{} g", tenths / 10, tenths % 10);
}

}  // namespace

std::string basis_text(std::string_view basis) {
  if (basis == "seen") return "as seen";
  if (basis == "bought") return "as bought";
  if (basis == "parents") return "by parents";
  if (basis == "proven") return "proven by young";
  if (basis == "lab") return "tested in a laboratory";
  return basis == "unknown" ? std::string() : std::string(basis);
}

std::string sex_sign(const std::string& sex) {
  return sex == "male" ? "♂" : sex == "female" ? "♀" : "?";
}

std::string trade_count(int males, int females, int unsexed) {
  return fmt::format("{}.{}.{}", males, females, unsexed);
}

std::string sentence_of(Reader& reader, const StoryLine& line) {
  const Event& event = *line.event;
  const Value& own = event.own;
  const std::string items = items_text(own);
  switch (line.kind) {
    case Kind::fed:
      return items.empty() ? "ate" : "ate " + items;
    case Kind::ate:
      return event.re.size() > 1 ? fmt::format("ate: the rest of {} offers", event.re.size()) : "ate what was offered";
    case Kind::offered:
      return items.empty() ? "offered food" : "offered " + items;
    case Kind::refused:
      return items.empty() ? "refused" : "refused " + items;
    case Kind::leftover:
      return "left its food";
    case Kind::shed:
      return own.find("stuck") ? fmt::format("shed, stuck: {}", own.text("stuck")) : "shed complete";
    case Kind::weighed:
      return "weighed " + grams(own.number("grams_tenths"));
    case Kind::paired:
      if (event.of.size() > 1)
        return fmt::format("{} put to {} at {}", label_of(reader, event.of[0]), label_of(reader, event.of[1]),
                           label_of(reader, event.place));
      return "paired at " + label_of(reader, event.place);
    case Kind::moved:
      return "moved to " + label_of(reader, event.place);
    case Kind::swapped:
      return event.of.size() > 1
                 ? fmt::format("{} and {} changed places", label_of(reader, event.of[0]), label_of(reader, event.of[1]))
                 : "changed places";
    case Kind::says:
      return statement_text(reader, own);
    case Kind::edited:
      return "record changed: " + set_text(own);
    case Kind::animal:
    case Kind::place:
    case Kind::rack:
    case Kind::shortcut:
      return "registered: " + set_text(own);
    case Kind::noted:
      return line.note.empty() ? "a note (erased or not here)" : "note";
    case Kind::unknown:
      return "“" + line.kind_name + "”, which a newer program wrote";
    default:
      return event_text(line.kind, own);
  }
}

std::string correction_text(const StoryLine& line) {
  const std::int64_t ahead = line.event->clock.wall_ms - line.at;
  const std::int64_t off = ahead < 0 ? -ahead : ahead;
  // What a person said is no correction, and a minute is nothing that a day's work would notice.
  if (line.said || !line.sure || off < 2 * kMinute) return {};
  const auto [amount, unit] = off < 2 * kHour  ? std::pair(off / kMinute, "minute")
                              : off < 2 * kDay ? std::pair(off / kHour, "hour")
                                               : std::pair(off / kDay, "day");
  return fmt::format("clock {} {}{} {}, put right", amount, unit, amount == 1 ? "" : "s",
                     ahead < 0 ? "behind" : "ahead");
}

std::string account_text(Session& session, Reader& reader, const EventRef& ref) {
  const StoryLine line = reader.line(ref);
  const std::string who = line.by.empty() ? "device " + line.device.substr(0, 6) : line.by;
  const std::string correction = correction_text(line);
  const std::string clock = !line.sure ? " (clock not checked)" : correction.empty() ? "" : " (" + correction + ")";
  return fmt::format("{}, {}{}: {}", who, session.when(line.at), clock, sentence_of(reader, line));
}

namespace {

std::string subject_label(Reader& reader, const Question& question) {
  return question.subject == 0 ? "an entry" : reader.label(question.subject);
}

/// What an answer that names an event says: "paired at B-07", "sire 24-C12".
std::string event_sentence(Reader& reader, const std::string& ref_text) {
  const auto ref = ref_from_text(ref_text);
  if (!ref) return ref_text;
  return sentence_of(reader, reader.line(*ref));
}

}  // namespace

std::string question_text(Reader& reader, const Question& question) {
  const std::string subject = subject_label(reader, question);
  switch (question.rule) {
    case RuleId::feeding:
      return question.outcome == "check-tub" ? subject + ": did it eat or refuse?" : subject + ": perhaps fed twice?";
    case RuleId::laying:
      return subject + ": a recount, or more eggs?";
    case RuleId::hatching:
      return subject + ": the same young told twice, or more young?";
    case RuleId::pairing:
      return subject + ": with two partners at once, where is it?";
    case RuleId::whereabouts:
      return subject + (question.members.size() == 1 ? ": was it moved? The clock of that entry is not known"
                                                     : ": in two places, which is right?");
    case RuleId::two_in_tub:
      return subject + ": two animals in one tub, not paired";
    case RuleId::whose:
      return subject + ": whose was this scan?";
    case RuleId::withdrawal:
      return "somebody withdrew another's entry: did it happen?";
    case RuleId::gone:
      return subject + ": by the book it is gone, and something was seen of it since";
    case RuleId::male_eggs:
      return subject + ": eggs, and it is recorded as male";
    case RuleId::one_sex_pair:
      return subject + ": paired with one of its own sex";
    case RuleId::ancestry:
      return subject + ": among its own ancestors, which statement is wrong?";
    case RuleId::unread:
      return fmt::format("{} of the retired device {} came after its end",
                         question.amount == 1 ? "one entry" : std::to_string(question.amount) + " entries",
                         question.detail.text("device").substr(0, 6));
    case RuleId::field:
      return fmt::format("{}: which {} is right?", subject, question.detail.text("field"));
    default:
      return subject + ": " + std::string(rule_of(question.rule).title);
  }
}

std::string belief_text(Reader& reader, const Question& question) {
  switch (question.rule) {
    case RuleId::feeding:
      return question.outcome == "check-tub" ? "neither a meal nor a refusal: check the tub"
                                             : "one meal for the plan; leave alone, watch for regurgitation";
    case RuleId::laying:
      return fmt::format("the larger count: {} good, {} slugs", question.detail.number("good"),
                         question.detail.number("slugs"));
    case RuleId::hatching:
      return "the larger count: look into the box";
    case RuleId::pairing:
      return "both partners stay on the list of those to separate: find it";
    case RuleId::whereabouts:
      return "the move seen last; both tubs are to be checked";
    case RuleId::two_in_tub:
      return "both are there: look before anybody feeds";
    case RuleId::whose: {
      const KindInfo& info = info_of(reader.line(question.members.front()).kind);
      return info.rebinding == Rebinding::both ? "true of both until settled" : "it counts for nobody until settled";
    }
    case RuleId::withdrawal:
      return "it stands until somebody agrees that it never was";
    case RuleId::gone:
      return "gone. If it is here, withdraw the leaving; if another was meant, the later entries";
    case RuleId::male_eggs:
      return "the eggs count. Edit the sex, or withdraw the entry";
    case RuleId::one_sex_pair:
      return "they are together: look soon. Edit the sex, or withdraw the pairing";
    case RuleId::ancestry:
      return "none of these statements counts until one is found wrong";
    case RuleId::unread:
      return "they count for nothing. `rackside retire` it once more, and what it wrote until now counts";
    case RuleId::field: {
      const Value value = parse_strict(question.outcome).value;
      return "the value entered last: " + (value.as_string() ? *value.as_string() : question.outcome);
    }
    default:
      return question.outcome;
  }
}

std::string answer_text(Reader& reader, const Question& question, const std::string& answer) {
  if (answer == "open") return "nobody can say (leave it open)";
  switch (question.rule) {
    case RuleId::feeding:
      if (answer == "once") return "it ate once: both tell of the same meal";
      if (answer == "twice") return "it ate twice";
      return answer == "ate" ? "it ate" : "it refused";
    case RuleId::laying:
      return answer == "recount" ? "the same eggs, counted again" : "more eggs";
    case RuleId::hatching:
      return answer == "told-twice" ? "the same young, told twice"
                                    : fmt::format("more young: {} together", question.detail.number("together"));
    case RuleId::pairing:
    case RuleId::whereabouts:
      return answer == "moved" || answer == "not-moved" ? (answer == "moved" ? "it was moved" : "it was not")
                                                        : event_sentence(reader, answer);
    case RuleId::whose:
      return answer == "nobody" ? "nobody's" : label_of(reader, answer);
    case RuleId::gone:
    case RuleId::male_eggs:
    case RuleId::one_sex_pair:
      return "it was so, and stands";
    case RuleId::ancestry:
      return "wrong: " + event_sentence(reader, answer);
    case RuleId::unread:
      return "rightly left out";
    case RuleId::withdrawal:
      return answer == "gone" ? "it never was" : "it happened, and stands";
    case RuleId::field: {
      const Value value = parse_strict(answer).value;
      return value.as_string() ? *value.as_string() : answer;
    }
    default:
      return answer;
  }
}

}  // namespace rackside::cli
