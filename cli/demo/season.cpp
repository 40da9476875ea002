#include "cli/demo/season.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <functional>
#include <map>
#include <nlohmann/json.hpp>

#include "cli/register/fields.h"
#include "core/read/young.h"

namespace rackside::cli {
namespace {

using namespace core;

constexpr int kDays = 365;
constexpr int kEvening = 19 * 60;
constexpr int kMorning = 8 * 60;

/// Numbers that are the same on every machine (SplitMix64, Steele, Lea and Flood 2014).
class Dice {
 public:
  explicit Dice(std::uint64_t seed) : state_(seed) {}
  std::uint64_t next() {
    std::uint64_t z = (state_ += 0x9e3779b97f4a7c15);
    z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9;
    z = (z ^ (z >> 27)) * 0x94d049bb133111eb;
    return z ^ (z >> 31);
  }
  int between(int least, int most) {
    return least + static_cast<int>(next() % static_cast<std::uint64_t>(most - least + 1));
  }
  bool chance(int percent) { return between(1, 100) <= percent; }
  template <typename List>
  const auto& one_of(const List& list) {
    return list[static_cast<std::size_t>(between(0, static_cast<int>(std::size(list)) - 1))];
  }

 private:
  std::uint64_t state_;
};

struct Snake {
  std::string label, code, place;
  std::string prey;
  bool female = false;
  bool python = false;
  bool young = false;
  bool breeds = false;
  bool away = false;  ///< on a visit: fed with nobody
  bool gone = false;
  DayNumber since = 0;  ///< day from which it eats here
  DayNumber next_meal = 0, next_shed = 0, next_weighing = 0;
  int least = 7, most = 10;
  int tenths = 0;   ///< of a gram
  int refuses = 8;  ///< per cent
};

/// What is planned for a later day.
using Deed = std::function<void(DayNumber)>;

class Year {
 public:
  Year(Session& session, const DemoSeason& options)
      : session_(session), options_(options), dice_(options.seed), zone_(session.reader().settings().zone) {
    today_ = zone_.day_of(session.now());
    first_ = today_ - kDays;
  }

  void play() {
    found_the_room();
    plan_breeding();
    plan_incidents();
    for (day_ = first_; day_ < today_; ++day_) {
      one_day();
      flush();
      if (day_ % 7 == 0) session_.terminal.progress("living through an invented year, days", day_ - first_, kDays);
    }
    session_.terminal.end_progress();
  }

  std::size_t written() const { return written_; }
  std::size_t animals() const { return snakes_.size(); }

 private:
  // ---- writing

  Draft draft(Kind kind, const Snake& snake, int minute, Value own = {}) {
    Draft out{.kind = kind, .of = {snake.code}, .own = std::move(own)};
    out.by = dice_.one_of(helpers_);
    out.said = SaidTime{day_, minute + dice_.between(0, 59), std::nullopt};
    return out;
  }
  std::size_t write(Draft draft) {
    drafts_.push_back(std::move(draft));
    return drafts_.size() - 1;
  }
  std::size_t write(Kind kind, const Snake& snake, int minute, Value own = {}) {
    return write(draft(kind, snake, minute, std::move(own)));
  }
  /// Writes what was gathered; its references are in `refs_`, in the same order.
  void flush() {
    if (drafts_.empty()) return;
    written_ += drafts_.size();
    refs_ = session_.record(std::move(drafts_));
    drafts_.clear();
    for (const auto& [position, take] : std::exchange(waiting_, {})) take(refs_[position]);
  }
  /// Once it is written, `take` gets its reference.
  void keep(std::size_t position, std::function<void(EventRef)> take) {
    waiting_.emplace_back(position, std::move(take));
  }
  void later(DayNumber day, Deed deed) { deeds_[day].push_back(std::move(deed)); }

  static Value items(const std::string& prey, int count = 1) {
    return Value::Object{{"items", Value::Array{Value::Object{{"prey", prey}, {"count", count}, {"state", "thawed"}}}}};
  }

  // ---- the room

