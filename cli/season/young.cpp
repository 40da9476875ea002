// young: what hatched becomes animals of the register.
#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <nlohmann/json.hpp>

#include "cli/print/hand_over.h"
#include "cli/register/fields.h"
#include "cli/season/season.h"
#include "cli/session.h"
#include "core/entry/corrections.h"
#include "core/read/young.h"

namespace rackside::cli {
namespace {

using namespace core;
using Json = nlohmann::json;

struct YoungOptions {
  std::string dam, laid, prefix, at, prey;
  int most = 0;
  bool group = false, dry_run = false;
  bool print = false;
  PrintOptions printing;
};

Clutch clutch_meant(Session& session, Reader& reader, const YoungOptions& options) {
  const Named dam = session.find_animal(options.dam);
  const std::vector<Clutch> all = clutches_of(reader, dam.thing, session.now());
  if (all.empty())
    throw Error(Fault::bad_input, dam.label + " has laid nothing by this book. Record it first: `rackside log laid " +
                                      dam.label + " 7+1`.");
  if (options.laid.empty()) return all.front();
  for (const Clutch& one : all)
    if (date_text(one.laid) == options.laid) return one;
  std::string days;
  for (const Clutch& one : all) days += (days.empty() ? "" : ", ") + date_text(one.laid);
  throw Error(Fault::unknown_code,
              "No clutch of " + dam.label + " was laid on " + options.laid + ". There are: " + days + ".");
}

/// Free places from a named one on, in walking order of its rack.
class Places {
 public:
  Places(Session& session, Reader& reader, const std::string& first) : now_(session.now()), reader_(reader) {
    if (first.empty()) return;
    const Named place = session.find_place(first);
    const auto rack = reader.rack_of(place.thing);
    const std::vector<Thing> all = rack ? reader.places_of(*rack) : std::vector<Thing>{place.thing};
    for (auto at = std::find(all.begin(), all.end(), place.thing); at != all.end(); ++at)
      if (reader_.homes_at(*at, now_).empty()) free_.push_back(*at);
    named_ = true;
  }
  void require(std::size_t count) const {
    if (named_ && free_.size() < count)
      throw Error(Fault::bad_input, fmt::format("{} young need as many free places; from there on are {}. Nothing was "
                                                "recorded: name another place, or register fewer with --most.",
                                                count, free_.size()));
  }
  std::optional<Thing> next() { return taken_ < free_.size() ? std::optional(free_[taken_++]) : std::nullopt; }

 private:
  Instant now_;
  Reader& reader_;
  std::vector<Thing> free_;
  std::size_t taken_ = 0;
  bool named_ = false;
};

class Nursery {
 public:
  Nursery(Session& session, Reader& reader, const YoungOptions& options)
      : session_(session), reader_(reader), options_(options), clutch_(clutch_meant(session, reader, options)) {
    prefix_ = options.prefix.empty() ? date_text(clutch_.laid).substr(2, 2) + "-" + clutch_.dam.label : options.prefix;
    missing_ = missing_young(clutch_, numbers_of_young(reader, clutch_));
    if (options.most > 0 && missing_.size() > static_cast<std::size_t>(options.most))
      missing_.resize(static_cast<std::size_t>(options.most));
    if (options.group) only_group();
  }

  const Clutch& clutch() const { return clutch_; }
  std::size_t count() const { return missing_.size(); }

  std::string short_of(const NewYoung& one) const {
    return options_.group ? prefix_ : fmt::format("{}-{}", prefix_, one.number);
  }
  std::vector<std::string> names() const {
    std::vector<std::string> out;
    for (const NewYoung& one : missing_) out.push_back(short_of(one));
    return out;
  }

  /// All of them in one transaction; returns their codes.
  std::vector<std::string> record() {
    Places places(session_, reader_, options_.at);
    places.require(missing_.size());
    std::vector<std::string> codes;
    for (const NewYoung& one : missing_) codes.push_back(add(one, places.next()));
    if (!options_.group) close_group();
    session_.record(std::move(drafts_));
    return codes;
  }

 private:
  void only_group() {
    if (clutch_.group || !clutch_.young.empty()) missing_.clear();
    if (missing_.empty()) return;
    group_count_ = static_cast<std::int64_t>(missing_.size());
    missing_.resize(1);
    missing_.front().number = 0;
  }

  std::string add(const NewYoung& one, std::optional<Thing> place) {
    const Code code = options_.group ? group_code(clutch_.laying) : young_code(clutch_.laying, one.number);
    refuse_known_short_id(session_, short_of(one));
    AnimalOptions fields{.short_id = short_of(one),
                         .species = reader_.field(clutch_.dam.thing, "species"),
                         .hatched = date_text(one.hatched),
                         .prey = options_.prey};
    Draft draft = animal_registration(code, fields);
    draft.own.set("young", young_mark(clutch_.laying, one.number));
    draft.re = {{clutch_.laying, Relation::saw}};
    if (options_.group) {
      Value set = *draft.own.find("set");
      set.set("count", group_count_);
      draft.own.set("set", std::move(set));
    }
    drafts_.push_back(std::move(draft));
    parent(code, "dam", clutch_.dam.code);
    for (const Thing sire : clutch_.sires)
      parent(code, clutch_.sires.size() == 1 ? "sire" : "possible-sire", reader_.named(sire).code);
    if (place) drafts_.push_back({.kind = Kind::moved, .of = {code.str()}, .place = reader_.named(*place).code});
    return code.str();
  }

