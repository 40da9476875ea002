#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <map>
#include <nlohmann/json.hpp>

#include "cli/session.h"
#include "cli/verbs.h"
#include "cli/wording.h"
#include "core/entry/corrections.h"

namespace rackside::cli {
namespace {

using namespace core;
using Json = nlohmann::json;

/// Alike questions come as one: one rule, one rack, one feeding night.
struct Alike {
  RuleId rule = RuleId::feeding;
  std::string rack;
  DayNumber night = 0;
  std::string outcome;
  auto operator<=>(const Alike&) const = default;
};

std::string rack_label(Reader& reader, const Question& question, Instant now) {
  if (question.subject == 0) return "";
  std::optional<Thing> rack = reader.rack_of(question.subject);
  if (!rack) {
    const auto lodgings = reader.lodgings_of(question.subject, now);
    if (!lodgings.empty()) rack = reader.rack_of(lodgings.front().place);
  }
  return rack ? reader.label(*rack) : "";
}

Alike kind_of_question(Reader& reader, const Question& question, Instant now) {
  const FoldSettings& settings = reader.settings();
  const Instant at = reader.line(question.members.front()).at;
  return {question.rule, rack_label(reader, question, now),
          night_of(settings.zone, settings.night_start_minute, at).number,
          question.rule == RuleId::feeding ? question.outcome : ""};
}

std::string group_title(const Alike& alike, std::size_t count) {
  std::string what(rule_of(alike.rule).title);
  if (alike.rule == RuleId::feeding) {
    what = alike.outcome == "check-tub" ? fmt::format("{} tub{} to check", count, count == 1 ? "" : "s")
                                        : fmt::format("{} animal{} perhaps fed twice", count, count == 1 ? "" : "s");
  }
  return (alike.rack.empty() ? "" : "Rack " + alike.rack + ", ") + "night of " + date_text(alike.night) + ": " + what;
}

std::map<Alike, std::vector<Question>> grouped(Reader& reader, std::vector<Question> questions, Instant now) {
  std::map<Alike, std::vector<Question>> groups;
  for (Question& question : questions) {
    const Alike alike = kind_of_question(reader, question, now);
    groups[alike].push_back(std::move(question));
  }
  return groups;
}

const Rule& require_rule(const std::string& name) {
  if (const Rule* rule = rule_named(name)) return *rule;
  std::string names;
  for (const Rule& one : rule_table()) names += (names.empty() ? "" : ", ") + std::string(one.name);
  throw Error(Fault::usage, "There is no rule “" + name + "”. The rules are: " + names + ".");
}

void explain(Session& session, const std::string& name) {
  if (name == "all") return session.terminal.line(rules_page());
  const Rule& rule = require_rule(name);
  session.terminal.line(session.terminal.strong(std::string(rule.name)) + ": " + std::string(rule.title));
  session.terminal.line(std::string(rule.belief));
}

/// Which of the open questions are meant; what is not given leaves none out.
struct Filter {
  std::string rule, rack, helper, night;
  bool any() const { return !rule.empty() || !rack.empty() || !helper.empty() || !night.empty(); }
};

struct SettleOptions {
  std::string id, answer, by, note;
  bool alike = false;
  Filter filter;
};

bool told_by(Reader& reader, const Question& question, const std::string& helper) {
  return std::any_of(question.members.begin(), question.members.end(), [&](const EventRef& member) {
    const auto by = reader.thing_of(reader.line(member).event->by);
    return by && reader.named(*by).code == helper;
  });
}

/// "2026-11-24", "yesterday" or "today": the feeding night that began on that day.
DayNumber night_meant(Session& session, Reader& reader, const std::string& text) {
  const FoldSettings& settings = reader.settings();
  const DayNumber today = night_of(settings.zone, settings.night_start_minute, session.now()).number;
  if (text == "today" || text == "tonight") return today;
  if (text == "yesterday") return today - 1;
  DayNumber day = 0;
  if (parse_date(text, day)) return day;
  throw Error(Fault::usage, "“" + text + "” is no night: give today, yesterday or a date as 2026-11-24.");
}

/// The open questions that a filter leaves. Errors: usage (no such rule), unknown_code (no such rack or helper).
std::vector<Question> chosen(Session& session, Reader& reader, const Filter& filter) {
  if (!filter.rule.empty()) require_rule(filter.rule);
  const std::string rack = filter.rack.empty() ? "" : session.find(filter.rack, {"rack"}).label;
  const std::string helper = filter.helper.empty() ? "" : session.find(filter.helper, {"helper"}).code;
  std::optional<DayNumber> night;
  if (!filter.night.empty()) night = night_meant(session, reader, filter.night);
  std::vector<Question> out;
  for (Question& question : reader.questions()) {
    const Alike alike = kind_of_question(reader, question, session.now());
    if (!filter.rule.empty() && rule_of(question.rule).name != filter.rule) continue;
    if (!rack.empty() && alike.rack != rack) continue;
    if (night && alike.night != *night) continue;
    if (!helper.empty() && !told_by(reader, question, helper)) continue;
    out.push_back(std::move(question));
  }
  return out;
}

void add_filter(CLI::App& verb, Filter& filter) {
  verb.add_option("--rule", filter.rule, "Only questions of this rule");
  verb.add_option("--rack", filter.rack, "Only questions about animals and places of this rack");
  verb.add_option("--helper", filter.helper, "Only questions about what this helper entered");
  verb.add_option("--night", filter.night, "Only questions of this night: today, yesterday or a date");
}

void print_question(Session& session, Reader& reader, const Question& question) {
  const Terminal& out = session.terminal;
  out.line("  " + out.strong(question.id) + "  " + question_text(reader, question));
  for (const EventRef& member : question.members) out.line("            · " + account_text(session, reader, member));
  out.line("            " + out.faint("believed meanwhile: " + belief_text(reader, question)));
  if (!question.detail.text("settled").empty()) out.line("            settled differently by two people: still open");
  for (std::size_t i = 0; i < question.answers.size(); ++i) {
    out.line(fmt::format("            {}) {}", i + 1, answer_text(reader, question, question.answers[i])));
  }
}

Json question_json(Reader& reader, const Question& question) {
  Json one = {{"id", question.id},
              {"rule", rule_of(question.rule).name},
              {"question", question_text(reader, question)},
              {"belief", belief_text(reader, question)},
              {"answers", question.answers}};
  if (question.subject != 0) one["subject"] = reader.named(question.subject).code;
  for (const EventRef& member : question.members) one["events"].push_back(to_text(member));
  return one;
}

void questions(Session& session, const std::string& rule, const Filter& filter) {
  if (!rule.empty()) return explain(session, rule);
  Reader reader = session.reader();
  if (session.json) {
    Json all = Json::array();
    for (const Question& question : chosen(session, reader, filter)) all.push_back(question_json(reader, question));
    return session.terminal.line(all.dump());
  }
  const auto groups = grouped(reader, chosen(session, reader, filter), session.now());
  if (groups.empty() && filter.any()) return session.terminal.good("No open questions of that sort.");
  if (groups.empty()) return session.terminal.good("No open questions: all accounts agree.");
  for (const auto& [alike, all] : groups) {
    session.terminal.heading(group_title(alike, all.size()));
    for (const Question& question : all) print_question(session, reader, question);
  }
  session.terminal.line();
  session.terminal.line(
      "Answer one with `rackside settle ID ANSWER` (its number), several of one night at once with `--alike`, "
      "all of a sort with `rackside settle all ANSWER --rule … --rack … --helper … --night …`.");
}

std::string chosen_answer(Reader& reader, const Question& question, const std::string& text) {
  if (text == "open") return text;
  const bool is_number = !text.empty() && text.size() < 3 &&
                         std::all_of(text.begin(), text.end(), [](char c) { return c >= '0' && c <= '9'; });
  if (is_number) {
    const std::size_t number = static_cast<std::size_t>(std::stoi(text));
    if (number >= 1 && number <= question.answers.size()) return question.answers[number - 1];
  }
  if (std::find(question.answers.begin(), question.answers.end(), text) != question.answers.end()) return text;
  for (const std::string& answer : question.answers) {
    if (answer_text(reader, question, answer) == text) return answer;
    const auto thing = reader.thing_of(answer);
    if (thing && reader.label(*thing) == text) return answer;
  }
  std::string listed;
  for (std::size_t i = 0; i < question.answers.size(); ++i)
    listed += fmt::format("{}{}) {}", i ? ", " : "", i + 1, answer_text(reader, question, question.answers[i]));
  throw Error(Fault::usage, "“" + text + "” answers nothing here. The answers are " + listed + ", or open.");
}

/// A settlement names its rule, the events it judged, and the settlements before it: so two people can be told apart.
Draft settlement(Session& session, const Question& question, const std::string& answer, const SettleOptions& options) {
  Draft draft{.kind = Kind::settled,
              .own = Value::Object{{"rule", std::string(rule_of(question.rule).name)}, {"answer", answer}}};
  for (const EventRef& member : question.members) draft.re.push_back({member, Relation::saw});
  Reader reader = session.reader();
  for (const EventRef& earlier : settlements_of(reader, question)) draft.re.push_back({earlier, Relation::saw});
  if (!options.by.empty()) draft.by = session.find(options.by, {"helper"}).code;
  if (!options.note.empty()) draft.text = write_compact(Value::Object{{"note", mend_text(options.note)}});
  return draft;
}

/// All alike questions, or all that the filter leaves, with the one that gives its words to the outcome first.
std::vector<Question> meant(Session& session, Reader& reader, const SettleOptions& options) {
  if (options.id == "all") {
    if (!options.filter.any())
      throw Error(Fault::usage, "Which? Give at least one of --rule, --rack, --helper, --night; nothing was settled.");
    // The first answer of one rule is not the first of another.
    const bool is_number =
        !options.answer.empty() && options.answer.find_first_not_of("0123456789") == std::string::npos;
    if (is_number && options.filter.rule.empty())
      throw Error(Fault::usage, "A number means another answer for each rule: add --rule, or give the answer's words.");
    auto all = chosen(session, reader, options.filter);
    if (all.empty()) throw Error(Fault::unknown_code, "No open question is of that sort; nothing was settled.");
    return all;
  }
  const auto question = reader.question(options.id);
  if (!question)
    throw Error(Fault::unknown_code,
                "There is no question " + options.id + ". `rackside questions` lists those that are open.");
  std::vector<Question> all{*question};
  if (!options.alike) return all;
  const Alike mine = kind_of_question(reader, *question, session.now());
  for (auto& other : grouped(reader, reader.questions(), session.now())[mine]) {
    if (other.id != question->id) all.push_back(std::move(other));
  }
  return all;
}

void settle_questions(Session& session, const SettleOptions& options) {
  Reader reader = session.reader();
  const std::vector<Question> all = meant(session, reader, options);
  // All or none: an answer that one of them does not know stops before anything is written.
  std::vector<Draft> drafts;
  for (const Question& one : all)
    drafts.push_back(settlement(session, one, chosen_answer(reader, one, options.answer), options));
  const std::string answer = chosen_answer(reader, all.front(), options.answer);
  session.record(std::move(drafts));
  Reader after = session.reader();
  const std::size_t left = after.questions().size();
  if (session.json)
    return session.terminal.line(Json{{"settled", all.size()}, {"answer", answer}, {"open", left}}.dump());
  session.terminal.good(fmt::format("{} → {}.{}", question_text(reader, all.front()),
                                    answer_text(reader, all.front(), answer),
                                    all.size() > 1 ? fmt::format(" {} more with it.", all.size() - 1) : ""));
  session.terminal.line(session.terminal.faint(
      fmt::format("{} open. To take it back: `rackside settle {} open`.", left, all.front().id)));
}

}  // namespace

void add_question_verbs(CLI::App& app, Session& session) {
  auto rule = std::make_shared<std::string>();
  auto* list = app.add_subcommand("questions", "What accounts disagree about, with the belief held meanwhile");
  list->add_option("--explain", *rule, "Say what a rule believes, and why");
  list->get_option("--explain")->description("Say what a rule believes, and why; `all` for every rule");
  auto filter = std::make_shared<Filter>();
  add_filter(*list, *filter);
  list->callback([&session, rule, filter] { questions(session, *rule, *filter); });

  auto options = std::make_shared<SettleOptions>();
  auto* settle_verb = app.add_subcommand("settle", "Answer a question; `open` takes an answer back");
  settle_verb->add_option("id", options->id, "As `rackside questions` shows it; or all, with a filter")->required();
  settle_verb->add_option("answer", options->answer, "Its number or its words; or open")->required();
  settle_verb->add_flag("--alike", options->alike, "The same answer for all questions of this rule, rack and night");
  add_filter(*settle_verb, options->filter);
  settle_verb->add_option("--by", options->by, "Who says so");
  settle_verb->add_option("--note", options->note, "Free text");
  settle_verb->callback([&session, options] { settle_questions(session, *options); });
}

}  // namespace rackside::cli