  void found_the_room() {
    day_ = first_;
    for (const char* name : {"Bram", "Sefa", "Ilka"}) {
      const Code code = session_.new_code(CodeKind::helper);
      Draft helper = registration(Kind::helper, code, Value::Object{{"role", "helper"}});
      helper.text = write_compact(Value::Object{{"name", name}});
      write(std::move(helper));
      helpers_.push_back(code.str());
    }
    flush();
    int walk = 0;
    for (const char* name : {"A", "B", "C", "D", "E", "N", "Q"}) {
      const bool quarantine = *name == 'Q';
      NewRack rack = new_rack(session_, {name, *name == 'N' ? 80 : quarantine ? 8 : 26, ++walk, quarantine});
      for (const auto& [label, code] : rack.places) places_[*name].push_back(code);
      for (Draft& one : rack.drafts) write(std::move(one));
      flush();
    }
    for (int i = 0; i < options_.adults; ++i) add_adult(i);
    flush();
  }

  void add_adult(int number) {
    static constexpr std::array kSaid = {"visual amel", "het amel",    "visual anery", "het anery", "visual motley",
                                         "het stripe",  "visual hypo", "het hypo",     "normal",    "normal"};
    const bool python = number >= options_.adults - 12;
    Snake snake;
    snake.label = (python ? "P-" : "C-") + std::to_string(python ? number - options_.adults + 13 : number + 1);
    snake.python = python;
    snake.female = number % 5 != 4;
    snake.place = places_["ABCDE"[number % 5]].at(static_cast<std::size_t>(number / 5));
    snake.prey = python ? "medium-rat" : "adult-mouse";
    snake.tenths = python ? dice_.between(12000, 17000) : dice_.between(3200, 5200);
    snake.least = python ? 12 : 8;
    snake.most = python ? 16 : 12;
    snake.since = first_;
    const int born = dice_.between(2017, 2022);
    AnimalOptions said;
    said.short_id = snake.label;
    said.species = python ? "ball python" : "corn snake";
    said.sex = snake.female ? "female" : "male";
    said.hatched = fmt::format("{}-0{}", born, dice_.between(6, 8));
    said.prey = snake.prey;
    said.every = fmt::format("{}-{}", snake.least, snake.most);
    enter(snake, said);
    if (!python) state_gene(snake, dice_.one_of(kSaid));
    snakes_.push_back(snake);
  }

  void enter(Snake& snake, const AnimalOptions& said) {
    enter(snake, animal_registration(session_.new_code(CodeKind::animal), said));
  }

  void enter(Snake& snake, Draft registered) {
    snake.code = registered.of.front();
    registered.said = SaidTime{day_, kMorning, std::nullopt};
    write(std::move(registered));
    Draft moved{.kind = Kind::moved, .of = {snake.code}, .place = snake.place};
    moved.said = SaidTime{day_, kMorning + 1, std::nullopt};
    write(std::move(moved));
    snake.next_meal = day_ + dice_.between(0, snake.most);
    snake.next_shed = day_ + dice_.between(10, 70);
    snake.next_weighing = day_ + dice_.between(0, 27);
  }

  void state_gene(const Snake& snake, const std::string& said) {
    const auto space = said.find(' ');
    Value own = Value::Object{{"basis", "seen"}, {"state", said.substr(0, space)}};
    if (said.starts_with("het")) own.set("basis", "bought");
    if (space != std::string::npos) own.set("gene", said.substr(space + 1));
    write(Kind::says, snake, kMorning, std::move(own));
  }

  // ---- every day

  void one_day() {
    for (std::size_t i = 0; i < snakes_.size(); ++i) {
      if (!snakes_[i].gone && snakes_[i].since <= day_) day_of(i);
    }
    if (const auto found = deeds_.find(day_); found != deeds_.end()) {
      for (std::size_t i = 0; i < found->second.size(); ++i) found->second[i](day_);
    }
  }

  void day_of(std::size_t index) {
    Snake& snake = snakes_[index];
    if ((day_ + static_cast<int>(index)) % 7 == 0) write(Kind::cleaned, snake, kMorning);
    if ((day_ + static_cast<int>(index)) % 8 == 0) write(Kind::watered, snake, kMorning);
    if (day_ == snake.next_shed - 8) write(Kind::opaque, snake, kEvening);
    if (day_ == snake.next_shed) shed(snake);
    if (day_ >= snake.next_weighing) weigh(snake);
    const bool soon = day_ >= snake.next_shed - 8 && day_ <= snake.next_shed;
    if (day_ >= snake.next_meal && !soon && !snake.away && !is_cooled(snake)) feed(index);
  }

