#include "tests/simulation/verdict.h"

#include <algorithm>
#include <sstream>

#include "core/read/reader.h"
#include "tests/simulation/player.h"
#include "tests/simulation/reference/fold.h"
#include "tests/simulation/rows.h"

namespace rackside::simulation {

using namespace core;

namespace {

class Judge {
 public:
  explicit Judge(Fleet& fleet) : fleet_(fleet), trouble_(fleet.trouble()) {}

  std::vector<std::string> run() {
    Machine& hub = fleet_.machines().front();
    const Digest expected = hub.book->digest();
    for (Machine& machine : fleet_.machines()) {
      if (!machine.book) continue;
      const Digest own = machine.book->digest();
      if (own.log != expected.log) complain(machine.name + " holds another log than the hub");
      if (own.state != expected.state) complain(machine.name + " says something else than the hub");
      each_event_once(machine);
    }
    for (const std::string& problem : hub.book->check().problems) complain("the hub's check: " + problem);
    as_the_reference(*hub.book);
    nothing_invented(hub);
    questions_explained(*hub.book);
    return std::move(trouble_);
  }

 private:
  void complain(std::string what) { trouble_.push_back(std::move(what)); }

  /// Row by row. What the reference does not judge yet is left out here and named by a test of its own.
  void as_the_reference(Book& book) {
    const reference::Log log(book);
    const reference::Fold fold(log);
    Rows rows = rows_of(book);
    for (const std::string& rule : reference::Fold::unknown_rules())
      std::erase_if(rows, [&](const std::string& row) { return row.starts_with("matter " + rule + " "); });
    for (const std::string& difference : differences(rows, fold.rows())) complain(difference);
  }

  void each_event_once(Machine& machine) {
    std::map<Hash, int> held;
    auto query = machine.book->database().prepare("SELECT hash FROM event");
    while (query.step()) ++held[query.bytes<32>(0)];
    std::map<ShortHash, int> by_name;
    for (const auto& [hash, times] : held) {
      by_name[shorten(hash)] += times;
      if (times != 1) complain(machine.name + " holds one event " + std::to_string(times) + " times");
    }
    for (const Acknowledged& one : fleet_.acknowledged()) {
      if (!by_name.contains(one.ref.hash)) complain(machine.name + " lost the acknowledged event " + to_text(one.ref));
    }
  }

  /// Besides what people tried to save there are only the marks and checks of clocks, the founding, the first events,
  /// and what a copied or restored book writes to go on as another device.
  void nothing_invented(Machine& hub) {
    std::size_t told = 0;
    auto query = hub.book->database().prepare("SELECT mark FROM event");
    while (query.step()) {
      const auto kind = static_cast<Kind>(query.integer(0) >> kMarkKindShift);
      told += kind != Kind::clock_marked && kind != Kind::clock_checked && kind != Kind::succeeded;
    }
    constexpr std::size_t kFounding = 4;  // founded, admitted, the zone, the keeper
    if (told > fleet_.attempts() + kFounding) complain("there are events that nobody wrote");
  }

  void questions_explained(Book& book) {
    Reader reader(book);
    for (const Question& question : reader.questions()) {
      const std::string name = std::string(rule_of(question.rule).name) + " " + question.id;
      if (question.members.empty()) complain("the question " + name + " names no event");
      if (question.answers.empty() || question.outcome.empty()) complain("the question " + name + " has no answers");
      for (const EventRef& member : question.members) explain(reader, book, question.rule, name, member);
    }
  }

  void explain(Reader& reader, Book& book, RuleId rule, const std::string& name, const EventRef& member) {
    if (book.log().find(member) == 0) return complain("the question " + name + " names an event that is not there");
    const StoryLine line = reader.line(member);
    // The entries of a retired device are what that one question is about. What withdraws may itself have been
    // replaced: it withdraws nevertheless.
    const bool withdraws = rule == RuleId::withdrawal && line.kind != Kind::voided && line.read;
    if (rule == RuleId::unread ? line.read : !line.read || (line.gone && !withdraws))
      complain("the question " + name + " rests on " + to_text(member) + ", which is not live");
  }

  Fleet& fleet_;
  std::vector<std::string> trouble_;
};

}  // namespace

std::vector<std::string> judge(Fleet& fleet) {
  return Judge(fleet).run();
}

namespace {

std::map<std::string, std::size_t> matters_of(Book& book) {
  std::map<std::string, std::size_t> out;
  auto query = book.database().prepare("SELECT rule, count(*) FROM matter GROUP BY rule");
  while (query.step())
    out[std::string(rule_of(static_cast<RuleId>(query.integer(0))).name)] += static_cast<std::size_t>(query.integer(1));
  return out;
}

/// Names as the differences have them, and the bytes. What was registered before the story begins is left out.
std::vector<std::string> log_of(Book& book, int founding) {
  std::vector<std::string> out;
  const reference::Log log(book);
  for (reference::Index i = 0; i < log.size(); ++i) {
    const bool of_hub = log[i].ref.device == book.device();
    if (of_hub && log[i].ref.seq <= static_cast<std::uint32_t>(founding)) continue;
    out.push_back(short_name(log[i].ref) + " " + book.log().bytes_of(book.log().find(log[i].ref)));
  }
  return out;
}

}  // namespace

Outcome run(const Script& script) {
  Player player(script);
  Fleet& fleet = player.fleet();
  const Instant began = fleet.now;
  const Setup& setup = script.setup;
  const int registered = 3 + setup.racks + setup.places + 2 * setup.animals;
  Outcome outcome;
  try {
    player.play(script.actions);
    fleet.heal();
    outcome.trouble = judge(fleet);
    outcome.log = log_of(*fleet.machines().front().book, registered);
    outcome.matters = matters_of(*fleet.machines().front().book);
  } catch (const std::exception& error) {
    outcome.trouble = fleet.trouble();
    outcome.trouble.push_back(std::string("the run broke off: ") + error.what());
  }
  outcome.events = fleet.acknowledged().size();
  outcome.device_days =
      static_cast<double>(fleet.now - began) / static_cast<double>(kDay) * static_cast<double>(fleet.machines().size());
  return outcome;
}

}  // namespace rackside::simulation
