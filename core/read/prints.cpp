#include "core/read/prints.h"

#include "core/crypto/sha256.h"

namespace rackside::core {
namespace {

constexpr std::size_t kDigestDigits = 16;

std::vector<std::string> texts_of(const Value& own, std::string_view key) {
  std::vector<std::string> texts;
  const Value* list = own.find(key);
  if (list == nullptr || list->as_array() == nullptr) return texts;
  for (const Value& one : *list->as_array()) texts.push_back(one.as_string() != nullptr ? *one.as_string() : "");
  return texts;
}

}  // namespace

std::vector<PrintRecord> prints(Book& book) {
  std::vector<PrintRecord> out;
  auto query = book.database().prepare(
      "SELECT event.id, event.at FROM administration JOIN event ON event.id = administration.event WHERE kind = ? "
      "ORDER BY event.at DESC, event.id DESC");
  query.bind(static_cast<int>(Kind::printed));
  while (query.step()) {
    const EventRow row = query.integer(0);
    const auto event = book.log().event_of(row);
    PrintRecord record{row,
                       query.integer(1),
                       std::string(event->own.text("design")),
                       std::string(event->own.text("on")),
                       event->of,
                       texts_of(event->own, "digests")};
    if (record.codes.size() == record.digests.size()) out.push_back(std::move(record));
  }
  return out;
}

std::map<std::pair<std::string, std::string>, LastPrint> last_prints(Book& book) {
  std::map<std::pair<std::string, std::string>, LastPrint> last;
  for (const PrintRecord& record : prints(book)) {
    for (std::size_t i = 0; i < record.codes.size(); ++i)
      last.try_emplace({record.codes[i], record.design}, LastPrint{record.digests[i], record.on, record.at});
  }
  return last;
}

std::vector<Draft> printed_drafts(const std::string& design, const std::string& on,
                                  const std::vector<std::string>& codes, const std::vector<std::string>& digests) {
  std::vector<Draft> drafts;
  for (std::size_t first = 0; first < codes.size(); first += kMostPrintedInOneEvent) {
    const std::size_t end = std::min(first + kMostPrintedInOneEvent, codes.size());
    Draft draft{.kind = Kind::printed};
    Value::Array said;
    for (std::size_t i = first; i < end; ++i) {
      draft.of.push_back(codes[i]);
      said.emplace_back(digests[i]);
    }
    draft.own = Value::Object{{"design", design}, {"on", on}, {"digests", std::move(said)}};
    drafts.push_back(std::move(draft));
  }
  return drafts;
}

std::string print_digest(std::string_view content) {
  return to_hex(sha256(as_bytes(content))).substr(0, kDigestDigits);
}

}  // namespace rackside::core