  /// Corn snakes that breed are kept cool and without food for some weeks before (common practice, no source). The
  /// year's seasons hang on today's date, so that the demo has something due whenever it is played.
  bool is_cooled(const Snake& snake) const {
    return snake.breeds && !snake.python && day_ >= first_ + 15 && day_ <= first_ + 75;
  }

  void shed(Snake& snake) {
    const bool stuck = dice_.chance(3);
    write(Kind::shed, snake, kMorning, stuck ? Value(Value::Object{{"stuck", "tail"}}) : Value());
    if (stuck && day_ + 3 < today_) {
      const std::string code = snake.code;
      later(day_ + 3, [this, code](DayNumber) { write(Kind::cleared, by_code(code), kMorning); });
    }
    snake.next_shed = day_ + (snake.young ? dice_.between(25, 40) : dice_.between(48, 85));
  }

  void weigh(Snake& snake) {
    const int noise = snake.tenths / 50;
    write(Kind::weighed, snake, kMorning + 60,
          Value::Object{{"grams_tenths", snake.tenths + dice_.between(-noise, noise)}});
    snake.next_weighing = day_ + dice_.between(26, 32);
  }

  void feed(std::size_t index) {
    Snake& snake = snakes_[index];
    snake.next_meal = day_ + dice_.between(snake.least, snake.most);
    if (dice_.chance(snake.refuses)) {
      write(Kind::refused, snake, kEvening, items(snake.prey));
      snake.next_meal = day_ + 5;
      return;
    }
    snake.tenths += snake.young ? dice_.between(5, 12) : dice_.between(-10, 14);
    if (!dice_.chance(30)) {
      write(Kind::fed, snake, kEvening, items(snake.prey));
      return;
    }
    const std::size_t offer = write(Kind::offered, snake, kEvening, items(snake.prey));
    if (day_ + 1 >= today_) return;  // what lies in the tubs tonight is seen tomorrow
    const bool ate = dice_.chance(85);
    keep(offer, [this, index, ate](EventRef ref) {
      later(day_ + 1, [this, index, ate, ref](DayNumber) {
        if (snakes_[index].gone) return;
        Draft outcome = draft(ate ? Kind::ate : Kind::leftover, snakes_[index], kMorning);
        outcome.re = {{ref, Relation::saw}};
        write(std::move(outcome));
      });
    });
  }

  Snake& by_code(const std::string& code) {
    return *std::find_if(snakes_.begin(), snakes_.end(), [&](const Snake& one) { return one.code == code; });
  }

  // ---- the season

  void plan_breeding() {
    std::vector<std::size_t> males;
    std::vector<std::size_t> females;
    for (std::size_t i = 0; i < snakes_.size(); ++i) {
      if (!snakes_[i].python) (snakes_[i].female ? females : males).push_back(i);
    }
    for (std::size_t pair = 0; pair < 8 && pair < males.size() && 3 * pair + 2 < females.size(); ++pair) {
      for (std::size_t turn = 0; turn < 3; ++turn) {
        const DayNumber from = first_ + 105 + static_cast<int>(turn) * 6 + static_cast<int>(pair % 3);
        plan_pairing(males[pair], females[3 * pair + turn], from, turn == 0);
      }
    }
    // Second clutches: one in the incubator, some about to be laid, and a pair that is together tonight.
    plan_pairing(males[0], females[0], today_ - 112, true);
    for (std::size_t pair = 1; pair < 4; ++pair)
      plan_pairing(males[pair], females[3 * pair], today_ - 50 - static_cast<int>(pair), true);
    plan_pairing(males[5], females[16], today_ - 2, true);
  }