  void parent(const Code& code, const char* what, const std::string& who) {
    drafts_.push_back({.kind = Kind::says,
                       .of = {code.str()},
                       .own = Value::Object{{"basis", "seen"}, {"parent", what}, {"animal", who}}});
  }

  /// Once its young are told apart the group is nobody any more.
  void close_group() {
    const bool all_told = static_cast<std::int64_t>(missing_.size() + clutch_.young.size()) >= clutch_.hatched;
    if (clutch_.group && all_told && !missing_.empty() && reader_.lives_here(clutch_.group->thing))
      drafts_.push_back({.kind = Kind::left,
                         .of = {clutch_.group->code},
                         .re = believed_occupancy(reader_, clutch_.group->thing, std::nullopt, session_.now())});
  }

  Session& session_;
  Reader& reader_;
  const YoungOptions& options_;
  Clutch clutch_;
  std::string prefix_;
  std::vector<NewYoung> missing_;
  std::int64_t group_count_ = 0;
  std::vector<Draft> drafts_;
};

std::string listed(const std::vector<std::string>& names) {
  constexpr std::size_t kShown = 6;
  std::string out;
  for (std::size_t i = 0; i < std::min(names.size(), kShown); ++i) out += (i == 0 ? "" : ", ") + names[i];
  return names.size() > kShown ? out + fmt::format(" … {}", names.back()) : out;
}

void tell_clutch(Session& session, const Clutch& clutch) {
  session.terminal.line(fmt::format("{}: {} hatched, {} young in the register{}.",
                                    session.terminal.strong(clutch_name(clutch)), clutch.hatched,
                                    clutch.young.size() + clutch.by_hand.size(), clutch.group ? ", and a group" : ""));
  if (clutch.hatched_in_doubt)
    session.terminal.warn(
        "How many hatched is a question (`rackside questions`): the larger number is believed until somebody settles "
        "it.");
  if (clutch.sires.size() > 1)
    session.terminal.line(session.terminal.faint(
        "Several males were with her: each is a possible sire. `rackside says YOUNG sire MALE` says which it was."));
}

void print_cards(Session& session, const YoungOptions& options, const std::vector<std::string>& codes) {
  Reader reader = session.reader();
  PrintWork work{labels::LabelKind::hatchling, {}, "hatchling cards", "hatchlings"};
  LabelDesk desk{.reader = reader, .host = options.printing.host, .now = session.now()};
  for (const std::string& code : codes)
    work.labels.push_back(
        {code, animal_label(desk, reader.named(*reader.thing_of(code)), labels::LabelKind::hatchling)});
  PrintOptions printing = options.printing;
  printing.to_printer = options.print;
  print_labels(session, printing, std::move(work));
}

void make_young(Session& session, const YoungOptions& options) {
  Reader reader = session.reader();
  Nursery nursery(session, reader, options);
  const std::vector<std::string> names = nursery.names();
  const bool recorded = !options.dry_run && !names.empty();
  const std::vector<std::string> codes = recorded ? nursery.record() : std::vector<std::string>{};
  if (session.json) {
    session.terminal.line(Json{
        {"dam", nursery.clutch().dam.label},
        {"laid", date_text(nursery.clutch().laid)},
        {"hatched", nursery.clutch().hatched},
        {"registered", codes.size()},
        {"young", names}}.dump());
  } else {
    tell_clutch(session, nursery.clutch());
    if (names.empty())
      session.terminal.good("Nothing is missing: every one that hatched by the book is registered.");
    else if (!recorded)
      session.terminal.good(fmt::format("A dry run: {} would be registered: {}.", names.size(), listed(names)));
    else
      session.terminal.good(fmt::format("{} registered: {}.", names.size(), session.terminal.name(listed(names))));
  }
  if (recorded && (options.print || !options.printing.out.empty())) print_cards(session, options, codes);
}

}  // namespace

void add_young_verb(CLI::App& app, Session& session) {
  auto options = std::make_shared<YoungOptions>();
  auto* verb = app.add_subcommand(
      "young", "Register what hatched from a clutch, each with parents, day and code; once, whoever does it");
  verb->add_option("dam", options->dam, "The dam, or her clutch box’s code")->required();
  verb->add_option("--laid", options->laid, "Which clutch, by its day (default: the newest)");
  verb->add_option("--prefix", options->prefix, "How their short IDs begin (default: the year and the dam, 26-C-3)");
  verb->add_option("--at", options->at,
                   "The first place they live at; the others follow in the walk, where it is free");
  verb->add_option("--prey", options->prey, "What they are fed");
  verb->add_option("--most", options->most, "Register at most so many now")->check(CLI::Range(1, 400));
  verb->add_flag("--group", options->group, "As one group, not yet told apart; `young` again tells them apart later");
  verb->add_flag("--dry-run", options->dry_run, "Only say what would be registered");
  verb->add_flag("--print", options->print, "Print their cards (low ones, for hatchling tubs)");
  verb->add_option("--out", options->printing.out, "Write their cards to this file instead");
  verb->add_option("--sheet", options->printing.sheet, "The sheet of labels; see `rackside label sheets`")
      ->capture_default_str();
  verb->add_option("--host", options->printing.host, "The hub’s address, for codes that a phone opens");
  verb->footer(
      "A young one’s code comes from its clutch and its egg’s number, so that two helpers who register the same "
      "hatching\n"
      "without a network make one animal, not twins.");
  verb->callback([&session, options] { make_young(session, *options); });
}

}  // namespace rackside::cli
