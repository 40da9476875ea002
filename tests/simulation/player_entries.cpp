// What helpers do, each by the screen of his own book.
#include <array>

#include "core/entry/corrections.h"
#include "tests/simulation/player.h"
#include "tests/support/world.h"

namespace rackside::simulation {

using namespace core;

namespace {

constexpr int kStoryLines = 30;

const StoryLine* nth(const std::vector<StoryLine>& lines, bool gone, int n) {
  std::vector<const StoryLine*> fitting;
  for (const StoryLine& line : lines) {
    if (line.gone == gone && info_of(line.kind).voidable) fitting.push_back(&line);
  }
  return fitting.empty() ? nullptr : fitting[static_cast<std::size_t>(n) % fitting.size()];
}

Scene scene_of(Reader& reader, const std::string& code, Instant at) {
  if (const auto thing = reader.thing_of(code)) return look(reader, reader.named(*thing), code, at);
  return look_unknown(reader, *read_code(code).code, at);
}

/// What a person said about the time, seldom; and how he answers an earlier account of the same matter.
struct Manner {
  explicit Manner(int number) : relation(number % 5), time(number / 5 % 12), amount(number / 60) {}
  int relation;
  int time;
  int amount;

  std::optional<Relation> chosen() const {
    return relation == 0 ? std::nullopt : std::optional(static_cast<Relation>(relation == 4 ? 2 : relation));
  }
  std::optional<SaidTime> said(DayNumber today) const {
    switch (time) {
      case 9:
        return SaidTime{.minutes_ago = amount % 300};
      case 10:
        return SaidTime{.minute = amount * 17 % (24 * 60)};
      case 11:
        return SaidTime{.day = today - amount % 9, .minute = amount * 31 % (24 * 60)};
      default:
        return std::nullopt;
    }
  }
};

}  // namespace

/// "paired @A3" names animal 3, "moved @T4" place 4.
std::string Player::with_codes(const std::string& text) const {
  const std::size_t at = text.find('@');
  if (at == std::string::npos) return text;
  const int number = std::atoi(text.c_str() + at + 2);
  return text.substr(0, at) + (text[at + 1] == 'T' ? fleet_.place(number) : fleet_.animal(number));
}

void Player::enter(Machine& machine, const Action& action) {
  const auto entry = parse_entry(with_codes(action.text)).entry;
  if (!entry) return fleet_.complain("nobody understands the entry “" + action.text + "”");
  const Manner manner(action.c);
  Reader reader(*machine.book);
  const Instant at = machine.clock(fleet_.now).wall_ms;
  const Scene scene = scene_of(reader, action.b == 0 ? fleet_.animal(action.a) : fleet_.place(action.a), at);
  std::optional<Scene> target;
  if (!entry->target.empty()) target = scene_of(reader, entry->target, at);
  const Scene* second = target ? &*target : nullptr;
  Choices choices;
  Composition made = compose(scene, *entry, choices, second);
  if (made.ask.about == Ask::About::animal && (made.ask.needed || manner.amount % 2 == 0)) {
    const auto& options = made.ask.options;
    choices.animal = options[static_cast<std::size_t>(manner.amount) % options.size()].code;
    made = compose(scene, *entry, choices, second);
  }
  if (made.ask.about == Ask::About::relation && manner.chosen()) {
    choices.relation = manner.chosen();
    made = compose(scene, *entry, choices, second);
  }
  made.draft.said = manner.said(reader.settings().zone.day_of(at));
  fleet_.record(machine, {made.draft});
}

void Player::close_offers(Machine& machine, const Action& action) {
  Reader reader(*machine.book);
  const auto rack = reader.thing_of(fleet_.rack(action.a));
  if (!rack) return;
  const RestAte rest = rest_ate(reader, reader.named(*rack), machine.clock(fleet_.now).wall_ms);
  if (rest.draft) fleet_.record(machine, {*rest.draft});
}

void Player::undo(Machine& machine) {
  Reader reader(*machine.book);
  if (const auto line = newest_own_entry(reader, machine.clock(fleet_.now).wall_ms))
    fleet_.record(machine, {withdrawal_of(*line)});
}

void Player::withdraw(Machine& machine, const Action& action) {
  Reader reader(*machine.book);
  const auto thing = reader.thing_of(fleet_.animal(action.a));
  if (!thing) return;
  const auto story = reader.story(*thing, kStoryLines);
  if (const StoryLine* line = nth(story, false, action.b)) fleet_.record(machine, {withdrawal_of(*line)});
}

void Player::restore(Machine& machine, const Action& action) {
  Reader reader(*machine.book);
  const auto thing = reader.thing_of(fleet_.animal(action.a));
  if (!thing) return;
  const auto story = reader.story(*thing, kStoryLines);
  if (const StoryLine* line = nth(story, true, action.b)) fleet_.record(machine, {restoration_of(reader, *line)});
}

/// Names the members and the settlements that the screen shows; sometimes a member less, as from a stale screen.
void Player::settle(Machine& machine, const Action& action) {
  Reader reader(*machine.book);
  const auto questions = reader.questions(action.c % 3 != 0);
  if (questions.empty()) return;
  const Question& question = questions[static_cast<std::size_t>(action.a) % questions.size()];
  const auto choice = static_cast<std::size_t>(action.b) % (question.answers.size() + 1);
  const std::string answer = choice == question.answers.size() ? "open" : question.answers[choice];
  Draft draft{.kind = Kind::settled,
              .own = Value::Object{{"rule", std::string(rule_of(question.rule).name)}, {"answer", answer}}};
  for (const EventRef& member : question.members) draft.re.push_back({member, Relation::saw});
  if (action.c % 7 == 5 && draft.re.size() > 1) draft.re.pop_back();
  LogStore& log = machine.book->log();
  std::set<EventRow> before;
  for (const EventRef& member : question.members) {
    auto query = machine.book->database().prepare("SELECT source FROM answer WHERE target = ?");
    query.bind(log.find(member));
    while (query.step()) {
      if (log.event_of(query.integer(0))->kind == Kind::settled) before.insert(query.integer(0));
    }
  }
  for (const EventRow row : before) {
    if (action.c % 5 != 4) draft.re.push_back({log.ref_of(row), Relation::saw});
  }
  fleet_.record(machine, {draft});
}

void Player::edit(Machine& machine, const Action& action) {
  static constexpr std::array kFields = {"sex", "prey", "short_id", "species", "hatched"};
  static constexpr std::array kValues = {"male", "female", "unknown", "one", "two"};
  const std::string field = kFields[static_cast<std::size_t>(action.b) % kFields.size()];
  const std::string value = kValues[static_cast<std::size_t>(action.c) % kValues.size()];
  Reader reader(*machine.book);
  Draft draft{.kind = Kind::edited,
              .of = {fleet_.animal(action.a)},
              .own = Value::Object{{"set", Value::Object{{field, value}}}}};
  const auto thing = reader.thing_of(draft.of.front());
  const auto shown = thing ? reader.field_source(*thing, field) : std::nullopt;
  if (shown && action.c % 4 != 3) draft.re = {{*shown, Relation::saw}};
  fleet_.record(machine, {draft});
}

void Player::enlist(Machine& machine, const Action& action) {
  fleet_.record(machine, {{.kind = Kind::animal,
                           .of = {fleet_.animal(action.a)},
                           .own = Value::Object{{"set", Value::Object{{"species", "corn-snake"},
                                                                      {"sex", action.c % 2 ? "male" : "female"}}}}}});
}

void Player::swap(Machine& machine, const Action& action) {
  Reader reader(*machine.book);
  const Instant at = machine.clock(fleet_.now).wall_ms;
  Draft draft{.kind = Kind::swapped};
  Value::Array to;
  for (const int animal : {action.a, action.b}) {
    draft.of.push_back(fleet_.animal(animal));
    const Scene scene = scene_of(reader, draft.of.back(), at);
    const Lodging* home = scene.found.empty() ? nullptr : scene.found.front().home();
    if (!home) return;
    to.insert(to.begin(), reader.named(home->place).code);
    if (action.c % 3 != 0) draft.re.push_back({home->by, Relation::saw});
  }
  draft.own = Value::Object{{"to", std::move(to)}};
  fleet_.record(machine, {draft});
}

EventRef Player::recent(int back) const {
  const auto& all = fleet_.acknowledged();
  return all[all.size() - 1 - static_cast<std::size_t>(back) % std::min<std::size_t>(all.size(), 16)].ref;
}

/// What no screen of ours would make but a book must bear: any kind, answering anything, also what is not held here.
void Player::be_odd(Machine& machine, const Action& action) {
  static constexpr std::array kKinds = {Kind::fed,     Kind::refused,   Kind::offered, Kind::leftover, Kind::ate,
                                        Kind::shed,    Kind::cleared,   Kind::laid,    Kind::treated,  Kind::weighed,
                                        Kind::cleaned, Kind::sold,      Kind::moved,   Kind::paired,   Kind::died,
                                        Kind::left,    Kind::separated, Kind::voided,  Kind::voided,   Kind::restored,
                                        Kind::settled, Kind::edited,    Kind::animal,  Kind::hatched,  Kind::says,
                                        Kind::says,    Kind::gravid,    Kind::noted,   Kind::unknown};
  Dice dice(static_cast<std::uint64_t>(action.c));
  Draft draft{.kind = kKinds[static_cast<std::size_t>(action.a) % kKinds.size()]};
  const KindInfo& info = info_of(draft.kind);
  const bool judges = info.kind_class == KindClass::judgement;
  for (int i = judges ? 1 + dice.below(3) : dice.below(3); i > 0; --i)
    draft.re.push_back({recent(dice.below(16)), judges ? Relation::saw : static_cast<Relation>(1 + dice.below(4))});
  if (draft.kind == Kind::settled) {
    static constexpr std::array kAnswers = {"once", "twice",  "ate",  "refused",    "gone",    "stands",
                                            "open", "nobody", "both", "told-twice", "left-out"};
    const auto rules = rule_table();
    draft.own = Value::Object{
        {"rule", std::string(rules[static_cast<std::size_t>(dice.below(static_cast<int>(rules.size())))].name)},
        {"answer", kAnswers[static_cast<std::size_t>(dice.below(11))]}};
  }
  if (!judges) {
    const bool scan = info.rebinding != Rebinding::never && dice.percent(40);
    if (scan || draft.kind == Kind::moved || draft.kind == Kind::paired) draft.place = fleet_.place(action.b);
    if (scan && dice.percent(70)) draft.shown = {fleet_.animal(action.b + dice.below(2))};
    if (!scan) draft.of = {fleet_.animal(action.b)};
    if (!scan && (draft.kind == Kind::paired || dice.percent(10))) draft.of.push_back(fleet_.animal(dice.below(99)));
  }
  if (draft.kind == Kind::laid) draft.own = Value::Object{{"good", dice.below(9)}, {"slugs", dice.below(3)}};
  if (draft.kind == Kind::says) {
    static constexpr std::array kParents = {"sire", "dam", "dam", "possible-sire"};
    draft.own = Value::Object{{"basis", "seller"},
                              {"parent", kParents[static_cast<std::size_t>(dice.below(4))]},
                              {"animal", fleet_.animal(dice.below(6))}};
  }
  if (draft.kind == Kind::hatched) draft.own = Value::Object{{dice.percent(50) ? "egg" : "count", 1 + dice.below(4)}};
  if (draft.kind == Kind::treated && dice.percent(60))
    draft.own = Value::Object{{"with", dice.percent(50) ? "mite-spray" : "salve"}};
  if (draft.kind == Kind::shed && dice.percent(40)) draft.own = Value::Object{{"stuck", "tail"}};
  if (draft.kind == Kind::edited || draft.kind == Kind::animal)
    draft.own = Value::Object{{"set", Value::Object{{dice.percent(50) ? "sex" : "prey", dice.below(3)}}}};
  if (!judges && dice.percent(15)) draft.said = SaidTime{.minutes_ago = dice.below(3000)};
  if (!judges && dice.percent(8)) {
    const DayNumber today = load_settings(machine.book->database()).zone.day_of(fleet_.now);
    draft.said = SaidTime{.day = today - dice.below(12), .minute = dice.below(24 * 60)};
  }
  fleet_.record(machine, {draft});
}

}  // namespace rackside::simulation
