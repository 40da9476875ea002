// Animals from a keeper's table: what it says is held against the book, then written in one transaction.
#include "cli/register/import.h"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <nlohmann/json.hpp>
#include <regex>
#include <set>

#include "cli/label_source.h"
#include "cli/register/fields.h"
#include "cli/register/import_rows.h"
#include "core/genetics/said.h"

namespace rackside::cli {
namespace {

using namespace core;
using Json = nlohmann::json;

std::string lowered(std::string text) {
  std::transform(text.begin(), text.end(), text.begin(),
                 [](char c) { return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c; });
  return text;
}

/// "small rat" → "small-rat": how meals name prey.
std::string prey_word(const std::string& text) {
  std::string out = lowered(text);
  std::replace(out.begin(), out.end(), ' ', '-');
  return out;
}

/// "B-07" → "B" and 7; nothing for a place of another form.
std::optional<std::pair<std::string, int>> rack_and_position(const std::string& place) {
  static const std::regex form(R"((.*[^-])-(\d{1,3}))");
  std::smatch match;
  if (!std::regex_match(place, match, form)) return std::nullopt;
  const int position = std::stoi(match[2]);
  if (position < 1 || position > kMostPlaces) return std::nullopt;
  return std::pair(match[1].str(), position);
}

class Import {
 public:
  Import(Session& session, const ImportOptions& options, ImportedTable table)
      : session_(session), options_(options), reader_(session.reader()), table_(std::move(table)) {
    today_ = reader_.settings().zone.day_of(session.now());
  }

  /// What the book says against the table, beside what the table says against itself.
  void check() {
    if (options_.skip_known)
      skipped_ = std::erase_if(table_.animals, [&](const ImportedAnimal& one) { return known_animal(one.short_id); });
    for (const ImportedAnimal& one : table_.animals) by_short_.emplace(lowered(one.short_id), &one);
    if (options_.make_racks) plan_racks();
    for (const ImportedAnimal& one : table_.animals) {
      check_name(one);
      check_place(one);
      check_parent(one, one.sire, "sire");
      check_parent(one, one.dam, "dam");
      check_partner(one);
    }
    std::stable_sort(table_.problems.begin(), table_.problems.end(),
                     [](const Problem& a, const Problem& b) { return a.line < b.line; });
  }

  std::size_t faults() const { return count(false); }
  std::size_t doubts() const { return count(true); }
  const ImportedTable& table() const { return table_; }
  std::size_t skipped() const { return skipped_; }
  std::size_t new_racks() const { return racks_.size(); }

  /// Writes all of it; returns the import's id. Requires that no fault stands.
  std::string write() {
    make_racks();
    for (const ImportedAnimal& one : table_.animals)
      codes_[lowered(one.short_id)] = session_.new_code(CodeKind::animal).str();
    for (const ImportedAnimal& one : table_.animals) add_animal(one);
    for (const ImportedAnimal& one : table_.animals) add_pairing(one);
    const std::string id = to_hex(random_array<2>());
    std::vector<Draft> all{setting(kImportPrefix + id, Value::Object{{"file", mend_text(options_.path)},
                                                                     {"animals", size_of(table_.animals)},
                                                                     {"events", size_of(drafts_)}})};
    std::move(drafts_.begin(), drafts_.end(), std::back_inserter(all));
    if (!options_.map.empty()) all.push_back(setting(kColumnsSetting, columns_value()));
    events_ = all.size();
    session_.record(std::move(all));
    return id;
  }
  std::size_t events() const { return events_; }

 private:
  template <typename List>
  static std::int64_t size_of(const List& list) {
    return static_cast<std::int64_t>(list.size());
  }

  std::size_t count(bool doubt) const {
    return static_cast<std::size_t>(std::count_if(table_.problems.begin(), table_.problems.end(),
                                                  [&](const Problem& one) { return one.doubt == doubt; }));
  }

  void fault(const ImportedAnimal& one, const std::string& text) { table_.problems.push_back({one.line, text, false}); }
  void doubt(const ImportedAnimal& one, const std::string& text) { table_.problems.push_back({one.line, text, true}); }

  std::optional<Named> in_book(const std::string& text, std::string_view kind) {
    for (const Named& named : reader_.with_short_id(text))
      if (named.kind == kind) return named;
    const CodeReading code = read_code(text);
    const auto thing = code.code ? reader_.thing_of(code.code->text()) : std::nullopt;
    if (thing && reader_.named(*thing).kind == kind) return reader_.named(*thing);
    return std::nullopt;
  }
  bool known_animal(const std::string& text) { return !text.empty() && in_book(text, "animal").has_value(); }

