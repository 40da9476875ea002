#include "core/read/accounts.h"

#include <algorithm>

namespace rackside::core {

std::vector<AccountFact> accounts_of(Reader& reader, Thing animal, std::initializer_list<Kind> kinds) {
  std::vector<AccountFact> out;
  auto query =
      reader.book().database().prepare("SELECT at, kind, event FROM account WHERE subject = ? ORDER BY at, event");
  query.bind(animal);
  while (query.step()) {
    const Kind kind = static_cast<Kind>(query.integer(1));
    if (kinds.size() == 0 || std::find(kinds.begin(), kinds.end(), kind) != kinds.end())
      out.push_back({query.integer(0), kind, query.integer(2)});
  }
  return out;
}

}  // namespace rackside::core