  void plan_pairing(std::size_t male, std::size_t female, DayNumber from, bool takes) {
    snakes_[male].breeds = snakes_[female].breeds = true;
    later(from, [this, male, female](DayNumber) {
      snakes_[female].away = snakes_[male].away = true;
      Draft paired = draft(Kind::paired, snakes_[female], kEvening);
      paired.of.push_back(snakes_[male].code);
      paired.place = snakes_[male].place;
      write(std::move(paired));
    });
    later(from + 1, [this, male, female](DayNumber) {
      if (!dice_.chance(75)) return;
      Draft locked = draft(Kind::locked, snakes_[female], kMorning);
      locked.of.push_back(snakes_[male].code);
      write(std::move(locked));
    });
    later(from + 4, [this, male, female](DayNumber) {
      snakes_[female].away = snakes_[male].away = false;
      write(Kind::separated, snakes_[female], kMorning);
    });
    if (!takes) return;
    const DayNumber laid = from + dice_.between(55, 64);
    later(laid - 25, [this, female](DayNumber) { write(Kind::gravid, snakes_[female], kMorning); });
    const DayNumber before_laying = laid - dice_.between(8, 13);
    later(from + 10, [this, female, before_laying](DayNumber) { snakes_[female].next_shed = before_laying; });
    later(laid - 12, [this, female](DayNumber) { snakes_[female].refuses = 70; });
    later(laid, [this, male, female](DayNumber day) { lay(male, female, day); });
  }

  void lay(std::size_t male, std::size_t female, DayNumber day) {
    const int good = dice_.between(9, 15);
    const auto laying = std::make_shared<EventRef>();
    keep(write(Kind::laid, snakes_[female], kMorning, Value::Object{{"good", good}, {"slugs", dice_.between(0, 2)}}),
         [laying](EventRef ref) { *laying = ref; });
    snakes_[female].refuses = 8;
    snakes_[female].tenths -= snakes_[female].tenths / 6;
    snakes_[female].next_weighing = day + 1;
    const int lost = dice_.between(0, 2);
    later(day + 30, [this, female, good, lost](DayNumber) {
      write(Kind::candled, snakes_[female], kMorning, Value::Object{{"good", good - lost}, {"bad", lost}});
    });
    const DayNumber hatch = day + dice_.between(56, 61);
    const int young = good - lost;
    later(hatch - 1, [this, female](DayNumber) {
      write(Kind::pipped, snakes_[female], kMorning, Value::Object{{"count", 3}});
    });
    later(hatch, [this, female, young](DayNumber) {
      write(Kind::hatched, snakes_[female], kMorning, Value::Object{{"count", young - 2}});
    });
    later(hatch + 1, [this, male, female, young, laying](DayNumber date) {
      write(Kind::hatched, snakes_[female], kMorning, Value::Object{{"count", 2}});
      for (int i = 1; i <= young; ++i) add_young(male, female, {*laying, i, i <= young - 2 ? date - 1 : date});
    });
  }

  /// One that hatched: of which laying, its number in the clutch, and the day.
  struct Hatchling {
    EventRef laying;
    std::int64_t number = 0;
    DayNumber hatched = 0;
  };
  void add_young(std::size_t male, std::size_t female, const Hatchling& hatchling) {
    const std::size_t number = ++young_;
    if (number > places_['N'].size()) return;
    Snake snake;
    snake.label =
        fmt::format("{}-{}-{}", date_text(hatchling.hatched).substr(2, 2), snakes_[female].label, hatchling.number);
    snake.female = dice_.chance(50);
    snake.young = true;
    snake.place = places_['N'][number - 1];
    snake.prey = "pinky";
    snake.least = 5;
    snake.most = 7;
    snake.tenths = dice_.between(60, 90);
    snake.refuses = dice_.chance(15) ? 60 : 10;
    AnimalOptions said;
    said.short_id = snake.label;
    said.species = "corn snake";
    said.hatched = date_text(hatchling.hatched);
    said.prey = snake.prey;
    Draft registered = animal_registration(young_code(hatchling.laying, hatchling.number), said);
    registered.own.set("young", young_mark(hatchling.laying, hatchling.number));
    registered.re = {{hatchling.laying, Relation::saw}};
    enter(snake, std::move(registered));
    snake.since = day_ + 1;
    snake.next_shed = day_ + dice_.between(7, 10);
    snake.next_meal = snake.next_shed + 3;
    snake.next_weighing = day_ + 14;
    state_parent(snake, "sire", snakes_[male]);
    state_parent(snake, "dam", snakes_[female]);
    const std::size_t index = snakes_.size();
    snakes_.push_back(snake);
    later(day_ + 20, [this, index](DayNumber) {
      const char* sex = snakes_[index].female ? "female" : "male";
      write(Kind::sexed, snakes_[index], kMorning, Value::Object{{"sex", sex}, {"how", "probed"}});
      write(Kind::edited, snakes_[index], kMorning + 60, Value::Object{{"set", Value::Object{{"sex", sex}}}});
    });
    if (dice_.chance(25)) later(day_ + dice_.between(75, 100), [this, index](DayNumber) { sell(index); });
  }

