#pragma once

#include <optional>
#include <string>

#include "cli/session.h"
#include "core/entry/scene.h"

namespace rackside::cli {

/// What a scanned or typed text means.
struct Found {
  core::Named named;                  ///< `thing` 0 where the book does not know the code
  std::string code;                   ///< as read
  std::optional<core::Code> unknown;  ///< well-formed, of an animal or a place, and not in this book: entries are kept
  std::string notice;                 ///< the scanner's keyboard is set wrongly
};

/// A code (bare, link, lower case, through a wrong keyboard) or a short ID. A well-formed code of an animal, a group, a
/// clutch, an egg box or a place that the book does not know is found too: what a helper sees is never refused.
/// Errors: as Session::find.
Found find_scanned(Session& session, core::Reader& reader, const std::string& text);

/// What the screen shows of it. Racks, helpers and scan sheet entries have no scene.
bool has_scene(const Found& found);
core::Scene scene_of(core::Reader& reader, const Found& found, core::Instant at);

/// When something was seen, for a said time; now without one.
core::Instant seen_at(Session& session, core::Reader& reader, const std::optional<core::SaidTime>& said);

}  // namespace rackside::cli
