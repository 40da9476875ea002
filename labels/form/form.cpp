#include "labels/form/form.h"

#include <algorithm>
#include <charconv>
#include <cmath>
#include <sstream>

#include "core/base/error.h"
#include "core/base/words.h"

namespace rackside::labels {
namespace {

constexpr double kMmPerInch = 25.4;

std::string_view trimmed(std::string_view text) {
  constexpr std::string_view kBlank = " \t\r";
  const auto first = text.find_first_not_of(kBlank);
  if (first == std::string_view::npos) return {};
  return text.substr(first, text.find_last_not_of(kBlank) - first + 1);
}

std::string lower(std::string_view text) {
  std::string out(text);
  for (char& c : out) c = c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
  return out;
}

/// A `#` inside quotes is text.
std::string_view without_comment(std::string_view line) {
  bool quoted = false;
  for (std::size_t i = 0; i < line.size(); ++i) {
    if (line[i] == '"') quoted = !quoted;
    if (line[i] == '#' && !quoted) return line.substr(0, i);
  }
  return line;
}

bool read_number(std::string_view text, double& out) {
  const auto [end, fault] = std::from_chars(text.data(), text.data() + text.size(), out);
  return fault == std::errc() && end == text.data() + text.size() && std::isfinite(out);
}

/// Takes "A x B", with or without white space around the cross.
bool read_pair(std::string_view text, Pair& out) {
  const std::size_t cross = text.find_first_of("xX");
  if (cross == std::string_view::npos) return false;
  return read_number(trimmed(text.substr(0, cross)), out.first) &&
         read_number(trimmed(text.substr(cross + 1)), out.second);
}

double take_unit(std::string_view& text) {
  const double scale = text.ends_with("in") ? kMmPerInch : 1;
  if (text.ends_with("in") || text.ends_with("mm")) text = trimmed(text.substr(0, text.size() - 2));
  return scale;
}

}  // namespace

void form_error(const std::string& name, int line, const std::string& message) {
  throw core::Error(core::Fault::bad_input, name + ", line " + std::to_string(line) + ": " + message);
}

std::vector<FormLine> form_lines(std::string_view text, const std::string& name) {
  if (text.size() > kMostFormBytes || text.find('\0') != std::string_view::npos) {
    throw core::Error(core::Fault::bad_input, name + " is no such file: it is a text of a few lines that is wanted.");
  }
  std::vector<FormLine> lines;
  int number = 0;
  while (!text.empty()) {
    const std::size_t end = std::min(text.find('\n'), text.size());
    const std::string_view line = trimmed(without_comment(text.substr(0, end)));
    text.remove_prefix(std::min(end + 1, text.size()));
    ++number;
    if (line.empty()) continue;
    const std::size_t blank = std::min(line.find_first_of(" \t"), line.size());
    lines.push_back({number, lower(line.substr(0, blank)), std::string(trimmed(line.substr(blank)))});
  }
  return lines;
}

Pair form_measures(const FormLine& line, const std::string& name) {
  std::string_view rest = line.rest;
  const double scale = take_unit(rest);
  Pair pair;
  if (!read_pair(rest, pair)) {
    form_error(name, line.number,
               "“" + line.word + "” wants two measures, such as “" + line.word + " 63.5 x 33.9 mm” or “" + line.word +
                   " 2.5 x 1 in”.");
  }
  return {pair.first * scale, pair.second * scale};
}

Pair form_counts(const FormLine& line, const std::string& name) {
  Pair pair;
  const auto whole = [](double value) { return value >= 1 && value <= 100 && value == std::floor(value); };
  if (!read_pair(line.rest, pair) || !whole(pair.first) || !whole(pair.second)) {
    form_error(name, line.number,
               "“" + line.word + "” wants two whole numbers of 1 to 100, such as “" + line.word +
                   " 3 x 8”: columns, then rows.");
  }
  return pair;
}

std::string did_you_mean(std::string_view word, const std::vector<std::string>& known) {
  const auto nearest = std::min_element(known.begin(), known.end(), [&](const auto& a, const auto& b) {
    return core::edit_distance(word, a) < core::edit_distance(word, b);
  });
  if (nearest == known.end() || core::edit_distance(word, *nearest) > 2) return {};
  return " Do you mean “" + *nearest + "”?";
}

}  // namespace rackside::labels