  void state_parent(const Snake& young, const char* role, const Snake& parent) {
    write(Kind::says, young, kMorning, Value::Object{{"basis", "parents"}, {"parent", role}, {"animal", parent.code}});
  }

  void sell(std::size_t index) {
    write(Kind::sold, snakes_[index], kEvening + 60);
    write(Kind::left, snakes_[index], kEvening + 120);
    snakes_[index].gone = true;
  }

  // ---- what goes wrong

  void plan_incidents() {
    // A weight with a digit too many, seen and corrected the next day.
    later(first_ + 200, [this](DayNumber day) {
      const std::size_t wrong =
          write(Kind::weighed, snakes_[3], kMorning, Value::Object{{"grams_tenths", snakes_[3].tenths * 10}});
      keep(wrong, [this, day](EventRef ref) {
        later(day + 1, [this, ref](DayNumber) {
          Draft taken_back = draft(Kind::voided, snakes_[3], kMorning);
          taken_back.re = {{ref, Relation::saw}};
          write(std::move(taken_back));
        });
      });
    });
    later(first_ + 120, [this](DayNumber) {
      write(Kind::died, snakes_[17], kMorning);
      snakes_[17].gone = true;
    });
    // As the veterinarian said; repeated once, the second repeat is still to come.
    for (const int ago : {10, 3}) {
      later(today_ - ago, [this](DayNumber) {
        write(Kind::treated, snakes_[8], kMorning, Value::Object{{"with", "as-prescribed"}, {"repeat_days", 7}});
      });
    }
    later(today_ - 40, [this](DayNumber) { snakes_[21].refuses = 100; });
    later(today_ - 20, [this](DayNumber) { add_newcomer(); });
  }

  void add_newcomer() {
    Snake snake;
    snake.label = "C-" + std::to_string(options_.adults + 1);
    snake.female = true;
    snake.place = places_['Q'][0];
    snake.prey = "adult-mouse";
    snake.tenths = 3600;
    snake.since = day_ + 3;
    AnimalOptions said;
    said.short_id = snake.label;
    said.species = "corn snake";
    said.sex = "female";
    said.hatched = "2023";
    said.prey = snake.prey;
    said.acquired = date_text(day_);
    said.supplier = "a fair";
    enter(snake, said);
    snakes_.push_back(snake);
  }

  Session& session_;
  DemoSeason options_;
  Dice dice_;
  Zone zone_;
  DayNumber today_ = 0, first_ = 0, day_ = 0;
  std::vector<Snake> snakes_;
  std::vector<std::string> helpers_;
  std::map<char, std::vector<std::string>> places_;
  std::map<DayNumber, std::vector<Deed>> deeds_;
  std::vector<Draft> drafts_;
  std::vector<EventRef> refs_;
  std::vector<std::pair<std::size_t, std::function<void(EventRef)>>> waiting_;
  std::size_t written_ = 0;
  std::size_t young_ = 0;
};

}  // namespace

void play_season(Session& session, const DemoSeason& options) {
  if (!session.reader().all("animal").empty())
    throw Error(
        Fault::bad_input,
        "This book holds animals already, and an invented year would be mixed with them. Take a book of its own: "
        "`rackside --book season.book init NAME`, then `rackside --book season.book demo season`.");
  Year year(session, options);
  year.play();
  if (session.json)
    return session.terminal.line(
        nlohmann::json{{"animals", year.animals()}, {"events", year.written()}, {"days", kDays}}.dump());
  session.terminal.good(fmt::format("An invented year: {} animals, 3 helpers, {} events. Nothing of it is real.",
                                    year.animals(), year.written()));
}

}  // namespace rackside::cli
