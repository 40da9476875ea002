#include "cli/app.h"

#include <CLI/CLI.hpp>
#include <algorithm>
#include <array>
#include <clocale>
#include <csignal>
#include <nlohmann/json.hpp>
#include <optional>

#include "cli/session.h"
#include "cli/verbs.h"
#include "core/base/words.h"

namespace rackside::cli {
namespace {

constexpr const char* kFooter =
    "Start with `rackside init`, then `rackside rack add` and `rackside animal add`.\n"
    "Where the work can hurt an animal or a person, local rules and a veterinarian decide.\n"
    "Environment: RACKSIDE_BOOK names the book; NO_COLOR switches colours off.\n"
    "Exit status: 0 done; 1 nothing could be read from a picture; 2 usage; 3 mistyped code; 4 unknown; 5 ambiguous;\n"
    "6 bad input; 10-17 the book or the disk; 20-29 another device or the hub; 70 a fault of the program.";

int report(const Session& session, const core::Error& error) {
  const core::FaultInfo& info = core::fault_info(error.fault());
  if (session.json) {
    const nlohmann::json object = {{"error", info.name}, {"message", error.what()}, {"exit", info.exit_status}};
    std::puts(object.dump(-1, ' ', false, nlohmann::json::error_handler_t::replace).c_str());
  } else {
    session.terminal.problem(error.what());
  }
  return info.exit_status;
}

int usage_problem(const CLI::App& app, const CLI::ParseError& error) {
  if (error.get_exit_code() == 0) return app.exit(error);
  app.exit(error);
  return core::fault_info(core::Fault::usage).exit_status;
}

/// Those that need neither pictures, pages nor the network, in groups, the likeliest first. They are most of a day's
/// commands, and setting up all of them takes as long as an entry does: only the group that is asked for is set up.
constexpr std::array<AddVerbs, 10> kDailyGroups = {
    add_entry_verbs,    [](CLI::App& app, Session& session) { add_reading_verbs(app, session); },
    add_question_verbs, add_gene_verbs,
    add_season_verbs,   add_feeding_verbs,
    add_limit_verbs,    add_freezer_verbs,
    add_ticked_verb,    add_check_verb,
};

/// The first word that is no option.
std::string first_word(int argc, const char* const* argv) {
  for (int i = 1; i < argc; ++i) {
    const std::string word = argv[i];
    if (word == "--json" || word.starts_with("--book=")) continue;
    if (word == "--book")
      ++i;
    else
      return word;
  }
  return {};
}

std::vector<std::string> names_of(const CLI::App& app) {
  std::vector<std::string> out;
  for (const CLI::App* verb : app.get_subcommands([](const CLI::App*) { return true; })) {
    if (!verb->get_name().empty()) out.push_back(verb->get_name());
  }
  return out;
}

/// What to say of a word that is none of an app's commands; nothing where it is one.
std::optional<std::string> no_such_verb(const CLI::App& app, const std::string& path, const std::string& word) {
  const std::vector<std::string> names = names_of(app);
  if (word.empty() || word.front() == '-' || std::find(names.begin(), names.end(), word) != names.end()) return {};
  std::string near;
  std::size_t least = std::max<std::size_t>(2, word.size() / 3) + 1;
  for (const std::string& name : names) {
    const std::size_t distance = core::edit_distance(name, word);
    if (distance >= least) continue;
    least = distance;
    near = name;
  }
  return "There is no command `" + path + " " + word + "`." +
         (near.empty() ? "" : " Did you mean `" + path + " " + near + "`?") + " `" + path + " --help` lists them all.";
}

/// A mistyped command, or a mistyped one of a command that has several.
std::optional<std::string> mistyped_verb(const CLI::App& app, int argc, const char* const* argv) {
  const std::string word = first_word(argc, argv);
  if (auto problem = no_such_verb(app, "rackside", word)) return problem;
  if (word.empty() || word.front() == '-') return {};
  const CLI::App* verb = app.get_subcommand(word);
  if (names_of(*verb).empty() || !verb->get_subcommands().empty()) return {};
  for (int i = 1; i + 1 < argc; ++i)
    if (word == argv[i]) return no_such_verb(*verb, "rackside " + word, argv[i + 1]);
  return {};
}

/// The group that holds a verb; none where no daily group does.
AddVerbs group_with(const std::string& verb) {
  for (const AddVerbs add_verbs : kDailyGroups) {
    Session session;
    CLI::App app;
    add_verbs(app, session);
    const std::vector<std::string> names = names_of(app);
    if (std::find(names.begin(), names.end(), verb) != names.end()) return add_verbs;
  }
  return nullptr;
}

/// A daily verb that is asked for a page.
bool wants_page(int argc, const char* const* argv) {
  for (int i = 1; i < argc; ++i) {
    const std::string word = argv[i];
    if (word == "--sheet" || word.starts_with("--sheet=")) return true;
  }
  return false;
}

}  // namespace

int run_verbs(int argc, const char* const* argv, AddVerbs add_verbs) {
  std::setlocale(LC_CTYPE, "C.UTF-8");  // for character widths; nothing else reads the locale
  std::signal(SIGPIPE, SIG_IGN);
  Session session;
  CLI::App app{"Rackside keeps the book of a snake room: labels, entries at the tub, and what follows from them.",
               "rackside"};
  app.footer(kFooter);
  app.require_subcommand(1);
  app.fallthrough();
  app.set_version_flag("--version", "rackside 0.1.0");
  app.add_option("--book", session.book_path,
                 "The book (default: RACKSIDE_BOOK, else rackside/rackside.book in the XDG data folder)");
  app.add_flag("--json", session.json, "Answer as JSON, for programs");
  add_verbs(app, session);
  try {
    app.parse(argc, argv);
    return 0;
  } catch (const CLI::ParseError& error) {
    const auto mistyped = error.get_exit_code() == 0 ? std::nullopt : mistyped_verb(app, argc, argv);
    return mistyped ? report(session, core::Error(core::Fault::usage, *mistyped)) : usage_problem(app, error);
  } catch (const core::Error& error) {
    return report(session, error);
  } catch (const std::exception& error) {
    return report(session, core::Error(core::Fault::internal, std::string("A fault of the program: ") + error.what() +
                                                                  ". The book is as it was before; please report it."));
  }
}

AddVerbs daily_verbs_for(int argc, const char* const* argv) {
  const std::string word = first_word(argc, argv);
  if (word.empty() || word.front() == '-' || (word == "today" && wants_page(argc, argv))) return nullptr;
  return group_with(word);
}

}  // namespace rackside::cli
