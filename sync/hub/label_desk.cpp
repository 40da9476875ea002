#include "sync/hub/label_desk.h"

#include <algorithm>
#include <cctype>

#include "sync/protocol/lines.h"

namespace rackside::sync::hub {

using core::Error;
using core::Fault;
using core::Value;
using http::Response;

namespace {

constexpr const char* kNoPrinter = "This hub was started without a printer of labels.";

/// What a print came to, as a header: JSON in percent encoding, so that names in any script go through. Warnings that
/// do not fit are left out; a header has its limits.
std::string report_of(const LabelPages& pages) {
  constexpr std::size_t kMostWarnings = 1200;
  Value::Array warnings;
  std::size_t size = 0;
  for (const std::string& warning : pages.warnings) {
    size += warning.size();
    if (size > kMostWarnings) break;
    warnings.push_back(core::mend_text(warning));
  }
  const Value report = Value::Object{{"labels", static_cast<std::int64_t>(pages.labels)},
                                     {"pages", static_cast<std::int64_t>(pages.pages)},
                                     {"reach_mm", std::int64_t{pages.reach_mm}},
                                     {"warnings", std::move(warnings)}};
  std::string out;
  for (const unsigned char c : write_compact(report)) {
    if (std::isalnum(c)) {
      out += static_cast<char>(c);
    } else {
      constexpr char kDigits[] = "0123456789ABCDEF";
      out += {'%', kDigits[c >> 4], kDigits[c & 15]};
    }
  }
  return out;
}

}  // namespace

Response LabelDesk::offer() const {
  if (!printer_.offer) throw Error(Fault::usage, kNoPrinter);
  const LabelOffer offer = printer_.offer();
  Value::Array kinds;
  for (const std::string& kind : offer.kinds) kinds.push_back(kind);
  Value::Array sheets;
  for (const LabelOffer::Sheet& sheet : offer.sheets)
    sheets.push_back(Value::Object{{"name", sheet.name},
                                   {"columns", sheet.columns},
                                   {"rows", sheet.rows},
                                   {"width_tenths_mm", sheet.width_tenths_mm},
                                   {"height_tenths_mm", sheet.height_tenths_mm}});
  Response out;
  out.content_type = std::string(kLinesType);
  out.body = to_line(Value::Object{{"kinds", std::move(kinds)}, {"sheets", std::move(sheets)}});
  return out;
}

LabelPages LabelDesk::print(core::Book& book, const LabelWish& wish, std::int64_t now_ms) {
  if (!printer_.print) throw Error(Fault::usage, kNoPrinter);
  const std::lock_guard lock(printing_);
  return printer_.print(book, wish, now_ms);
}

LabelWish wish_of(const Value& asked) {
  LabelWish wish{std::string(asked.text("kind")),
                 {},
                 asked.flag("changed"),
                 std::string(asked.text("sheet")),
                 static_cast<int>(std::clamp<std::int64_t>(asked.number("first", 1), 0, 10'000))};
  const Value* codes = asked.find("codes");
  if (codes == nullptr || codes->as_array() == nullptr) return wish;
  for (const Value& one : *codes->as_array()) {
    const core::CodeReading code = core::read_code(one.as_string() ? *one.as_string() : std::string());
    if (!code.code) throw Error(Fault::bad_code, "One of the codes to print is none. Nothing was printed.");
    wish.codes.push_back(code.code->str());
  }
  return wish;
}

Response pages_response(LabelPages pages) {
  Response out;
  out.content_type = "application/pdf";
  out.fields = {{"Content-Disposition", "attachment; filename=\"rackside-labels.pdf\""},
                {"Rackside-Report", report_of(pages)}};
  out.body = std::move(pages.pdf);
  return out;
}

}  // namespace rackside::sync::hub
