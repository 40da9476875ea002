#include "cli/register/fields.h"

#include <fmt/format.h>

#include <algorithm>
#include <regex>

namespace rackside::cli {

using namespace core;

Error bad_value(const std::string& what) {
  return {Fault::usage, what};
}

void refuse_known_short_id(Session& session, const std::string& short_id) {
  Reader reader = session.reader();
  const auto known = reader.with_short_id(short_id);
  if (!known.empty()) {
    throw Error(Fault::bad_input, "“" + short_id + "” is already the short ID of a " + known.front().kind + " (" +
                                      known.front().code + "). Choose another.");
  }
}

Draft registration(Kind kind, const Code& code, Value set) {
  return {.kind = kind, .of = {code.str()}, .own = Value::Object{{"set", std::move(set)}}};
}

std::string checked_sex(const std::string& text) {
  if (text == "m" || text == "male" || text == "♂") return "male";
  if (text == "f" || text == "female" || text == "♀") return "female";
  if (text == "unknown" || text == "?") return "unknown";
  throw bad_value("“" + text + "” is no sex that this book understands: male, female or unknown.");
}

std::string checked_date(const std::string& text) {
  static const std::regex form(R"(\d{4}(-\d{2}(-\d{2})?)?)");
  DayNumber day = 0;
  const bool good = std::regex_match(text, form) && (text.size() < 10 || parse_date(text, day)) &&
                    (text.size() != 7 || parse_date(text + "-01", day));
  if (!good) throw bad_value("“" + text + "” is no date: write 2024, 2024-07 or 2024-07-15.");
  return text;
}

std::string checked_interval(const std::string& text) {
  static const std::regex form(R"((\d{1,3})(-(\d{1,3}))?)");
  std::smatch match;
  if (!std::regex_match(text, match, form) || std::stoi(match[1]) < 1 ||
      (match[3].matched && std::stoi(match[3]) < std::stoi(match[1]))) {
    throw bad_value("“" + text + "” is no feeding interval: write days, as 7 or 7-10.");
  }
  return text;
}

Value set_of(const AnimalOptions& options) {
  Value set = Value::Object{};
  const auto put = [&](const char* key, const std::string& value) {
    if (!value.empty()) set.set(key, mend_text(value));
  };
  put("short", options.short_id);
  put("name", options.name);
  put("species", options.species);
  if (!options.sex.empty()) set.set("sex", checked_sex(options.sex));
  if (!options.hatched.empty()) set.set("hatched", checked_date(options.hatched));
  if (!options.acquired.empty()) set.set("acquired", checked_date(options.acquired));
  put("prey", options.prey);
  if (!options.every.empty()) set.set("every", checked_interval(options.every));
  return set;
}

Draft animal_registration(const Code& code, const AnimalOptions& options) {
  Draft draft = registration(Kind::animal, code, set_of(options));
  if (!options.supplier.empty()) draft.text = write_compact(Value::Object{{"supplier", mend_text(options.supplier)}});
  return draft;
}

namespace {

std::string place_name(const std::string& rack, int position, int places) {
  return places > 99 ? fmt::format("{}-{:03}", rack, position) : fmt::format("{}-{:02}", rack, position);
}

}  // namespace

NewRack new_rack(Session& session, const RackOptions& options) {
  if (options.places < 1 || options.places > kMostPlaces)
    throw bad_value(fmt::format("A rack has 1 to {} places: give --places.", kMostPlaces));
  refuse_known_short_id(session, options.name);
  NewRack out{.code = session.new_code(CodeKind::rack)};
  const int walk = options.walk > 0 ? options.walk : static_cast<int>(session.reader().racks().size()) + 1;
  Value set = Value::Object{{"short", mend_text(options.name)}, {"walk", walk}};
  if (options.quarantine) set.set("quarantine", true);
  out.drafts.push_back(registration(Kind::rack, out.code, std::move(set)));
  for (int position = 1; position <= options.places; ++position) {
    const Code place = session.new_code(CodeKind::place);
    const std::string name = place_name(options.name, position, options.places);
    out.drafts.push_back(registration(
        Kind::place, place, Value::Object{{"short", name}, {"rack", out.code.str()}, {"position", position}}));
    out.places.emplace_back(name, place.str());
  }
  return out;
}

/// A move names the occupancy that its author believed in: where the animal was, and who was there.
std::vector<Answer> believed_occupancy(Reader& reader, Thing animal, std::optional<Thing> place, Instant now) {
  std::vector<Answer> re;
  for (const Lodging& lodging : reader.lodgings_of(animal, now)) re.push_back({lodging.by, Relation::saw});
  if (place) {
    for (const Lodging& lodging : reader.homes_at(*place, now)) {
      const bool known = std::any_of(re.begin(), re.end(), [&](const Answer& a) { return a.event == lodging.by; });
      if (!known) re.push_back({lodging.by, Relation::saw});
    }
  }
  return re;
}

}  // namespace rackside::cli
