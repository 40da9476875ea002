#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "core/book/book.h"

// Table `due`: what lists have read of animals and places, kept from one list to the next. The fold throws away a row
// when it learns something that the row depends on (Refold::forget_due). A row that is missing, or was read in another
// form, is read again.
namespace rackside::core {

struct KeptRow {
  Thing thing = 0;
  Instant as_of = 0;
  std::string reading;  ///< the form, and the settings that change what is read
  std::string numbers;
  std::string texts;
};

/// Of what is read now; changes when another connection writes.
std::int64_t state_of(Database& database);

/// Keeps rows that were read in state `state`; keeps nothing when the book has changed since or somebody else is
/// writing: a list does not wait for that. Not within a snapshot.
void keep_rows(Book& book, const std::vector<KeptRow>& rows, std::int64_t state);

/// Numbers as four bytes, least first. What does not fit is put as none.
void put_number(std::int64_t number, std::string& out);
constexpr std::int32_t kNoNumber = INT32_MIN;
/// The next number, taken off; none at the end. Here, as a list takes a quarter of a million of them.
inline std::int32_t take_number(ByteSpan& in) {
  if (in.size() < 4) return kNoNumber;
  const auto bits = static_cast<std::uint32_t>(in[0]) | static_cast<std::uint32_t>(in[1]) << 8 |
                    static_cast<std::uint32_t>(in[2]) << 16 | static_cast<std::uint32_t>(in[3]) << 24;
  in = in.subspan(4);
  return static_cast<std::int32_t>(bits);
}

/// Small numbers in fewer bytes: seven bits each, the least first, a difference of either sign folded to a number.
void put_difference(std::int32_t difference, std::string& out);
/// The next one, taken off; 0 at the end.
std::int32_t take_difference(ByteSpan& in);

}  // namespace rackside::core
