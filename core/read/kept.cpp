#include "core/read/kept.h"

#include "core/book/lock.h"

namespace rackside::core {
namespace {

bool nobody_writes(Book& book) {
  if (book.database().in_memory()) return true;
  try {
    const BookLock lock(book.path() + "-lock", 0);
    return true;
  } catch (const Error&) {
    return false;
  }
}

}  // namespace

std::int64_t state_of(Database& database) {
  auto query = database.prepare("PRAGMA data_version");
  query.step();
  return query.integer(0);
}

void keep_rows(Book& book, const std::vector<KeptRow>& rows, std::int64_t state) {
  if (!nobody_writes(book)) return;
  book.write([&] {
    if (state_of(book.database()) != state) return;  // what was read may be old already
    for (const KeptRow& row : rows) {
      book.database()
          .prepare("INSERT OR REPLACE INTO due VALUES(?, ?, ?, ?, ?)")
          .bind(row.thing, row.as_of, row.reading, as_bytes(row.numbers), row.texts)
          .run();
    }
  });
}

void put_number(std::int64_t number, std::string& out) {
  const bool fits = number > INT32_MIN && number <= INT32_MAX;
  const auto bits = static_cast<std::uint32_t>(fits ? static_cast<std::int32_t>(number) : kNoNumber);
  for (int shift = 0; shift < 32; shift += 8) out += static_cast<char>(static_cast<unsigned char>(bits >> shift));
}

void put_difference(std::int32_t difference, std::string& out) {
  const auto bits = static_cast<std::uint32_t>(difference);
  std::uint32_t folded = (bits << 1) ^ (difference < 0 ? ~0U : 0U);
  for (; folded >= 0x80; folded >>= 7) out += static_cast<char>(static_cast<unsigned char>(folded | 0x80));
  out += static_cast<char>(static_cast<unsigned char>(folded));
}

std::int32_t take_difference(ByteSpan& in) {
  std::uint32_t folded = 0;
  for (int shift = 0; shift < 35 && !in.empty(); shift += 7) {
    const std::uint8_t byte = in.front();
    in = in.subspan(1);
    folded |= static_cast<std::uint32_t>(byte & 0x7fU) << shift;
    if (byte < 0x80) break;
  }
  return static_cast<std::int32_t>((folded >> 1) ^ (folded & 1 ? ~0U : 0U));
}

}  // namespace rackside::core
