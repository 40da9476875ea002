// Prints random mutations of events with the verdict of core/log/value on each, for tests/vectors/run.mjs to judge
// again: `event_mutations SEED COUNT` writes lines "<hex> <verdict>". The same seed prints the same lines.

#include <cstdlib>
#include <iostream>
#include <random>
#include <string>
#include <string_view>
#include <vector>

#include "core/base/bytes.h"
#include "core/log/value.h"

namespace {

using rackside::core::as_bytes;
using rackside::core::parse_event_bytes;
using rackside::core::to_hex;

using Random = std::mt19937_64;

const std::vector<std::string_view>& originals() {
  static const std::vector<std::string_view> kTexts = {
      R"({"v":1,"kind":"fed","of":["A7K2M9QX4A"],"wall":1764061200123,"items":[{"prey":"rat","count":2}]})",
      R"({"v":1,"a":[0,-1,9007199254740991,-9007199254740991,true,false,null],"b":{"c":{},"d":[]}})",
      "{\"v\":1,\"text\":\"\xC3\xA9\xE2\x82\xAC\xF0\x9F\x90\x8D \\\" \\\\ \\/ \\b\\f\\n\\r\\t \\u0001 \\u001f\"}",
      R"({"v":1,"a_very_long_key_of_thirty_two___":"x","_":[[[[[]]]]]})",
  };
  return kTexts;
}

// Pieces that sit on the edges of the rules.
const std::vector<std::string_view>& pieces() {
  using namespace std::string_view_literals;
  static const std::vector<std::string_view> kPieces = {"\""sv,
                                                        "\\"sv,
                                                        "\\u0000"sv,
                                                        "\\u001F"sv,
                                                        "\\u0020"sv,
                                                        "\\uD83D"sv,
                                                        "\\u00"sv,
                                                        "{"sv,
                                                        "}"sv,
                                                        "["sv,
                                                        "]"sv,
                                                        ":"sv,
                                                        ","sv,
                                                        " "sv,
                                                        "\n"sv,
                                                        "\t"sv,
                                                        "\0"sv,
                                                        "\x01"sv,
                                                        "\x7F"sv,
                                                        "\xC0\x80"sv,
                                                        "\xED\xA0\x80"sv,
                                                        "\xFF"sv,
                                                        "\xC3"sv,
                                                        "\xEF\xBB\xBF"sv,
                                                        "0"sv,
                                                        "-0"sv,
                                                        "01"sv,
                                                        "1.0"sv,
                                                        "1e3"sv,
                                                        "-"sv,
                                                        "9007199254740992"sv,
                                                        "true"sv,
                                                        "nul"sv,
                                                        "\"v\":1,"sv,
                                                        "\"a\":0,"sv,
                                                        ",\"a\":1"sv,
                                                        "\xF4\x90\x80\x80"sv,
                                                        "\xE0\x9F\xBF"sv,
                                                        "[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[["sv,
                                                        "\"A\":1"sv};
  return kPieces;
}

std::size_t below(Random& random, std::size_t limit) {
  return static_cast<std::size_t>(random() % limit);
}

void mutate(Random& random, std::string& text) {
  const std::size_t at = below(random, text.size() + 1);
  switch (below(random, 5)) {
    case 0:
      text.insert(at, pieces()[below(random, pieces().size())]);
      break;
    case 1:
      text.erase(at, 1 + below(random, 4));
      break;
    case 2:
      text.insert(at, text.substr(below(random, text.size() + 1), below(random, 24)));
      break;
    case 3:
      text.resize(at);
      break;
    default:
      if (at < text.size()) text[at] = static_cast<char>(random());
  }
}

std::string mutant(Random& random) {
  std::string text(originals()[below(random, originals().size())]);
  for (std::size_t left = below(random, 4); left > 0; --left) mutate(random, text);
  return text;
}

}  // namespace

int main(int argc, char** argv) {
  if (argc != 3) {
    std::cerr << "usage: event_mutations SEED COUNT\n";
    return 2;
  }
  Random random(std::strtoull(argv[1], nullptr, 10));
  for (long left = std::strtol(argv[2], nullptr, 10); left > 0; --left) {
    const std::string text = mutant(random);
    std::cout << to_hex(as_bytes(text)) << ' ' << word_of(parse_event_bytes(text).problem) << '\n';
  }
}