  // ---- checks

  void check_name(const ImportedAnimal& one) {
    const auto known = one.short_id.empty() ? std::vector<Named>{} : reader_.with_short_id(one.short_id);
    if (!known.empty())
      fault(one, fmt::format("“{}” is already the short ID of a {} in the book{}", one.short_id, known.front().kind,
                             known.front().kind == "animal" ? "; --skip-known leaves such lines out" : ""));
  }

  void check_place(const ImportedAnimal& one) {
    if (one.place.empty() || !one.is_here()) return;
    const auto [first, fresh] = at_place_.emplace(lowered(one.place), one.line);
    if (!fresh)
      doubt(one, fmt::format("{} lives at {}, and so does the animal of line {}: snakes eat snakes", one.short_id,
                             one.place, first->second));
    if (const auto place = in_book(one.place, "place")) {
      for (const Lodging& home : reader_.homes_at(place->thing, session_.now()))
        doubt(one, fmt::format("at {} lives {} by the book: snakes eat snakes", one.place, reader_.label(home.animal)));
      return;
    }
    const auto parts = rack_and_position(one.place);
    if (parts && racks_.contains(lowered(parts->first))) return;
    fault(one, fmt::format("the book knows no place “{}”{}", one.place,
                           !parts                          ? ""
                           : in_book(parts->first, "rack") ? ": its rack has fewer places"
                           : options_.make_racks           ? ""
                                                           : ". `rackside rack add " + parts->first +
                                                       " --places N` makes its rack; --make-racks makes all"));
  }

  void check_parent(const ImportedAnimal& one, const std::string& parent, std::string_view what) {
    if (parent.empty()) return;
    if (lowered(parent) == lowered(one.short_id)) return fault(one, fmt::format("it would be its own {}", what));
    const auto row = by_short_.find(lowered(parent));
    const auto known = row == by_short_.end() ? in_book(parent, "animal") : std::nullopt;
    if (row == by_short_.end() && !known)
      return fault(one,
                   fmt::format("its {} “{}” is neither in the table nor in the book. Give it a line of its own (with "
                               "`left` where it is not here), or empty the cell",
                               what, parent));
    const std::string sex = known ? reader_.field(known->thing, "sex") : row->second->sex;
    if (sex == (what == "sire" ? "female" : "male")) doubt(one, fmt::format("its {} {} is a {}", what, parent, sex));
    if (!known && one.hatched && row->second->hatched && row->second->hatched->first() > one.hatched->last())
      doubt(one, fmt::format("its {} {} hatched after it ({} and {})", what, parent, row->second->hatched->text(),
                             one.hatched->text()));
  }

  std::string sex_of(const std::string& text) {
    const auto row = by_short_.find(lowered(text));
    if (row != by_short_.end()) return row->second->sex;
    const auto known = in_book(text, "animal");
    return known ? reader_.field(known->thing, "sex") : std::string();
  }

  /// The female's tub is where they are; where no sex is known, the row's own animal is the visitor.
  bool is_visitor(const ImportedAnimal& one) {
    return one.sex == "male" || (one.sex != "female" && sex_of(one.with) != "male");
  }

  std::string place_code_of_home(const std::string& text) {
    const auto row = by_short_.find(lowered(text));
    if (row != by_short_.end()) return row->second->place;
    const auto known = in_book(text, "animal");
    if (!known) return {};
    for (const Lodging& home : reader_.lodgings_of(known->thing, session_.now()))
      if (home.role == Stay::Role::home) return reader_.named(home.place).code;
    return {};
  }

  void check_partner(const ImportedAnimal& one) {
    if (one.with.empty()) return;
    if (lowered(one.with) == lowered(one.short_id)) return fault(one, "it would be paired with itself");
    if (!by_short_.contains(lowered(one.with)) && !known_animal(one.with))
      return fault(one, fmt::format("its partner “{}” is neither in the table nor in the book", one.with));
    if (!one.is_here()) return fault(one, "a pairing is open, and it is not here any more");
    if (!one.sex.empty() && one.sex != "unknown" && one.sex == sex_of(one.with))
      doubt(one, fmt::format("it is paired with {}, and both are {}", one.with, one.sex));
    const std::string host = is_visitor(one) ? one.with : one.short_id;
    if (place_code_of_home(host).empty())
      fault(one, fmt::format("the pairing is open, and {} has no place: they are in whose tub?", host));
  }

