#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <nlohmann/json.hpp>

#include "cli/backup.h"
#include "cli/care/sheet.h"
#include "cli/session.h"
#include "cli/story/story.h"
#include "cli/verbs.h"
#include "cli/wording.h"
#include "core/book/page_cache.h"
#include "core/read/today.h"

namespace rackside::cli {
namespace {

using namespace core;
using Json = nlohmann::json;
using Style = Terminal::Style;

/// What is due, most urgent first, as a sign and a colour: never by colour alone.
std::string due_sign(const Terminal& terminal, Due due) {
  const std::string word(word_of(due));
  if (due == Due::check_tub || due == Due::two_in_tub) return terminal.styled(Style::bad, "? " + word);
  if (due == Due::overdue || info_of(due).is_sign) return terminal.styled(Style::warn, "! " + word);
  if (due == Due::open_offer) return terminal.styled(Style::name, "… " + word);
  return "• " + word;
}

/// Why, with the animal's own code where a command wants one.
std::string why_of(const DueLine& due, const std::string& label) {
  constexpr std::string_view kCode = " CODE`";
  std::string out = due.why;
  const auto at = out.find(kCode);
  return at == std::string::npos ? out : out.replace(at, kCode.size(), " " + label + "`");
}

// ---- list

std::string where_text(Reader& reader, Thing animal, Instant now) {
  const auto lodgings = reader.lodgings_of(animal, now);
  if (lodgings.empty()) return "nowhere";
  std::string text = reader.label(lodgings.front().place);
  if (lodgings.front().role == Stay::Role::visiting && lodgings.front().partner)
    text += " with " + reader.label(*lodgings.front().partner);
  return text;
}

void list_animals(Session& session, Reader& reader) {
  std::vector<std::vector<std::string>> rows;
  int counts[3] = {0, 0, 0};
  Json all = Json::array();
  for (const Named& animal : reader.all("animal")) {
    const auto fields = reader.fields(animal.thing);
    const auto get = [&](const char* name) { return fields.contains(name) ? fields.at(name) : std::string(); };
    const std::string where = where_text(reader, animal.thing, session.now());
    ++counts[get("sex") == "male" ? 0 : get("sex") == "female" ? 1 : 2];
    const GeneLines genes = gene_lines(reader, animal.thing);
    if (session.json) {
      Json one = {{"code", animal.code},
                  {"short", animal.label},
                  {"place", where},
                  {"genes", genes.certain},
                  {"possible_genes", genes.possible}};
      for (const auto& [name, value] : fields) one["fields"][name] = value;
      all.push_back(one);
    }
    rows.push_back({session.terminal.name(animal.label), sex_sign(get("sex")), where, get("species"), genes.certain,
                    session.terminal.faint(genes.possible)});
  }
  if (session.json) return session.terminal.line(all.dump());
  session.terminal.table(rows);
  session.terminal.line();
  session.terminal.line(
      fmt::format("{} animals, {} (males.females.unsexed)", rows.size(), trade_count(counts[0], counts[1], counts[2])));
}

void list_racks(Session& session, Reader& reader) {
  Json all = Json::array();
  for (const Named& rack : reader.racks()) {
    std::vector<std::vector<std::string>> rows;
    Json places = Json::array();
    for (Thing place : reader.places_of(rack.thing)) {
      std::string who;
      for (const Lodging& lodging : reader.found_at(place, session.now()))
        who += (who.empty() ? "" : " and ") + reader.label(lodging.animal);
      places.push_back({{"code", reader.named(place).code}, {"short", reader.label(place)}, {"found", who}});
      rows.push_back({reader.label(place), who.empty() ? session.terminal.faint("empty") : session.terminal.name(who)});
    }
    all.push_back({{"code", rack.code}, {"short", rack.label}, {"places", places}});
    if (session.json) continue;
    session.terminal.heading("Rack " + rack.label);
    session.terminal.table(rows);
  }
  if (session.json) session.terminal.line(all.dump());
}

void list_kind(Session& session, const std::string& kind) {
  Reader reader = session.reader();
  if (kind == "animals") return list_animals(session, reader);
  if (kind == "racks" || kind == "places") return list_racks(session, reader);
  Json all = Json::array();
  for (const Named& helper : reader.all("helper")) {
    all.push_back({{"code", helper.code}, {"name", helper.label}});
    if (!session.json) session.terminal.table({{session.terminal.name(helper.label), helper.code}});
  }
  if (session.json) session.terminal.line(all.dump());
}

// ---- show and history

void show_due(Session& session, Reader& reader, Thing animal) {
  for (const DueLine& line : due_at_tub(reader, animal, session.now())) {
    session.terminal.line("  " + due_sign(session.terminal, line.due) + "  " + why_of(line, reader.label(animal)));
  }
}

void show_animal(Session& session, Reader& reader, const Named& animal) {
  const auto fields = reader.fields(animal.thing);
  const auto get = [&](const char* name) { return fields.contains(name) ? fields.at(name) : std::string(); };
  const Terminal& out = session.terminal;
  out.line();
  out.line(out.name(animal.label) + "  " + sex_sign(get("sex")) + (get("name").empty() ? "" : "  " + get("name")) +
           "  at " + out.strong(where_text(reader, animal.thing, session.now())));
  const GeneLines genes = gene_lines(reader, animal.thing);
  if (!get("species").empty() || !get("hatched").empty())
    out.line("  " + get("species") + (get("hatched").empty() ? "" : ", hatched " + get("hatched")));
  if (!genes.certain.empty()) out.line("  carries   " + genes.certain);
  if (!genes.possible.empty()) out.line("  possible  " + genes.possible);
  const auto nights = reader.nights(animal.thing, 1);
  if (!nights.empty())
    out.line(fmt::format("  last night with food: {} ({}{})", session.when(nights[0].last_at), nights[0].outcome,
                         nights[0].prey.empty() ? "" : ", " + nights[0].prey));
  show_due(session, reader, animal.thing);
  for (const auto& [name, value] : fields) {
    for (const std::string& other : reader.other_values(animal.thing, name))
      out.warn(fmt::format("{}: another device says “{}”; “{}” is believed.", name, other, value));
  }
  out.line(out.faint("  code " + animal.code));
}

Json due_json(Reader& reader, Thing animal, Instant now) {
  Json due = Json::array();
  for (const DueLine& line : due_at_tub(reader, animal, now))
    due.push_back({{"due", word_of(line.due)}, {"days", line.days}, {"why", line.why}});
  return due;
}

void show(Session& session, const std::string& text, const StoryOptions& options) {
  const Named named = session.find(text);
  Reader reader = session.reader();
  const bool writes = !options.svg.empty() || !options.page.empty();
  if (writes && named.kind != "animal")
    throw Error(Fault::usage, named.label + " is a " + named.kind + ": a story is of an animal.");
  if (session.json) {
    Json one = {{"code", named.code}, {"kind", named.kind}, {"label", named.label}};
    for (const auto& [name, value] : reader.fields(named.thing)) one["fields"][name] = value;
    if (named.kind == "animal") {
      if (writes) write_story(session, reader, life_of(reader, named, session.now()), options);
      one["story"] = life_json(life_of(reader, named, session.now()));
      one["place"] = where_text(reader, named.thing, session.now());
      one["due"] = due_json(reader, named.thing, session.now());
    }
    return session.terminal.line(one.dump());
  }
  if (named.kind == "animal") {
    const Life life = life_of(reader, named, session.now());
    if (writes) return write_story(session, reader, life, options);
    show_animal(session, reader, named);
    return tell_life(session, reader, life, options.plain);
  }
  session.terminal.line(session.terminal.name(named.label) + "  " +
                        (named.kind.empty() ? "not registered" : named.kind) + "  " +
                        session.terminal.faint(named.code));
  if (named.kind != "place") return;
  const auto found = reader.found_at(named.thing, session.now());
  if (found.empty()) session.terminal.line("  empty");
  for (const Lodging& lodging : found) show_animal(session, reader, reader.named(lodging.animal));
  for (const Lodging& home : reader.homes_at(named.thing, session.now())) {
    const bool here =
        std::any_of(found.begin(), found.end(), [&](const Lodging& one) { return one.animal == home.animal; });
    if (!here)
      session.terminal.line("  reserved for " + session.terminal.name(reader.label(home.animal)) + ", who is at " +
                            where_text(reader, home.animal, session.now()));
  }
}

void history(Session& session, const std::string& text, int limit) {
  const Named named = session.find(text);
  Reader reader = session.reader();
  std::vector<std::vector<std::string>> rows;
  Json all = Json::array();
  for (const StoryLine& line : reader.story(named.thing, limit)) {
    const std::string id = to_hex(line.ref.hash).substr(0, 8);
    std::string what = sentence_of(reader, line);
    std::string state = line.gone ? "withdrawn" : line.disputed ? "withdrawal disputed" : !line.read ? "not read" : "";
    if (session.json) {
      all.push_back({{"id", id},
                     {"ref", to_text(line.ref)},
                     {"kind", line.kind_name},
                     {"at_ms", line.at},
                     {"sure", line.sure},
                     {"device_clock_ms", line.event->clock.wall_ms},
                     {"by", line.by},
                     {"what", what},
                     {"state", state},
                     {"note", line.note}});
      continue;
    }
    if (!line.note.empty()) what += ": " + line.note;
    if (const std::string correction = correction_text(line); !correction.empty())
      what += "  " + session.terminal.faint(correction);
    if (line.gone) what = session.terminal.faint(what);
    if (!state.empty()) what += "  " + session.terminal.styled(Style::warn, state);
    rows.push_back({session.terminal.faint(id), session.when(line.at) + (line.sure ? "" : " ~"), line.by, what});
  }
  if (session.json) return session.terminal.line(all.dump());
  session.terminal.heading(named.label + ": what was recorded, newest first");
  session.terminal.table(rows);
  if (std::any_of(rows.begin(), rows.end(), [](const auto& row) { return row[1].ends_with("~"); }))
    session.terminal.line(session.terminal.faint("~ the clock behind this time was not checked yet"));
}

// ---- today

std::string count_text(const SexCount& count) {
  return trade_count(count.males, count.females, count.unsexed);
}

std::size_t count_of(const Today& today, Meal state) {
  const auto found = today.meals.find(state);
  return found == today.meals.end() ? 0 : found->second;
}

Json today_json(const Today& today) {
  Json racks = Json::array();
  for (const TodayRack& rack : today.racks) {
    Json lines = Json::array();
    for (const TodayLine& line : rack.lines) {
      lines.push_back({{"animal", line.animal.code},
                       {"short", line.animal.label},
                       {"place", line.place ? line.place->spot.label : ""},
                       {"due", word_of(line.due.due)},
                       {"days", line.due.days},
                       {"why", line.due.why},
                       {"prey", line.prey},
                       {"resting", line.resting}});
    }
    racks.push_back({{"rack", rack.rack ? rack.rack->label : ""},
                     {"quarantine", rack.quarantine},
                     {"count", count_text(rack.count)},
                     {"lines", lines}});
  }
  return {{"night", date_text(today.night)},
          {"animals", today.animals},
          {"count", count_text(today.sexes)},
          {"resting", today.resting.size()},
          {"fasting", count_of(today, Meal::fasts)},
          {"opaque", count_of(today, Meal::opaque)},
          {"racks", racks}};
}

/// What is not on the list, and why.
std::string quiet_text(const Today& today) {
  std::string out;
  const auto add = [&](std::size_t count, const char* what) {
    if (count > 0) out += (out.empty() ? "" : ", ") + fmt::format("{} {}", count, what);
  };
  add(count_of(today, Meal::early), "not due yet");
  add(count_of(today, Meal::opaque), "opaque");
  add(count_of(today, Meal::fasts), "fasting on purpose");
  add(count_of(today, Meal::gravid), "gravid and not fed");
  return out;
}

std::string summary_of(const Today& today) {
  std::string out;
  const auto add = [&](std::size_t count, const std::string& one, const std::string& several) {
    if (count > 0) out += (out.empty() ? "" : "   ") + fmt::format("{} {}", count, count == 1 ? one : several);
  };
  add(today.count(Due::food) + today.count(Due::overdue), "to feed", "to feed");
  add(today.count(Due::open_offer), "open offer", "open offers");
  add(today.count(Due::check_tub) + today.count(Due::two_in_tub), "tub to check", "tubs to check");
  add(today.count(Due::leave_alone), "to leave alone", "to leave alone");
  add(today.count(Due::off_feed), "off feed", "off feed");
  add(today.count(Due::separate), "to separate", "to separate");
  add(today.count(Due::rotate), "male to move", "males to move");
  add(today.count(Due::eggs), "female to lay", "females to lay");
  add(today.count(Due::hatching), "clutch to hatch", "clutches to hatch");
  add(today.count(Due::dose), "dose due", "doses due");
  add(today.count(Due::ill) + today.count(Due::weight_loss), "looks unwell or lost weight",
      "look unwell or lost weight");
  add(today.count(Due::look_again), "hatchling to look at again", "hatchlings to look at again");
  add(today.count(Due::stuck_shed) + today.count(Due::shed_late), "shed to look at", "sheds to look at");
  add(today.count(Due::unseen), "not seen for long", "not seen for long");
  return out.empty() ? "nothing is due" : out;
}

/// Who rests after a meal: all of a few, else the first ones and how to see all.
std::string resting_text(std::vector<Named> all) {
  constexpr std::size_t kFew = 8;
  const std::size_t shown = all.size() <= kFew ? all.size() : kFew - 2;
  std::partial_sort(all.begin(), all.begin() + static_cast<std::ptrdiff_t>(shown), all.end(), is_named_before);
  std::string who;
  for (std::size_t i = 0; i < shown; ++i) who += (i == 0 ? "" : ", ") + all[i].label;
  if (shown < all.size()) who += fmt::format(" and {} more (`rackside today --resting`)", all.size() - shown);
  return fmt::format("{} ate lately and rest{}: do not pair, weigh, move or ship {}", all.size(),
                     all.size() == 1 ? "s" : "", who);
}

void tell_resting(Session& session) {
  Reader reader = session.reader();
  std::vector<Named> all = today_list(reader, session.now()).resting;
  std::sort(all.begin(), all.end(), is_named_before);
  Json list = Json::array();
  std::vector<std::vector<std::string>> rows;
  for (const Named& one : all) {
    const std::string where = where_text(reader, one.thing, session.now());
    list.push_back({{"animal", one.code}, {"short", one.label}, {"place", where}});
    rows.push_back({where, session.terminal.name(one.label)});
  }
  if (session.json) return session.terminal.line(list.dump());
  if (all.empty()) return session.terminal.good("Nobody ate so lately that it must rest.");
  session.terminal.heading("Ate lately and rest: do not pair, weigh, move or ship");
  session.terminal.table(rows);
}

/// What the signs before the words mean, of those that stand on the list.
std::string legend_of(const Today& today) {
  bool due = false;
  bool sign = false;
  for (const TodayRack& rack : today.racks) {
    for (const TodayLine& line : rack.lines) {
      const bool is_sign = line.due.due == Due::overdue || info_of(line.due.due).is_sign;
      sign = sign || is_sign;
      due = due || !is_sign;
    }
  }
  std::string out;
  const auto add = [&](bool wanted, const char* what) {
    if (wanted) out += (out.empty() ? "" : "   ") + std::string(what);
  };
  add(due, "• due");
  add(today.count(Due::open_offer) > 0, "… food waits in the tub");
  add(sign, "! look at it, or late");
  add(today.count(Due::check_tub) + today.count(Due::two_in_tub) > 0, "? accounts disagree: look and say");
  return out;
}

void today(Session& session, const std::string& only) {
  std::optional<Named> wanted;
  if (!only.empty()) wanted = session.find(only, {"rack"});
  Reader reader = session.reader();
  const PageCache cache(reader.book().database(), kCacheOfList);
  Today list = today_list(reader, session.now());
  if (wanted)
    std::erase_if(list.racks, [&](const TodayRack& one) { return !one.rack || one.rack->code != wanted->code; });
  if (session.json) return session.terminal.line(today_json(list).dump());
  const Terminal& out = session.terminal;
  out.line(out.strong("Tonight, " + date_text(list.night)) + "   " + summary_of(list));
  out.line(out.faint(fmt::format("{} animals, {} (males.females.unsexed){}{}", list.animals, count_text(list.sexes),
                                 quiet_text(list).empty() ? "" : ": ", quiet_text(list))));
  if (!list.resting.empty()) out.line(out.faint(resting_text(std::move(list.resting))));
  for (const TodayRack& rack : list.racks) {
    if (rack.lines.empty()) continue;
    out.heading(rack.rack ? "Rack " + rack.rack->label + "   " + count_text(rack.count) +
                                (rack.quarantine ? ", quarantine: last, then wash and change" : "")
                          : "Without a place");
    std::vector<std::vector<std::string>> rows;
    std::string last;
    for (const TodayLine& line : rack.lines) {
      const bool again = line.animal.code == last;
      last = line.animal.code;
      rows.push_back({again        ? ""
                      : line.place ? line.place->spot.label
                                   : "–",
                      again ? "" : out.name(line.animal.label), due_sign(out, line.due.due),
                      line.due.due == Due::food || line.due.due == Due::overdue ? line.prey : "",
                      out.faint(why_of(line.due, line.animal.label))});
    }
    out.table(rows);
  }
  const std::string legend = legend_of(list);
  if (!legend.empty() && (out.out_is_terminal() || out.colours())) {
    out.line();
    out.line(out.faint(legend));
  }
  const std::size_t questions = count_open_questions(reader);
  if (questions > 0) {
    out.line();
    out.warn(fmt::format("{} open question{}: `rackside questions`.", questions, questions == 1 ? "" : "s"));
  }
  if (const std::string reminder = backup_reminder(session); !reminder.empty()) out.warn(reminder);
}

}  // namespace

void add_reading_verbs(CLI::App& app, Session& session, WriteSheet write_sheet) {
  auto* today_verb = app.add_subcommand("today", "What is due tonight, by rack in walking order");
  auto wanted = std::make_shared<TodayOptions>();
  today_verb->add_option("--sheet", wanted->sheet, "Write it as a PDF to tick by hand, a sheet for each rack");
  today_verb->add_option("--rack", wanted->rack, "Only this rack");
  today_verb->add_option("--paper", wanted->paper, "Of the sheet")
      ->check(CLI::IsMember({"a4", "letter"}))
      ->capture_default_str();
  auto resting = std::make_shared<bool>(false);
  today_verb->add_flag("--resting", *resting, "Only who ate lately and is left in peace");
  today_verb->callback([&session, wanted, write_sheet, resting] {
    if (*resting) return tell_resting(session);
    if (!wanted->sheet.empty() && write_sheet) return write_sheet(session, *wanted);
    today(session, wanted->rack);
  });

  auto text = std::make_shared<std::string>();
  auto* show_verb = app.add_subcommand("show", "An animal’s story, or a place: who, where, what is due");
  auto story = std::make_shared<StoryOptions>();
  show_verb->add_option("code", *text, "Code or short ID")->required();
  show_verb->add_option("--svg", story->svg, "Write the story as a picture");
  show_verb->add_option("--page", story->page, "Write the story as a page (HTML), to look at or to print");
  show_verb->add_flag("--plain", story->plain, "The chart in plain letters");
  show_verb->callback([&session, text, story] { show(session, *text, *story); });

  auto limit = std::make_shared<int>(40);
  auto* history_verb = app.add_subcommand("history", "All that was recorded of an animal or place, newest first");
  history_verb->add_option("code", *text, "Code or short ID")->required();
  history_verb->add_option("--limit", *limit, "How many lines")->check(CLI::Range(1, 100000));
  history_verb->callback([&session, text, limit] { history(session, *text, *limit); });

  auto kind = std::make_shared<std::string>("animals");
  auto* list_verb = app.add_subcommand("list", "Animals, racks or helpers");
  list_verb->add_option("what", *kind, "animals, racks or helpers")
      ->check(CLI::IsMember({"animals", "racks", "places", "helpers"}));
  list_verb->callback([&session, kind] { list_kind(session, *kind); });
}

}  // namespace rackside::cli
