#pragma once

#include <optional>
#include <string>

#include "core/book/book.h"
#include "sync/join/roles.h"

namespace rackside::sync::hub {

/// What a joined book remembers of its hub, among its own values.
struct HubLink {
  std::string url;
  std::string token;
  std::string authority;  ///< PEM; empty for http:// on this machine
  std::string name;
  join::Role role = join::Role::helper;
};
std::optional<HubLink> hub_link(core::Book& book);
/// REQUIRES: within Book::write.
void set_hub_link(core::Book& book, const HubLink& link);

}  // namespace rackside::sync::hub
