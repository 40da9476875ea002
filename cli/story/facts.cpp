#include <fmt/format.h>

#include <algorithm>

#include "cli/story/axis.h"
#include "cli/story/story.h"
#include "core/entry/shapes.h"
#include "core/read/inspection.h"

namespace rackside::cli {

using core::Life;

namespace {

std::string days(int count) {
  return fmt::format("{} day{}", count, count == 1 ? "" : "s");
}

std::string feeding_text(const Life& life) {
  if (life.nights.empty()) return {};
  std::string out = fmt::format("{} meals, {} refusals", life.meals(), life.refusals());
  if (life.usual_gap() > 0)
    out += fmt::format("; usually {} between meals, {} at most", days(life.usual_gap()), days(life.longest_gap()));
  for (auto one = life.nights.rbegin(); one != life.nights.rend(); ++one) {
    if (one->outcome != "ate") continue;
    return out + "; last ate on " + day_for_people(one->night) + (one->prey.empty() ? "" : " (" + one->prey + ")");
  }
  return out;
}

std::string shedding_text(const Life& life) {
  if (life.sheds.empty()) return {};
  const std::vector<int> intervals = life.shed_intervals();
  std::string out = fmt::format("{} shed{}, last on {}", life.sheds.size(), life.sheds.size() == 1 ? "" : "s",
                                day_for_people(life.sheds.back()));
  if (!intervals.empty())
    out += fmt::format("; {} apart ({} to {})", days(core::median_of(intervals)),
                       *std::min_element(intervals.begin(), intervals.end()),
                       *std::max_element(intervals.begin(), intervals.end()));
  return out;
}

std::string weight_text(const Life& life) {
  if (life.weights.empty()) return {};
  const auto heaviest = std::max_element(life.weights.begin(), life.weights.end(),
                                         [](const auto& a, const auto& b) { return a.second < b.second; });
  std::string out =
      core::shapes::said_grams(life.weights.back().second) + " on " + day_for_people(life.weights.back().first);
  if (life.weights.size() > 1) {
    out += fmt::format("; {} weighings since {}", life.weights.size(), day_for_people(life.weights.front().first));
    if (heaviest->first != life.weights.back().first)
      out += "; most " + core::shapes::said_grams(heaviest->second) + " on " + day_for_people(heaviest->first);
  }
  return out;
}

std::string company_text(const Life& life) {
  std::string out;
  for (const core::LifeStay& visit : life.visits) {
    const std::string until = visit.until ? day_for_people(*visit.until) : "now";
    out += (out.empty() ? "" : "; ") + std::string("with ") + (visit.partner ? visit.partner->label : "somebody") +
           " from " + day_for_people(visit.since) + " to " + until;
  }
  return out;
}

std::string clutches_text(const Life& life) {
  std::string out;
  for (const core::Clutch& clutch : life.clutches) {
    out += (out.empty() ? "" : "; ") + day_for_people(clutch.laid);
    if (clutch.good) out += fmt::format(": {} good, {} slugs", *clutch.good, clutch.slugs.value_or(0));
    if (clutch.hatched > 0) out += fmt::format(", {} hatched", clutch.hatched);
  }
  return out;
}

std::string young_text(const Life& life) {
  constexpr std::size_t kShown = 12;
  std::string out;
  for (std::size_t i = 0; i < std::min(life.young.size(), kShown); ++i)
    out += (i == 0 ? "" : ", ") + life.young[i].label;
  if (life.young.size() > kShown) out += fmt::format(" and {} more", life.young.size() - kShown);
  return out;
}

std::string corrected_text(const Life& life) {
  std::string out;
  for (const core::LifeCorrection& one : life.corrections) {
    out += (out.empty() ? "" : "; ") + std::string("“") + one.what + "” of " + day_for_people(one.day);
    if (one.disputed)
      out += ", whose withdrawal is a question";
    else if (one.instead.empty())
      out += ", withdrawn";
    else
      out += ", corrected to “" + one.instead + "”";
    if (one.corrected != 0) out += " on " + day_for_people(one.corrected) + (one.by.empty() ? "" : " by " + one.by);
  }
  return out;
}

}  // namespace

std::vector<std::pair<std::string, std::string>> life_facts(const Life& life) {
  std::vector<std::pair<std::string, std::string>> out;
  const auto add = [&](const char* heading, const std::string& text) {
    if (!text.empty()) out.emplace_back(heading, text);
  };
  add("Parents", life.parents);
  add("Weight", weight_text(life));
  add("Feeding", feeding_text(life));
  add("Sheds", shedding_text(life));
  add("Paired", company_text(life));
  add("Clutches", clutches_text(life));
  add("Young", young_text(life));
  add("Corrected", corrected_text(life));
  if (life.ended) add("End", life.end + " on " + day_for_people(*life.ended));
  return out;
}

nlohmann::json life_json(const Life& life) {
  using Json = nlohmann::json;
  const auto day = [](core::DayNumber number) { return core::date_text(number); };
  Json weights = Json::array();
  for (const auto& [when, tenths] : life.weights) weights.push_back({{"day", day(when)}, {"grams_tenths", tenths}});
  Json nights = Json::array();
  for (const core::LifeNight& one : life.nights)
    nights.push_back({{"night", day(one.night)}, {"outcome", one.outcome}, {"amount", one.amount}, {"prey", one.prey}});
  Json visits = Json::array();
  for (const core::LifeStay& one : life.visits)
    visits.push_back({{"with", one.partner ? one.partner->label : ""},
                      {"since", day(one.since)},
                      {"until", one.until ? day(*one.until) : ""}});
  Json facts;
  for (const auto& [heading, text] : life_facts(life)) facts[heading] = text;
  return {{"weights", weights},
          {"nights", nights},
          {"visits", visits},
          {"shed_intervals", life.shed_intervals()},
          {"meals", life.meals()},
          {"refusals", life.refusals()},
          {"corrections", life.corrections.size()},
          {"facts", facts}};
}

}  // namespace rackside::cli
