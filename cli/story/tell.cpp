#include <fmt/format.h>

#include <algorithm>
#include <fstream>

#include "cli/story/story.h"
#include "cli/story/terminal_chart.h"
#include "cli/wording.h"

namespace rackside::cli {
namespace {

using namespace core;
using Style = Terminal::Style;

constexpr int kRows = 7;
constexpr int kLabel = 9;
constexpr int kWidest = 100;
constexpr int kEntries = 20'000;

Style style_of(ChartLine::Part part) {
  switch (part) {
    case ChartLine::Part::weight:
      return Style::good;
    case ChartLine::Part::refusals:
    case ChartLine::Part::treatment:
      return Style::bad;
    case ChartLine::Part::meals:
    case ChartLine::Part::eggs:
      return Style::warn;
    case ChartLine::Part::company:
      return Style::name;
    case ChartLine::Part::axis:
      return Style::faint;
    default:
      return Style::plain;
  }
}

/// Words of a text in lines of so many cells.
std::vector<std::string> wrapped(const std::string& text, int columns) {
  std::vector<std::string> out(1);
  std::string word;
  const auto end_word = [&] {
    if (!out.back().empty() && display_width(out.back()) + 1 + display_width(word) > columns) out.emplace_back();
    out.back() += (out.back().empty() ? "" : " ") + word;
    word.clear();
  };
  for (const char c : text) {
    if (c == ' ')
      end_word();
    else
      word += c;
  }
  end_word();
  return out;
}

void write_whole(const std::string& path, const std::string& text) {
  std::ofstream file(path, std::ios::binary | std::ios::trunc);
  file << text;
  file.close();
  if (!file) throw Error(Fault::bad_input, "The file " + path + " could not be written: may you write there?");
}

std::vector<std::vector<std::string>> entries_of(Reader& reader, const Named& animal) {
  std::vector<std::vector<std::string>> out;
  const Zone& zone = reader.settings().zone;
  for (const StoryLine& line : reader.story(animal.thing, kEntries)) {
    const std::string note = line.note.empty() ? "" : ": " + line.note;
    out.push_back({date_text(zone.day_of(line.at)) + " " + clock_text(zone.minute_of_day(line.at)), line.by,
                   sentence_of(reader, line) + note,
                   line.gone       ? "withdrawn"
                   : line.disputed ? "withdrawal disputed"
                                   : ""});
  }
  return out;
}

}  // namespace

void tell_life(Session& session, Reader&, const Life& life, bool plain) {
  const Terminal& out = session.terminal;
  const int width = std::clamp(out.width(), 50, kWidest);
  const Glyphs glyphs = plain ? Glyphs::ascii : glyphs_of_terminal();
  const auto chart = terminal_chart(life, width - kLabel - 2, kRows, glyphs);
  if (!chart.empty()) out.line();
  for (const ChartLine& line : chart)
    out.line(std::string(static_cast<std::size_t>(std::max(0, kLabel - display_width(line.label))), ' ') +
             out.faint(line.label) + "  " + out.styled(style_of(line.part), line.text));
  const bool locked =
      std::any_of(life.marks.begin(), life.marks.end(), [](const LifeMark& mark) { return mark.kind == Kind::locked; });
  if (locked)
    out.line(std::string(kLabel + 2, ' ') + out.faint(glyphs == Glyphs::ascii
                                                          ? "paired: = together, # locks were seen"
                                                          : "paired: ━ together, ╋ locks were seen"));
  const auto facts = life_facts(life);
  if (!facts.empty()) out.line();
  for (const auto& [heading, text] : facts) {
    constexpr int kHeading = 11;
    bool first = true;
    for (const std::string& piece : wrapped(text, width - kHeading - 2)) {
      out.line("  " + out.faint(fmt::format("{:<{}}", first ? heading : "", kHeading)) + piece);
      first = false;
    }
  }
  out.line(out.faint(fmt::format("  {} entries; `rackside history {}` shows all.", life.entries, life.animal.label)));
}

void write_story(Session& session, Reader& reader, const Life& life, const StoryOptions& options) {
  if (!options.svg.empty()) {
    write_whole(options.svg, life_svg(life));
    session.terminal.good(options.svg + ": the story of " + life.animal.label + " as a picture.");
  }
  if (!options.page.empty()) {
    write_whole(options.page, life_page(life, entries_of(reader, life.animal)));
    session.terminal.good(options.page + ": the story of " + life.animal.label + ", to look at or to print.");
  }
}

}  // namespace rackside::cli
