#include "cli/scan/screen.h"

#include <cstdio>

#include "cli/scan/banner.h"

namespace rackside::cli {

using namespace core;
using What = LineOutcome::What;
using Style = Terminal::Style;

namespace {

std::string counted(int number, const std::string& what) {
  return std::to_string(number) + " " + what;
}

std::string sign_of(What what) {
  switch (what) {
    case What::recorded:
      return "saved";
    case What::undone:
      return "undone";
    case What::doubled:
      return "twice";
    case What::not_understood:
      return "NOT SAVED";
    case What::asked:
      return "?";
    default:
      return "";
  }
}

Value texts(const std::vector<std::string>& all) {
  Value::Array out;
  for (const std::string& one : all) out.emplace_back(mend_text(one));
  return out;
}

}  // namespace

void Screen::show(const LineOutcome& outcome, std::size_t line, const Desk& desk) {
  if (form_ == Form::json) {
    show_json(outcome, line, desk);
  } else if (form_ == Form::plain) {
    show_plain(outcome);
  } else {
    show_large(outcome, desk);
  }
  if (form_ != Form::json) show_notices(outcome);
  std::fflush(stdout);  // whoever reads a pipe waits for this line before the next scan
}

/// A notice that repeats itself (a scanner set wrongly) is said once.
void Screen::show_notices(const LineOutcome& outcome) {
  for (const std::string& notice : outcome.notices) {
    if (notice != last_notice_) terminal_.line("  " + terminal_.faint(notice));
    last_notice_ = notice;
  }
}

void Screen::show_headline(const std::string& text) const {
  if (text.empty()) return;
  const auto lines = banner(text, terminal_.width());
  if (lines.empty()) return terminal_.line(terminal_.name(text));
  for (const std::string& line : lines) terminal_.line(terminal_.name(line));
}

void Screen::show_large(const LineOutcome& outcome, const Desk& desk) const {
  terminal_.line();
  const bool about_one = outcome.what == What::shown || outcome.what == What::recorded;
  if (about_one) show_headline(outcome.headline);
  switch (outcome.what) {
    case What::recorded:
      terminal_.line(terminal_.styled(Style::good, "✓ ") + terminal_.strong(outcome.message) + "   " +
                     terminal_.strong(desk.round() ? counted(desk.in_round(), "recorded this round")
                                                   : counted(desk.recorded(), "recorded")));
      break;
    case What::undone:
      terminal_.line(terminal_.styled(Style::warn, "↩ ") + terminal_.strong(outcome.message));
      break;
    case What::not_understood:
      terminal_.line(terminal_.styled(Style::bad, "✗ NOT SAVED: ") + outcome.message);
      break;
    case What::doubled:
    case What::asked:
      terminal_.line(terminal_.styled(Style::warn, outcome.what == What::asked ? "? " : "✗ ") +
                     terminal_.strong(outcome.message));
      break;
    case What::shown:
      break;
    default:
      terminal_.line(terminal_.strong(outcome.message));
  }
  for (const std::string& line : outcome.details) terminal_.line(line);
  for (const std::string& warning : outcome.warnings) terminal_.line(terminal_.styled(Style::bad, "! " + warning));
  if (outcome.what == What::recorded) terminal_.bell(1);
  if (outcome.what == What::not_understood || outcome.what == What::doubled || outcome.what == What::asked)
    terminal_.bell(2);
}

void Screen::show_plain(const LineOutcome& outcome) const {
  const std::string sign = sign_of(outcome.what);
  std::string line = (sign.empty() ? "" : sign + ": ") + outcome.message;
  for (const std::string& warning : outcome.warnings) line += " ! " + warning;
  if (outcome.what == What::not_understood) line += " (“" + mend_text(outcome.input) + "”)";
  terminal_.line(line);
}

void Screen::show_json(const LineOutcome& outcome, std::size_t line, const Desk& desk) const {
  Value object = Value::Object{{"line", static_cast<std::int64_t>(line)},
                               {"input", mend_text(outcome.input)},
                               {"outcome", word_of(outcome.what)},
                               {"message", mend_text(outcome.message)}};
  Value::Array codes;
  Value::Array labels;
  for (const Named& thing : outcome.about) {
    codes.emplace_back(thing.code);
    labels.emplace_back(mend_text(thing.label));
  }
  object.set("about", std::move(codes)).set("labels", std::move(labels));
  if (!outcome.place.empty()) object.set("place", outcome.place);
  if (outcome.event) object.set("event", to_hex(outcome.event->hash).substr(0, 8));
  if (outcome.what == What::not_understood) object.set("error", fault_info(outcome.fault).name);
  object.set("warnings", texts(outcome.warnings)).set("notices", texts(outcome.notices));
  object.set("recorded", desk.recorded());
  terminal_.line(write_compact(object));
}

void Screen::begin(const std::string& helper) const {
  if (form_ != Form::large) return;
  terminal_.line(terminal_.strong("Scan a tub or an animal, then what you saw") +
                 (helper.empty() ? "" : ", as " + helper) + ".");
  terminal_.line("  Or the entry first, and then every code gets it (a round), until “done”.");
  terminal_.line(
      "  fed small-rat x2 · offered · refused · shed · opaque · laid 7+1 · paired CODE · weighed 412 · note …");
  terminal_.line("  undo takes the last entry back · rest-ate RACK closes open offers · Ctrl-D ends");
}

void Screen::end(const Desk& desk, std::size_t not_understood) const {
  if (form_ == Form::json) return;
  std::string text = counted(desk.recorded(), desk.recorded() == 1 ? "entry recorded" : "entries recorded");
  if (not_understood > 0)
    text +=
        ", " + counted(static_cast<int>(not_understood), not_understood == 1 ? "line" : "lines") + " not understood";
  if (form_ == Form::large) terminal_.line();
  terminal_.line(terminal_.strong(text + "."));
}

}  // namespace rackside::cli
