#include "cli/photos/message.h"

#include <nlohmann/json.hpp>

#include "core/base/bytes.h"

namespace rackside::cli {
namespace {

using Json = nlohmann::json;

Json to_json(const labels::Corners& corners) {
  Json out = Json::array();
  for (const auto& corner : corners) {
    out.push_back(corner.x);
    out.push_back(corner.y);
  }
  return out;
}

labels::Corners corners_of(const Json& json) {
  labels::Corners corners;
  for (std::size_t i = 0; i < corners.size(); ++i)
    corners[i] = {json.at(2 * i).get<double>(), json.at(2 * i + 1).get<double>()};
  return corners;
}

}  // namespace

std::string to_line(const PictureOutcome& outcome) {
  Json out = {{"fault", core::fault_info(outcome.fault).name}, {"message", outcome.message}};
  if (outcome.reading) {
    const labels::PictureReading& reading = *outcome.reading;
    Json symbols = Json::array();
    for (const auto& symbol : reading.symbols)
      symbols.push_back({{"text", symbol.text}, {"corners", to_json(symbol.corners)}});
    Json unread = Json::array();
    for (const auto& spot : reading.unread)
      unread.push_back({{"why", static_cast<int>(spot.why)}, {"corners", to_json(spot.corners)}});
    out["reading"] = {{"width", reading.width},
                      {"height", reading.height},
                      {"foreign", reading.foreign},
                      {"symbols", symbols},
                      {"unread", unread}};
  }
  return out.dump(-1, ' ', false, Json::error_handler_t::replace);
}

PictureOutcome outcome_of(const std::string& line) {
  try {
    const Json json = Json::parse(line);
    PictureOutcome outcome;
    outcome.message = json.at("message").get<std::string>();
    for (const core::FaultInfo& info : core::error_table()) {
      if (info.name == json.at("fault").get<std::string>()) outcome.fault = info.fault;
    }
    if (!json.contains("reading")) return outcome;
    const Json& from = json.at("reading");
    labels::PictureReading reading;
    reading.width = from.at("width").get<int>();
    reading.height = from.at("height").get<int>();
    reading.foreign = from.at("foreign").get<std::size_t>();
    for (const Json& symbol : from.at("symbols")) {
      const auto text = symbol.at("text").get<std::string>();
      reading.symbols.push_back({text, corners_of(symbol.at("corners")), core::read_code(text)});
    }
    for (const Json& spot : from.at("unread"))
      reading.unread.push_back(
          {corners_of(spot.at("corners")), static_cast<labels::Unread>(spot.at("why").get<int>())});
    outcome.reading = std::move(reading);
    return outcome;
  } catch (const Json::exception& error) {
    throw core::Error(core::Fault::internal,
                      std::string("The picture reader answered nonsense: ") + error.what() + ".");
  }
}

}  // namespace rackside::cli
