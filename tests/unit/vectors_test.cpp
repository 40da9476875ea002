// The same table that tests/vectors/run.mjs runs in JavaScript. Each verdict was written by hand from core/log/FORM.md.

#include <fstream>
#include <nlohmann/json.hpp>
#include <string>

#include "core/base/bytes.h"
#include "core/log/event.h"
#include "core/log/value.h"
#include "tests/support/catch.h"

namespace {

using namespace rackside::core;

/// %HH stands for a byte.
std::string unescaped(const std::string& text) {
  std::string out;
  for (std::size_t i = 0; i < text.size(); ++i) {
    if (text[i] != '%') {
      out += text[i];
      continue;
    }
    const auto byte = array_from_hex<1>(text.substr(i + 1, 2));
    REQUIRE(byte);
    out += static_cast<char>((*byte)[0]);
    i += 2;
  }
  return out;
}

/// Pieces: a text, or [text, times].
std::string bytes_of(const nlohmann::json& pieces) {
  std::string out;
  for (const auto& piece : pieces) {
    const std::string text = unescaped((piece.is_array() ? piece[0] : piece).get<std::string>());
    for (int left = piece.is_array() ? piece[1].get<int>() : 1; left > 0; --left) out += text;
  }
  return out;
}

TEST_CASE("every vector of event bytes gets the verdict of the table") {
  std::ifstream file(RACKSIDE_SOURCE_DIR "/tests/vectors/event-bytes.jsonl");
  REQUIRE(file);
  int rows = 0;
  for (std::string line; std::getline(file, line); ++rows) {
    const auto row = nlohmann::json::parse(line);
    const std::string bytes = bytes_of(row["bytes"]);
    INFO(row["name"].get<std::string>());
    CHECK(std::string(word_of(parse_event_bytes(bytes).problem)) == row["verdict"].get<std::string>());
    CHECK(decode_event(bytes).event.has_value() == (row["verdict"] == "none"));
  }
  CHECK(rows > 200);
}

TEST_CASE("what is well-formed is read as an outside parser reads it") {
  std::ifstream file(RACKSIDE_SOURCE_DIR "/tests/vectors/event-bytes.jsonl");
  for (std::string line; std::getline(file, line);) {
    const auto row = nlohmann::json::parse(line);
    if (row["verdict"] != "none") continue;
    const std::string bytes = bytes_of(row["bytes"]);
    INFO(row["name"].get<std::string>());
    const auto expected = nlohmann::json::parse(bytes);
    CHECK(nlohmann::json::parse(write_compact(parse_event_bytes(bytes).value)) == expected);
  }
}

}  // namespace
