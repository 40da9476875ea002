// sex: a whole clutch, one line each: the code, m or f, and the weight.
#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <iostream>
#include <nlohmann/json.hpp>
#include <sstream>

#include "cli/register/fields.h"
#include "cli/season/season.h"
#include "cli/session.h"
#include "cli/wording.h"
#include "core/entry/compose.h"
#include "core/entry/scene.h"
#include "core/entry/shapes.h"

namespace rackside::cli {
namespace {

using namespace core;
using Json = nlohmann::json;

struct SexOptions {
  std::string how = "popped";
  std::string by;
};

/// "26-C-3-1 f 9.5": whom, what it is, what it weighs.
struct SexLine {
  std::string animal, sex, grams;
};

SexLine line_of(const std::string& text) {
  SexLine out;
  std::istringstream in(text);
  std::string rest;
  in >> out.animal >> out.sex;
  std::getline(in, rest);
  const auto begin = rest.find_first_not_of(" \t\r");
  if (begin != std::string::npos) out.grams = rest.substr(begin, rest.find_last_not_of(" \t\r") - begin + 1);
  if (out.sex.empty())
    throw Error(Fault::usage, "“" + text + "”: write whom, m, f or ?, and the grams if it was weighed: 26-C-3-1 f 9.5");
  std::transform(out.sex.begin(), out.sex.end(), out.sex.begin(),
                 [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
  out.sex = checked_sex(out.sex);
  return out;
}

class SexDesk {
 public:
  SexDesk(Session& session, const SexOptions& options) : session_(session), options_(options) {
    if (!options.by.empty()) by_ = session.find(options.by, {"helper"}).code;
  }

  /// Records one line; what is wrong with it is told, and the next can come.
  void take(const std::string& text) {
    try {
      if (text == "undo") return undo();
      record(line_of(text));
    } catch (const Error& error) {
      if (error.fault() != Fault::usage && error.fault() != Fault::bad_code && error.fault() != Fault::unknown_code &&
          error.fault() != Fault::ambiguous && error.fault() != Fault::bad_input)
        throw;
      ++failed_;
      session_.terminal.problem(error.what());
      session_.terminal.bell(2);
    }
  }

  int failed() const { return failed_; }
  std::string counts() const { return trade_count(males_, females_, others_); }
  int done() const { return males_ + females_ + others_; }

 private:
  void add_composed(std::vector<Draft>& drafts, Reader& reader, const Named& animal, Entry entry) {
    Composition made = compose(look(reader, animal, animal.code, session_.now()), entry);
    for (const std::string& warning : made.warnings) session_.terminal.warn(warning + ".");
    made.draft.by = by_;
    drafts.push_back(std::move(made.draft));
  }

  void record(const SexLine& line) {
    const Named animal = session_.find_animal(line.animal);
    Reader reader = session_.reader();
    std::vector<Draft> drafts;
    if (line.sex != "unknown")
      add_composed(drafts, reader, animal,
                   {.kind = Kind::sexed, .own = Value::Object{{"sex", line.sex}, {"how", options_.how}}});
    if (!line.grams.empty()) {
      Entry entry{.kind = Kind::weighed};
      const std::string problem = shapes::read_grams({line.grams}, entry);
      if (!problem.empty()) throw Error(Fault::usage, "“" + line.grams + "”: " + problem + ". Write grams, as 9.5.");
      add_composed(drafts, reader, animal, std::move(entry));
    }
    const std::string before = reader.field(animal.thing, "sex");
    if (before != line.sex) {
      std::vector<Answer> re;
      if (const auto source = reader.field_source(animal.thing, "sex")) re.push_back({*source, Relation::saw});
      drafts.push_back({.kind = Kind::edited,
                        .of = {animal.code},
                        .by = by_,
                        .re = std::move(re),
                        .own = Value::Object{{"set", Value::Object{{"sex", line.sex}}}}});
    }
    if ((before == "male" || before == "female") && line.sex != "unknown" && before != line.sex)
      session_.terminal.warn(animal.label + " was a " + before +
                             " until now: wrong animal, or wrong record? Saved as said.");
    last_ = session_.record(std::move(drafts));
    (line.sex == "male" ? males_ : line.sex == "female" ? females_ : others_) += 1;
    last_sex_ = line.sex;
    if (session_.json)
      return session_.terminal.line(Json{{"animal", animal.label}, {"sex", line.sex}, {"grams", line.grams}}.dump());
    session_.terminal.good(fmt::format("{} {}{}   {}", session_.terminal.name(animal.label), sex_sign(line.sex),
                                       line.grams.empty() ? "" : "  " + line.grams + " g",
                                       session_.terminal.faint(counts())));
    session_.terminal.bell(1);
  }

  void undo() {
    if (last_.empty()) throw Error(Fault::usage, "There is nothing to take back in this run.");
    Draft draft{.kind = Kind::voided, .by = by_};
    for (const EventRef& ref : last_) draft.re.push_back({ref, Relation::saw});
    session_.record({std::move(draft)});
    last_.clear();
    (last_sex_ == "male" ? males_ : last_sex_ == "female" ? females_ : others_) -= 1;
    session_.terminal.good("The last line is taken back.");
  }

  Session& session_;
  const SexOptions& options_;
  std::string by_, last_sex_;
  std::vector<EventRef> last_;
  int males_ = 0, females_ = 0, others_ = 0, failed_ = 0;
};

void sex_clutch(Session& session, const SexOptions& options) {
  SexDesk desk(session, options);
  if (session.terminal.in_is_terminal() && !session.json)
    session.terminal.line(
        "Scan or type whom, then m, f or ?, then grams: 26-C-3-1 f 9.5. `undo` takes the last back; an "
        "empty line ends.");
  for (std::string line; std::getline(std::cin, line);) {
    if (line.find_first_not_of(" \t\r") == std::string::npos) {
      if (session.terminal.in_is_terminal()) break;
      continue;
    }
    desk.take(
        line.substr(line.find_first_not_of(" \t"), line.find_last_not_of(" \t\r") - line.find_first_not_of(" \t") + 1));
  }
  if (!session.json && desk.done() > 0)
    session.terminal.line(fmt::format("{} done, {} (males.females.unsexed).", desk.done(), desk.counts()));
  if (desk.failed() > 0)
    throw Error(Fault::bad_input, fmt::format("{} line{} not understood; the others are recorded. Say those again.",
                                              desk.failed(), desk.failed() == 1 ? " was" : "s were"));
}

}  // namespace

void add_sex_verb(CLI::App& app, Session& session) {
  auto options = std::make_shared<SexOptions>();
  auto* verb = app.add_subcommand("sex", "Sex and weigh a whole clutch fast: one line each, `26-C-3-1 f 9.5`");
  verb->add_option("--how", options->how, "popped, probed, by its shed …")->capture_default_str();
  verb->add_option("--by", options->by, "The helper who does it");
  verb->footer(
      "Lines come from the keyboard, a handheld scanner or a pipe. Done wrongly, popping and probing injure: let "
      "somebody show you.");
  verb->callback([&session, options] { sex_clutch(session, *options); });
}

}  // namespace rackside::cli
