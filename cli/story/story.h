#pragma once

#include <nlohmann/json.hpp>
#include <string>
#include <utility>
#include <vector>

#include "cli/session.h"
#include "core/read/life.h"

// An animal's story: in the terminal, as a picture and as a page. All pictures are written here, from its facts.
namespace rackside::cli {

struct StoryOptions {
  std::string svg, page;
  bool plain = false;
};

/// Chart and facts below the lines of `show`.
void tell_life(Session& session, core::Reader& reader, const core::Life& life, bool plain);
/// Writes what --svg and --page ask for.
void write_story(Session& session, core::Reader& reader, const core::Life& life, const StoryOptions& options);

/// A picture of the animal's life, for a screen or paper: 960 units wide, with a title and a description in words for
/// those who cannot see it. Pure.
std::string life_svg(const core::Life& life);
/// The facts in words, each a heading and its text: what stands beside the picture. Pure.
std::vector<std::pair<std::string, std::string>> life_facts(const core::Life& life);
/// A page without anything from elsewhere: picture, facts, and every entry. `entries`: when, who, what, state.
std::string life_page(const core::Life& life, const std::vector<std::vector<std::string>>& entries);

/// The same for programs.
nlohmann::json life_json(const core::Life& life);

/// Text as XML and HTML want it.
std::string escaped(const std::string& text);

}  // namespace rackside::cli
