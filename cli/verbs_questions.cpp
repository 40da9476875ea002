#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <map>
#include <nlohmann/json.hpp>

#include "cli/session.h"
#include "cli/verbs.h"
#include "cli/wording.h"

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

std::map<Alike, std::vector<Question>> grouped(Reader& reader, Instant now) {
  std::map<Alike, std::vector<Question>> groups;
  for (Question& question : reader.questions()) {
    const Alike alike = kind_of_question(reader, question, now);
    groups[alike].push_back(std::move(question));
  }
  return groups;
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

void explain(Session& session, const std::string& name) {
  const Rule* rule = rule_named(name);
  if (!rule) {
    std::string names;
    for (const Rule& one : rule_table()) names += (names.empty() ? "" : ", ") + std::string(one.name);
    throw Error(Fault::usage, "There is no rule “" + name + "”. The rules are: " + names + ".");
  }
  session.terminal.line(session.terminal.strong(std::string(rule->name)) + ": " + std::string(rule->title));
  session.terminal.line(std::string(rule->belief));
}

void questions(Session& session, const std::string& rule) {
  if (!rule.empty()) return explain(session, rule);
  Reader reader = session.reader();
  if (session.json) {
    Json all = Json::array();
    for (const Question& question : reader.questions()) all.push_back(question_json(reader, question));
    return session.terminal.line(all.dump());
  }
  const auto groups = grouped(reader, session.now());
  if (groups.empty()) return session.terminal.good("No open questions: all accounts agree.");
  for (const auto& [alike, all] : groups) {
    session.terminal.heading(group_title(alike, all.size()));
    for (const Question& question : all) print_question(session, reader, question);
  }
  session.terminal.line();
  session.terminal.line(
      "Answer one with `rackside settle ID ANSWER` (its number), several of one night at once with `--alike`.");
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

struct SettleOptions {
  std::string id, answer, by, note;
  bool alike = false;
};

/// A settlement names its rule, the events it judged, and the settlements before it: so two people can be told apart.
Draft settlement(Session& session, const Question& question, const std::string& answer, const SettleOptions& options) {
  Draft draft{.kind = Kind::settled,
              .own = Value::Object{{"rule", std::string(rule_of(question.rule).name)}, {"answer", answer}}};
  for (const EventRef& member : question.members) draft.re.push_back({member, Relation::saw});
  auto& log = session.book().log();
  for (const EventRef& member : question.members) {
    auto query = session.book().database().prepare("SELECT source FROM answer WHERE target = ?");
    query.bind(log.find(member));
    while (query.step()) {
      const EventRow row = query.integer(0);
      const EventRef ref = log.ref_of(row);
      const bool listed =
          std::any_of(draft.re.begin(), draft.re.end(), [&](const Answer& a) { return a.event == ref; });
      if (!listed && log.event_of(row)->kind == Kind::settled) draft.re.push_back({ref, Relation::saw});
    }
  }
  if (!options.by.empty()) draft.by = session.find(options.by, {"helper"}).code;
  if (!options.note.empty()) draft.text = write_compact(Value::Object{{"note", mend_text(options.note)}});
  return draft;
}

void settle_question(Session& session, const SettleOptions& options) {
  Reader reader = session.reader();
  const auto question = reader.question(options.id);
  if (!question)
    throw Error(Fault::unknown_code,
                "There is no question " + options.id + ". `rackside questions` lists those that are open.");
  const std::string answer = chosen_answer(reader, *question, options.answer);
  std::vector<Draft> drafts{settlement(session, *question, answer, options)};
  if (options.alike) {
    const Alike mine = kind_of_question(reader, *question, session.now());
    for (const auto& other : grouped(reader, session.now())[mine]) {
      if (other.id != question->id)
        drafts.push_back(settlement(session, other, chosen_answer(reader, other, options.answer), options));
    }
  }
  const std::size_t count = drafts.size();
  session.record(std::move(drafts));
  Reader after = session.reader();
  const std::size_t left = after.questions().size();
  if (session.json) return session.terminal.line(Json{{"settled", count}, {"answer", answer}, {"open", left}}.dump());
  session.terminal.good(fmt::format("{} → {}.{}", question_text(reader, *question),
                                    answer_text(reader, *question, answer),
                                    count > 1 ? fmt::format(" {} alike questions with it.", count - 1) : ""));
  session.terminal.line(
      session.terminal.faint(fmt::format("{} open. To take it back: `rackside settle {} open`.", left, options.id)));
}

}  // namespace

void add_question_verbs(CLI::App& app, Session& session) {
  auto rule = std::make_shared<std::string>();
  auto* list = app.add_subcommand("questions", "What accounts disagree about, with the belief held meanwhile");
  list->add_option("--explain", *rule, "Say what a rule believes, and why");
  list->callback([&session, rule] { questions(session, *rule); });

  auto options = std::make_shared<SettleOptions>();
  auto* settle_verb = app.add_subcommand("settle", "Answer a question; `open` takes an answer back");
  settle_verb->add_option("id", options->id, "As `rackside questions` shows it")->required();
  settle_verb->add_option("answer", options->answer, "Its number or its words; or open")->required();
  settle_verb->add_flag("--alike", options->alike, "The same answer for all questions of this rule, rack and night");
  settle_verb->add_option("--by", options->by, "Who says so");
  settle_verb->add_option("--note", options->note, "Free text");
  settle_verb->callback([&session, options] { settle_question(session, *options); });
}

}  // namespace rackside::cli
