#include <fmt/format.h>

#include "cli/backup.h"
#include "cli/session.h"
#include "sync/hub/link.h"

namespace rackside::cli {
namespace {

using namespace core;

constexpr std::int64_t kDayMs = 24LL * 60 * 60 * 1000;
/// Common practice, no source: a week's entries are still in people's heads.
constexpr std::int64_t kOldMs = 7 * kDayMs;
/// A book that was begun a moment ago needs no reminder.
constexpr std::int64_t kWorthKeeping = 500;

}  // namespace

std::string backup_reminder(Session& session) {
  Book& book = session.book();
  if (sync::hub::hub_link(book)) return {};  // the hub holds everything that this one has synced
  auto query = book.database().prepare("SELECT total(head_seq - base_seq) FROM branch");
  if (!query.step() || query.integer(0) < kWorthKeeping) return {};
  const auto last = book.own_value("backup_ms");
  if (!last) return "There is no backup of this book yet: `rackside backup FOLDER`, best on another disk.";
  const std::int64_t age = session.now() - std::stoll(*last);
  if (age < kOldMs) return {};
  return fmt::format("The last backup is {} days old: `rackside backup FOLDER`.", age / kDayMs);
}

}  // namespace rackside::cli