  // ---- racks that are made

  void plan_racks() {
    for (const ImportedAnimal& one : table_.animals) {
      const auto parts = rack_and_position(one.place);
      if (!parts || in_book(one.place, "place") || in_book(parts->first, "rack")) continue;
      const auto [rack, fresh] = racks_.emplace(lowered(parts->first), std::pair(parts->first, 0));
      rack->second.second = std::max(rack->second.second, parts->second);
    }
  }

  void make_racks() {
    int walk = static_cast<int>(reader_.racks().size());
    std::vector<std::pair<std::string, int>> wanted;
    for (const auto& [key, rack] : racks_) wanted.push_back(rack);
    std::sort(wanted.begin(), wanted.end(),
              [](const auto& a, const auto& b) { return compare_naturally(a.first, b.first) < 0; });
    for (const auto& [name, places] : wanted) {
      const NewRack rack = new_rack(session_, {.name = name, .places = places, .walk = ++walk});
      drafts_.insert(drafts_.end(), rack.drafts.begin(), rack.drafts.end());
      for (std::size_t i = 0; i < rack.places.size(); ++i)
        made_places_[{lowered(name), static_cast<int>(i) + 1}] = rack.places[i].second;
    }
  }

  std::string place_code(const std::string& text) {
    if (const auto place = in_book(text, "place")) return place->code;
    const auto parts = rack_and_position(text);
    return parts ? made_places_.at({lowered(parts->first), parts->second}) : std::string();
  }

  // ---- what is written

  static Draft setting(const std::string& key, Value value) {
    return {.kind = Kind::set, .own = Value::Object{{"key", key}, {"value", std::move(value)}}};
  }

  Value columns_value() const {
    Value::Array pairs;
    for (const ColumnPlan::Column& one : table_.columns.columns) {
      if (one.why != "you said so" && one.why != "you said so before") continue;
      pairs.emplace_back(
          Value::Array{mend_text(one.heading), one.field ? std::string(info_of(*one.field).word) : std::string("-")});
    }
    return pairs;
  }

  std::optional<SaidTime> on(std::optional<DayNumber> day) const {
    if (!day || *day >= today_) return std::nullopt;
    return SaidTime{.day = *day};
  }

  void add(Kind kind, const std::string& code, std::optional<DayNumber> day, Value own = {}) {
    drafts_.push_back({.kind = kind, .of = {code}, .said = on(day), .own = std::move(own)});
  }

  void add_animal(const ImportedAnimal& one) {
    const std::string code = codes_.at(lowered(one.short_id));
    AnimalOptions fields{.short_id = one.short_id,
                         .name = one.name,
                         .species = one.species,
                         .sex = one.sex,
                         .prey = one.prey,
                         .every = one.every,
                         .supplier = one.supplier};
    if (one.hatched) fields.hatched = one.hatched->text();
    if (one.acquired) fields.acquired = one.acquired->text();
    drafts_.push_back(animal_registration(*read_code(code).code, fields));
    if (!one.place.empty() && one.is_here()) {
      const std::string place = place_code(one.place);
      const auto thing = reader_.thing_of(place);
      drafts_.push_back({.kind = Kind::moved,
                         .of = {code},
                         .place = place,
                         .said = on(home_since(one)),
                         .re = thing ? believed_occupancy(reader_, 0, *thing, session_.now()) : std::vector<Answer>{}});
    }
    add_statements(one, code);
    add_facts(one, code);
  }

  /// A home that is younger than an open visit would end it: where a pairing is open, both lived there the day before.
  std::optional<DayNumber> home_since(const ImportedAnimal& one) const {
    std::optional<DayNumber> since = one.paired;
    for (const ImportedAnimal& other : table_.animals) {
      if (other.paired && lowered(other.with) == lowered(one.short_id))
        since = std::min(since.value_or(*other.paired), *other.paired);
    }
    return since ? std::optional(*since - 1) : std::nullopt;
  }

