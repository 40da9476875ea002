#include "sync/hub/link.h"

namespace rackside::sync::hub {

using core::Book;

std::optional<HubLink> hub_link(Book& book) {
  const auto url = book.own_value("hub_url");
  if (!url) return std::nullopt;
  HubLink link{.url = *url, .token = book.own_value("hub_token").value_or("")};
  link.authority = book.own_value("hub_authority").value_or("");
  link.name = book.own_value("hub_name").value_or("");
  link.role = join::role_from_name(book.own_value("hub_role").value_or("")).value_or(join::Role::helper);
  return link;
}

void set_hub_link(Book& book, const HubLink& link) {
  book.set_own_value("hub_url", link.url);
  book.set_own_value("hub_token", link.token);
  book.set_own_value("hub_authority", link.authority);
  book.set_own_value("hub_name", link.name);
  book.set_own_value("hub_role", std::string(role_name(link.role)));
}

}  // namespace rackside::sync::hub
