#pragma once

#include <cstdint>
#include <memory>
#include <optional>
#include <vector>

#include "core/log/event.h"
#include "core/time/zone.h"

namespace rackside::core {

/// A book-local number of an event; means nothing outside that book.
using EventRow = std::int64_t;
/// A book-local number of a code, after joined codes were followed.
using Thing = std::int64_t;

/// One live event as the rules see it: read, not void, its time judged.
struct Account {
  EventRef ref;
  EventRow row = 0;
  Kind kind = Kind::unknown;
  Instant observed = 0;
  bool sure = false;  ///< the clock behind `observed` was checked, or a person gave date and time
  bool said = false;  ///< a person gave the time
  std::shared_ptr<const Event> event;
};

/// What one account of a group says of another.
struct Link {
  std::optional<Relation> named;  ///< it names the other, directly with that relation, or through others (`saw`)
  bool after_on_line = false;     ///< same device, same branch, later number
};

/// All live accounts of one matter. `link(i, j)` tells what i says of j.
class Group {
 public:
  explicit Group(std::vector<Account> accounts)
      : accounts_(std::move(accounts)), links_(accounts_.size() * accounts_.size()) {}
  std::size_t size() const { return accounts_.size(); }
  const Account& operator[](std::size_t i) const { return accounts_[i]; }
  const std::vector<Account>& accounts() const { return accounts_; }
  const Link& link(std::size_t i, std::size_t j) const { return links_[i * size() + j]; }
  Link& link(std::size_t i, std::size_t j) { return links_[i * size() + j]; }
  /// The start of the group before this one of the same subject, where the rule asks for it.
  std::optional<Instant> previous_start;

 private:
  std::vector<Account> accounts_;
  std::vector<Link> links_;
};

constexpr Instant kSureGap = 30 * kMinute;

/// -1: i was before j; 1: after; 0: nobody can say. `re` decides where it speaks; else, on one line of one device with
/// no said time, the number; else both times sure and at least 30 minutes apart; else nothing.
int order_between(const Group& group, std::size_t i, std::size_t j);

/// Rank by which "the greatest" is chosen wherever a choice must be made: sure before unsure times, then the time,
/// then (device, seq, hash).
bool ranks_below(const Account& a, const Account& b);

}  // namespace rackside::core