  void add_statements(const ImportedAnimal& one, const std::string& code) {
    for (Value gene : one.genes) {
      gene.set("basis", options_.basis);
      add(Kind::says, code, std::nullopt, std::move(gene));
    }
    const auto parent = [&](const std::string& text, const char* what) {
      if (text.empty()) return;
      const auto row = codes_.find(lowered(text));
      const std::string parent_code = row != codes_.end() ? row->second : in_book(text, "animal")->code;
      add(Kind::says, code, std::nullopt,
          Value::Object{{"basis", options_.basis}, {"parent", what}, {"animal", parent_code}});
    };
    parent(one.sire, "sire");
    parent(one.dam, "dam");
  }

  void add_facts(const ImportedAnimal& one, const std::string& code) {
    if (one.last_meal) {
      const std::string prey = one.last_prey.empty() ? one.prey : one.last_prey;
      add(Kind::fed, code, one.last_meal,
          prey.empty() ? Value()
                       : Value(Value::Object{{"items", Value::Array{Value::Object{{"prey", prey_word(prey)}}}}}));
    }
    if (one.grams_tenths) add(Kind::weighed, code, one.weighed, Value::Object{{"grams_tenths", *one.grams_tenths}});
    if (one.is_gravid) add(Kind::gravid, code, one.gravid);
    if (one.laid)
      add(Kind::laid, code, one.laid,
          one.good ? Value(Value::Object{{"good", *one.good}, {"slugs", *one.slugs}}) : Value());
    if (!one.remedy.empty()) add(Kind::treated, code, one.treated_on, Value::Object{{"with", one.remedy}});
    if (one.is_held) add(Kind::held, code, std::nullopt);
    if (one.sold) add(Kind::sold, code, one.sold);
    if (one.left) add(Kind::left, code, one.left);
    if (one.died) add(Kind::died, code, one.died);
    if (!one.note.empty()) {
      add(Kind::noted, code, std::nullopt);
      drafts_.back().text = write_compact(Value::Object{{"note", one.note}});
    }
  }

  /// Once a pair, also where both rows tell of it.
  void add_pairing(const ImportedAnimal& one) {
    if (one.with.empty()) return;
    const bool visits = is_visitor(one);
    const std::string& visitor = visits ? one.short_id : one.with;
    const std::string& host = visits ? one.with : one.short_id;
    if (!paired_.emplace(lowered(visitor), lowered(host)).second) return;
    const auto code = [&](const std::string& text) {
      const auto row = codes_.find(lowered(text));
      return row != codes_.end() ? row->second : in_book(text, "animal")->code;
    };
    drafts_.push_back({.kind = Kind::paired,
                       .of = {code(visitor), code(host)},
                       .place = place_code(place_code_of_home(host)),
                       .said = on(one.paired)});
  }

