#include "tests/simulation/script.h"

#include <algorithm>
#include <array>
#include <sstream>
#include <stdexcept>

namespace rackside::simulation {
namespace {

constexpr std::string_view kHead = "rackside simulation 1";
constexpr std::array<std::string_view, kWhats> kWords = {
    "pass", "entry",  "rest",    "undo",   "withdraw", "restore", "settle", "edit",    "enlist",
    "swap", "odd",    "setting", "code",   "sync",     "late",    "clock",  "restart", "join",
    "role", "retire", "lose",    "backup", "revert",   "fork",    "tidy",   "fault"};
constexpr std::array<std::string_view, 3> kSorts = {"hub", "laptop", "phone"};

template <typename Words>
std::size_t index_of(const Words& words, const std::string& word, const std::string& line) {
  const auto found = std::find(words.begin(), words.end(), word);
  if (found == words.end()) throw std::runtime_error("the script does not know “" + word + "” in: " + line);
  return static_cast<std::size_t>(found - words.begin());
}

Setup setup_from(const std::string& line) {
  std::istringstream in(line);
  Setup setup;
  std::string word;
  int clocks = 0;
  if (!(in >> word >> setup.animals >> setup.places >> setup.racks >> clocks) || word != "world")
    throw std::runtime_error("the script's second line is no world: " + line);
  setup.clocks_change = clocks != 0;
  while (in >> word) setup.devices.push_back(static_cast<Sort>(index_of(kSorts, word, line)));
  if (setup.devices.size() < 2 || setup.animals < 1 || setup.places < 1 || setup.racks < 1)
    throw std::runtime_error("a world has two devices, an animal, a place and a rack at least: " + line);
  return setup;
}

Action action_from(const std::string& line) {
  std::istringstream in(line);
  std::string word;
  Action action;
  if (!(in >> word >> action.who >> action.a >> action.b >> action.c) || action.who < 0)
    throw std::runtime_error("an action is a word and four numbers: " + line);
  action.what = static_cast<What>(index_of(kWords, word, line));
  std::getline(in >> std::ws, action.text);
  return action;
}

}  // namespace

std::string to_text(const Script& script) {
  std::ostringstream out;
  const Setup& setup = script.setup;
  out << kHead << "\nworld " << setup.animals << " " << setup.places << " " << setup.racks << " "
      << setup.clocks_change;
  for (const Sort sort : setup.devices) out << " " << kSorts.at(static_cast<std::size_t>(sort));
  out << "\n";
  for (const Action& action : script.actions) {
    out << kWords.at(static_cast<std::size_t>(action.what)) << " " << action.who << " " << action.a << " " << action.b
        << " " << action.c << (action.text.empty() ? "" : " ") << action.text << "\n";
  }
  return out.str();
}

Script script_from_text(const std::string& text) {
  std::istringstream in(text);
  std::string line;
  if (!std::getline(in, line) || line != kHead)
    throw std::runtime_error("a script begins “" + std::string(kHead) + "”");
  Script script;
  std::getline(in, line);
  script.setup = setup_from(line);
  while (std::getline(in, line)) {
    if (!line.empty() && line.front() != '#') script.actions.push_back(action_from(line));
  }
  return script;
}

}  // namespace rackside::simulation
