#include "core/entry/shapes.h"

#include <algorithm>
#include <array>
#include <charconv>

namespace rackside::core::shapes {
namespace {

constexpr std::int64_t kMostPrey = 99;
constexpr std::int64_t kMostEggs = 999;
constexpr std::int64_t kMostTenths = 2'000'000;  // 200 kg
constexpr std::int64_t kMostMillimetres = 200;
constexpr std::int64_t kMostCelsiusTenths = 600;
constexpr std::int64_t kMostDays = 999;
constexpr std::size_t kMostNameWords = 3;
constexpr std::size_t kMostSigns = 6;

constexpr std::array<std::string_view, 3> kPreyStates = {"thawed", "live", "fresh"};
constexpr std::array<std::string_view, 3> kPreyWays = {"tongs", "dish", "assisted"};

/// Without a space before them ("rat+again") they would become prey that nobody could type again.
constexpr std::array<std::string_view, 3> kNoPrey = {"again", "same", "replaces"};

template <std::size_t N>
bool is_one_of(const std::array<std::string_view, N>& all, std::string_view word) {
  return std::find(all.begin(), all.end(), word) != all.end();
}

std::optional<std::int64_t> number(std::string_view text, std::int64_t most) {
  std::int64_t value = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  const bool good = !text.empty() && error == std::errc() && end == text.data() + text.size() && text[0] != '-';
  return good && value <= most ? std::optional(value) : std::nullopt;
}

std::string quoted(std::string_view word) {
  return "“" + std::string(word) + "”";
}

std::string not_understood(std::string_view word) {
  return quoted(word) + " is not understood here";
}

std::string joined(const Words& words, std::size_t from, std::string_view between) {
  std::string out;
  for (std::size_t i = from; i < words.size(); ++i) {
    if (i > from) out += between;
    out += words[i];
  }
  return out;
}

/// "x2", "2x", "×2", "2": a number of prey.
std::optional<std::int64_t> prey_count(std::string_view word) {
  if (word.starts_with("×")) word.remove_prefix(std::string_view("×").size());
  if (word.size() > 1 && word.front() == 'x') word.remove_prefix(1);
  if (word.size() > 1 && word.back() == 'x') word.remove_suffix(1);
  const auto count = number(word, kMostPrey);
  return count && *count > 0 ? count : std::nullopt;
}

/// Prey is words, or words and a weight: "rat 50g". A digit elsewhere is rather a mistyped short ID.
struct Item {
  std::string prey;
  std::size_t prey_words = 0;
  std::optional<std::int64_t> count;
  std::string state;
  std::string how;
  bool empty() const { return prey.empty() && !count && state.empty() && how.empty(); }
};

constexpr std::string_view kDigits = "0123456789";

/// Each part between hyphens for itself: "50g-rat" is what "50g rat" is kept as.
bool digits_are_weights(std::string_view word) {
  while (!word.empty()) {
    const std::string_view part = word.substr(0, word.find('-'));
    if (part.find_first_of(kDigits) != part.npos && part.back() != 'g') return false;
    word.remove_prefix(std::min(word.size(), part.size() + 1));
  }
  return true;
}

std::string take_word(Item& item, const std::string& word) {
  if (const auto count = prey_count(word)) {
    if (item.count) return "two numbers for one prey, the second is " + quoted(word);
    item.count = count;
  } else if (is_one_of(kPreyStates, word)) {
    item.state = word;
  } else if (is_one_of(kPreyWays, word)) {
    item.how = word;
  } else if (is_one_of(kNoPrey, word) || word.find_first_not_of('-') == word.npos) {
    return not_understood(word);
  } else if (++item.prey_words > kMostNameWords) {
    return not_understood(word) + "; free words go behind --";
  } else if (!digits_are_weights(word)) {
    if (word.find_first_of(kDigits) == 0) return quoted(word) + " is no number of prey (1 to 99)";
    return quoted(word) + " looks like a short ID or a code, not like prey";
  } else {
    item.prey += (item.prey.empty() ? "" : "-") + word;
  }
  return {};
}

Value value_of(const Item& item) {
  Value out = Value::Object{};
  if (!item.prey.empty()) out.set("prey", item.prey);
  out.set("count", item.count.value_or(1));
  if (!item.state.empty()) out.set("state", item.state);
  if (!item.how.empty()) out.set("how", item.how);
  return out;
}

bool separates_items(std::string_view word) {
  return word == "+" || word == "and" || word == ",";
}

/// The words with "+" and "," as words of their own.
Words split_at_signs(const Words& words) {
  Words out;
  for (const std::string& word : words) {
    std::string part;
    for (const char c : word) {
      if (c == '+' || c == ',') {
        if (!part.empty()) out.push_back(std::move(part));
        part.clear();
        out.emplace_back(1, c);
      } else {
        part += c;
      }
    }
    if (!part.empty()) out.push_back(std::move(part));
  }
  return out;
}

/// Reads "7+1", "7 good 1 slug", "7" into one or two counts.
std::string read_counts(const Words& words, Entry& entry, std::string_view second) {
  std::vector<std::int64_t> counts;
  for (const std::string& word : split_at_signs(words)) {
    if (const auto count = number(word, kMostEggs)) {
      counts.push_back(*count);
    } else if (word != "+" && word != "," && word != "and" && word != "good" && word != "slug" && word != "slugs" &&
               word != "bad" && word != "egg" && word != "eggs") {
      return quoted(word) + " is no number of eggs";
    }
  }
  if (counts.size() > 2) return "there are more than two numbers";
  if (counts.empty()) return words.empty() ? "" : not_understood(words.front());
  entry.own.set("good", counts[0]);
  entry.own.set(second, counts.size() > 1 ? counts[1] : 0);
  return {};
}

std::string type_counts(const Entry& entry, std::string_view second) {
  if (!entry.own.find("good")) return {};
  return std::to_string(entry.own.number("good")) + "+" + std::to_string(entry.own.number(second));
}

/// "41.2" or "41,2" as tenths.
std::optional<std::int64_t> tenths(std::string_view text, std::int64_t factor) {
  const auto point = text.find_first_of(".,");
  const auto whole = number(text.substr(0, point), kMostTenths);
  if (!whole) return std::nullopt;
  std::int64_t value = *whole * 10 * factor;
  if (point == std::string_view::npos) return value;
  std::int64_t place = 10 * factor;
  for (const char digit : text.substr(point + 1)) {
    if (digit < '0' || digit > '9' || place % 10 != 0) return std::nullopt;
    place /= 10;
    value += (digit - '0') * place;
  }
  return point + 1 < text.size() ? std::optional(value) : std::nullopt;
}

}  // namespace

std::string read_plain(const Words& words, Entry&) {
  return words.empty() ? "" : not_understood(words.front()) + "; free words go behind --";
}

std::string type_plain(const Entry&) {
  return {};
}

// ---- meals

std::string read_meal(const Words& words, Entry& entry) {
  Value::Array items;
  Item item;
  for (const std::string& word : split_at_signs(words)) {
    if (!separates_items(word)) {
      if (const std::string problem = take_word(item, word); !problem.empty()) return problem;
      continue;
    }
    if (item.empty()) return "no prey stands before " + quoted(word);
    items.push_back(value_of(item));
    item = {};
  }
  if (item.empty() && !items.empty()) return "no prey stands behind the last +";
  if (!item.empty()) items.push_back(value_of(item));
  if (!items.empty()) entry.own.set("items", std::move(items));
  return {};
}

std::string type_meal(const Entry& entry) {
  const Value* items = entry.own.find("items");
  if (!items || !items->as_array()) return {};
  std::string out;
  for (const Value& item : *items->as_array()) {
    if (!out.empty()) out += " + ";
    if (!item.text("prey").empty()) out += std::string(item.text("prey")) + " ";
    out += "x" + std::to_string(item.number("count", 1));
    for (const char* key : {"state", "how"}) {
      if (!item.text(key).empty()) out += " " + std::string(item.text(key));
    }
  }
  return out;
}

std::string said_items(const Value& own) {
  const Value* items = own.find("items");
  if (!items || !items->as_array()) return {};
  std::string out;
  for (const Value& item : *items->as_array()) {
    const std::int64_t count = item.number("count", 1);
    const std::string prey(item.text("prey", "prey"));
    out += out.empty() ? " " : " and ";
    out += count == 1 ? prey : std::to_string(count) + " × " + prey;
    const std::string state(item.text("state"));
    const std::string how(item.text("how"));
    if (!state.empty() || !how.empty()) out += " (" + state + (state.empty() || how.empty() ? "" : ", ") + how + ")";
  }
  return out;
}

// ---- sheds

std::string read_shed(const Words& words, Entry& entry) {
  if (words.empty() || (words.size() == 1 && words[0] == "complete")) return {};
  if (words[0] != "stuck") return not_understood(words[0]) + "; free words go behind --";
  if (words.size() > 1 + kMostNameWords) return not_understood(words[1 + kMostNameWords]) + "; free words go behind --";
  entry.own.set("stuck", words.size() > 1 ? joined(words, 1, " ") : "unknown");
  return {};
}

std::string type_shed(const Entry& entry) {
  const std::string_view where = entry.own.text("stuck");
  if (where.empty()) return {};
  return where == "unknown" ? "stuck" : "stuck " + std::string(where);
}

// ---- eggs

std::string read_eggs(const Words& words, Entry& entry) {
  return read_counts(words, entry, "slugs");
}
std::string type_eggs(const Entry& entry) {
  return type_counts(entry, "slugs");
}
std::string read_candled(const Words& words, Entry& entry) {
  return read_counts(words, entry, "bad");
}
std::string type_candled(const Entry& entry) {
  return type_counts(entry, "bad");
}

std::string said_eggs(const Value& own, std::string_view second, std::string_view one, std::string_view many) {
  if (!own.find("good")) return {};
  std::string out = std::to_string(own.number("good")) + " good";
  const std::int64_t other = own.number(second);
  if (other > 0) out += ", " + std::to_string(other) + " " + std::string(other == 1 ? one : many);
  return out;
}

/// "3", "egg 5", "1 egg 5": how many, and the number written on the egg.
std::string read_count(const Words& words, Entry& entry) {
  for (std::size_t i = 0; i < words.size(); ++i) {
    const bool names_egg = words[i] == "egg" && i + 1 < words.size();
    const std::string_view key = names_egg ? "egg" : "count";
    const auto value = number(words[names_egg ? ++i : i], kMostEggs);
    if (!value || (names_egg && *value == 0)) return quoted(joined(words, i, " ")) + " is no number";
    if (entry.own.find(key)) return "there are two numbers";
    entry.own.set(std::string(key), *value);
  }
  if (entry.own.find("egg") && entry.own.number("count", 1) > 2)
    return "more than two out of one egg: leave the egg's number away to count young";
  return {};
}

std::string type_count(const Entry& entry) {
  std::string out = entry.own.find("count") ? std::to_string(entry.own.number("count")) : "";
  if (entry.own.find("egg")) out += (out.empty() ? "egg " : " egg ") + std::to_string(entry.own.number("egg"));
  return out;
}

// ---- measures

std::string read_grams(const Words& words, Entry& entry) {
  std::string text = joined(words, 0, "");
  if (text.empty()) return "the weight is missing";
  const std::string as_typed = text;
  std::int64_t factor = 1;
  if (text.ends_with("kg")) {
    factor = 1000;
    text.resize(text.size() - 2);
  } else if (text.ends_with("g")) {
    text.pop_back();
  }
  const auto value = tenths(text, factor);
  if (!value || *value <= 0 || *value > kMostTenths)
    return quoted(as_typed) + " is no weight: grams, with one digit behind the point at most";
  entry.own.set("grams_tenths", *value);
  return {};
}

std::string said_grams(std::int64_t value) {
  std::string out = std::to_string(value / 10);
  if (value % 10 != 0) out += "." + std::to_string(value % 10);
  return out + " g";
}

std::string type_grams(const Entry& entry) {
  std::string out = said_grams(entry.own.number("grams_tenths"));
  std::erase(out, ' ');
  return out;
}

std::string read_celsius(const Words& words, Entry& entry) {
  std::string text = joined(words, 0, "");
  if (text.empty()) return "the temperature is missing";
  const std::string as_typed = text;
  const bool fahrenheit = text.ends_with("f");
  for (const std::string_view unit : {"°c", "°f", "c", "f"}) {
    if (!text.ends_with(unit)) continue;
    text.resize(text.size() - unit.size());
    break;
  }
  const auto value = tenths(text, 1);
  // 32 °F is 0 °C, and 9 °F are 5 °C (the scales' definition); rounded to a tenth.
  const std::int64_t celsius = !value ? 0 : fahrenheit ? ((*value - 320) * 5 + (*value >= 320 ? 4 : -4)) / 9 : *value;
  if (!value || celsius < 0 || celsius > kMostCelsiusTenths)
    return quoted(as_typed) + " is no temperature for eggs: degrees Celsius, as 28.5, or Fahrenheit, as 83F";
  entry.own.set("celsius_tenths", celsius);
  return {};
}

std::string said_celsius(std::int64_t value) {
  return std::to_string(value / 10) + "." + std::to_string(value % 10) + " °C";
}

std::string type_celsius(const Entry& entry) {
  const std::int64_t value = entry.own.number("celsius_tenths");
  return std::to_string(value / 10) + "." + std::to_string(value % 10);
}

std::string read_follicles(const Words& words, Entry& entry) {
  std::string text = joined(words, 0, "");
  if (text.empty()) return {};
  const std::string as_typed = text;
  if (text.ends_with("mm")) text.resize(text.size() - 2);
  const auto value = number(text, kMostMillimetres);
  if (!value) return quoted(as_typed) + " is no size of follicles in whole millimetres";
  entry.own.set("follicles_mm", *value);
  return {};
}

std::string type_follicles(const Entry& entry) {
  return entry.own.find("follicles_mm") ? std::to_string(entry.own.number("follicles_mm")) + "mm" : "";
}

// ---- remedies and sex

std::string read_remedy(const Words& words, Entry& entry) {
  const auto repeat = std::find_if(words.begin(), words.end(),
                                   [](const std::string& word) { return word == "repeat" || word == "again"; });
  const Words name(words.begin(), repeat);
  if (name.size() > kMostNameWords) return not_understood(name[kMostNameWords]) + "; free words go behind --";
  if (!name.empty()) entry.own.set("with", joined(name, 0, " "));
  if (repeat == words.end()) return {};
  for (auto word = repeat + 1; word != words.end(); ++word) {
    if (*word == "in" || *word == "day" || *word == "days") continue;
    const auto days = number(*word, kMostDays);
    if (!days || *days == 0 || entry.own.find("repeat_days")) return quoted(*word) + " is no number of days";
    entry.own.set("repeat_days", *days);
  }
  return entry.own.find("repeat_days") ? "" : "after how many days it is repeated is missing";
}

std::string type_remedy(const Entry& entry) {
  std::string out(entry.own.text("with"));
  if (!entry.own.find("repeat_days")) return out;
  return out + (out.empty() ? "" : " ") + "repeat " + std::to_string(entry.own.number("repeat_days"));
}

std::string read_signs(const Words& words, Entry& entry) {
  if (words.size() > kMostSigns) return not_understood(words[kMostSigns]) + "; free words go behind --";
  if (!words.empty()) entry.own.set("signs", joined(words, 0, " "));
  return {};
}

std::string type_signs(const Entry& entry) {
  return std::string(entry.own.text("signs"));
}

std::string read_sex(const Words& words, Entry& entry) {
  if (words.empty()) return "male or female is missing";
  const std::string& sex = words[0];
  if (sex == "male" || sex == "m" || sex == "♂") {
    entry.own.set("sex", "male");
  } else if (sex == "female" || sex == "f" || sex == "♀") {
    entry.own.set("sex", "female");
  } else {
    return quoted(sex) + " is no sex: male or female";
  }
  if (words.size() > 1 + kMostNameWords) return not_understood(words[1 + kMostNameWords]) + "; free words go behind --";
  if (words.size() > 1) entry.own.set("how", joined(words, 1, " "));
  return {};
}

std::string type_sex(const Entry& entry) {
  const std::string how(entry.own.text("how"));
  return std::string(entry.own.text("sex")) + (how.empty() ? "" : " " + how);
}

// ---- others named

namespace {

std::string read_target(const Words& words, Entry& entry, std::string_view filler, const char* missing) {
  const std::size_t from = !words.empty() && words[0] == filler ? 1 : 0;
  entry.target = joined(words, from, " ");
  return entry.target.empty() ? missing : "";
}

}  // namespace

std::string read_partner(const Words& words, Entry& entry) {
  return read_target(words, entry, "with", "the code or short ID of the other animal is missing");
}

std::string read_destination(const Words& words, Entry& entry) {
  return read_target(words, entry, "to", "the code or short ID of the place is missing");
}

std::string type_target(const Entry& entry) {
  return entry.target;
}

std::string read_text(const Words& words, Entry& entry) {
  entry.note = joined(words, 0, " ");
  return entry.note.empty() ? "the text of the note is missing" : "";
}

}  // namespace rackside::core::shapes