  Session& session_;
  const ImportOptions& options_;
  Reader reader_;
  ImportedTable table_;
  DayNumber today_ = 0;
  std::size_t skipped_ = 0, events_ = 0;
  std::map<std::string, const ImportedAnimal*> by_short_;
  std::map<std::string, std::size_t> at_place_;
  std::map<std::string, std::pair<std::string, int>> racks_;  ///< to be made: name and places
  std::map<std::pair<std::string, int>, std::string> made_places_;
  std::map<std::string, std::string> codes_;
  std::set<std::pair<std::string, std::string>> paired_;
  std::vector<Draft> drafts_;
};

// ---- what is told

ColumnWishes wishes_of(const std::vector<std::string>& map) {
  ColumnWishes out;
  for (const std::string& one : map) {
    const auto sign = one.rfind('=');
    if (sign == std::string::npos || sign == 0)
      throw bad_value("--map “" + one +
                      "” is no mapping: write --map \"HEADING=field\", or \"HEADING=-\" to leave it out.");
    out[one.substr(0, sign)] = one.substr(sign + 1);
  }
  return out;
}

ColumnWishes saved_wishes(Reader& reader) {
  ColumnWishes out;
  const Value saved = parse_strict(reader.setting(kColumnsSetting)).value;
  if (!saved.as_array()) return out;
  for (const Value& pair : *saved.as_array()) {
    const auto* two = pair.as_array();
    if (two && two->size() == 2 && (*two)[0].as_string() && (*two)[1].as_string())
      out[*(*two)[0].as_string()] = *(*two)[1].as_string();
  }
  return out;
}

std::string separator_word(char separator) {
  return separator == ',' ? "commas" : separator == ';' ? "semicolons" : separator == '\t' ? "tabs" : "bars";
}

std::string order_text(DateOrder order) {
  return order == DateOrder::day_first     ? ", dates with the day first"
         : order == DateOrder::month_first ? ", dates with the month first"
                                           : "";
}

void show_table(Session& session, const Import& import) {
  const Terminal& out = session.terminal;
  const ImportedTable& table = import.table();
  out.line(fmt::format("{} line{} in {}, cells separated by {}{}.", table.animals.size(),
                       table.animals.size() == 1 ? "" : "s", table.encoding, separator_word(table.separator),
                       order_text(table.order)));
  std::vector<std::vector<std::string>> rows;
  for (const ColumnPlan::Column& one : table.columns.columns)
    rows.push_back({"  " + one.heading, "→",
                    one.field      ? out.strong(info_of(*one.field).word)
                    : one.left_out ? out.faint("left out")
                                   : out.styled(Terminal::Style::bad, "?"),
                    out.faint(one.why)});
  out.table(rows);
}

void show_problems(Session& session, const Import& import) {
  std::vector<std::vector<std::string>> rows;
  for (const Problem& one : import.table().problems)
    rows.push_back({fmt::format("line {}", one.line),
                    session.terminal.styled(one.doubt ? Terminal::Style::warn : Terminal::Style::bad,
                                            one.doubt ? "! asks" : "✗ wrong"),
                    one.text + "."});
  if (!rows.empty()) session.terminal.heading("Line by line");
  session.terminal.table(rows);
}

Json as_json(const Import& import) {
  Json columns = Json::array();
  for (const ColumnPlan::Column& one : import.table().columns.columns)
    columns.push_back(
        {{"heading", one.heading}, {"field", one.field ? info_of(*one.field).word : ""}, {"why", one.why}});
  Json problems = Json::array();
  for (const Problem& one : import.table().problems)
    problems.push_back({{"line", one.line}, {"text", one.text}, {"asks", one.doubt}});
  return {{"animals", import.table().animals.size()},
          {"encoding", import.table().encoding},
          {"columns", columns},
          {"problems", problems}};
}

std::string counted(std::size_t count, const std::string& one) {
  return fmt::format("{} {}{}", count, one, count == 1 ? "" : "s");
}

[[noreturn]] void refuse(const Import& import) {
  std::string what;
  if (import.faults() > 0) what = counted(import.faults(), "thing") + " wrong";
  if (import.doubts() > 0)
    what +=
        (what.empty() ? "" : " and ") + counted(import.doubts(), "doubt") + " (--even-so takes doubts as they stand)";
  throw Error(Fault::bad_input, "The table has " + what + ". Nothing was recorded: mend it, and import it again.");
}

DateOrder order_wished(const std::string& text) {
  if (text.empty()) return DateOrder::unsettled;
  if (text == "day-first") return DateOrder::day_first;
  if (text == "month-first") return DateOrder::month_first;
  throw bad_value("--dates is day-first or month-first.");
}

}  // namespace

void import_animals(Session& session, const ImportOptions& options) {
  const auto bases = genetics::bases();
  if (std::find(bases.begin(), bases.end(), options.basis) == bases.end())
    throw bad_value("--basis is one of seen, bought, parents, proven, lab, unknown.");
  Reader reader = session.reader();
  TableWishes wishes{.now = wishes_of(options.map),
                     .before = saved_wishes(reader),
                     .order = order_wished(options.dates),
                     .today = reader.settings().zone.day_of(session.now())};
  Import import(session, options, read_animals(read_file(options.path), wishes));
  import.check();
  const bool refused = import.faults() > 0 || (import.doubts() > 0 && !options.even_so);
  const bool written = !refused && !options.dry_run;
  const std::string id = written ? import.write() : std::string();
  if (session.json) {
    Json out = as_json(import);
    out["recorded"] = written;
    if (written) out["import"] = id;
    session.terminal.line(out.dump(-1, ' ', false, Json::error_handler_t::replace));
  } else {
    show_table(session, import);
    show_problems(session, import);
    if (import.skipped() > 0)
      session.terminal.line(fmt::format("{} left out: the book has them already.", counted(import.skipped(), "line")));
  }
  if (refused) refuse(import);
  if (session.json) return;
  const std::string what = counted(import.table().animals.size(), "animal") +
                           (import.new_racks() > 0 ? ", " + counted(import.new_racks(), "new rack") : "");
  if (!written) return session.terminal.good("A dry run: " + what + " would be registered. Nothing was recorded.");
  session.terminal.good(fmt::format("{} registered, {} entries. `rackside import undo {}` takes all of it back.", what,
                                    import.events(), id));
}

}  // namespace rackside::cli
