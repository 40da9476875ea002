#pragma once

#include <map>
#include <set>
#include <string>
#include <vector>

#include "core/book/book.h"

namespace rackside::simulation {

/// The visible state of a book, a line a row, in words that mean the same in every book and in the reference fold.
using Rows = std::set<std::string>;

/// What both sides fill in; `text` gives the line.
struct EventRowText {
  core::EventRef event;
  core::Instant at = 0;
  core::Kind kind = core::Kind::unknown;
  bool read = false, sure = false, said = false, gone = false, disputed = false;
};
struct StayRowText {
  std::string animal, place, partner;
  core::Instant since = 0;
  std::optional<core::Instant> until;
  bool visit = false;
  core::EventRef by;
  std::optional<core::EventRef> ended_by;
};
struct MatterRowText {
  core::RuleId rule = core::RuleId::feeding;
  std::string subject;  ///< a code; empty for a withdrawal
  core::Instant at = 0;
  core::EventRef lead;
  std::string outcome;
  std::int64_t amount = 0;
  bool asks = false;
  std::vector<std::string> answers;
  std::vector<core::EventRef> members;
  std::map<std::string, std::string> detail;  ///< values as compact JSON
};

std::string short_name(const core::EventRef& ref);
std::string text(const EventRowText& row);
std::string text(const StayRowText& row);
std::string text(const MatterRowText& row);
std::string account_text(const std::string& subject, core::Instant at, const core::EventRef& event);
std::string scan_text(const std::string& place, core::Instant at, const core::EventRef& event, int how,
                      const std::set<std::string>& bound);
std::string field_text(const std::string& subject, const std::string& name, const std::string& value,
                       const core::EventRef& event, const std::vector<core::EventRef>& others);
std::string setting_text(const std::string& key, const std::string& value);
std::string standing_text(const core::DeviceId& device, core::Role role, bool clock, bool retired,
                          const std::optional<core::EventRef>& read_until, const std::string& roles);

Rows rows_of(core::Book& book);

/// Lines that only one of the two has, at most `most`, each with whose it is; empty when they are equal.
std::vector<std::string> differences(const Rows& book, const Rows& reference, std::size_t most = 12);

}  // namespace rackside::simulation
