#include "cli/sync/join_sheet.h"

#include "core/base/error.h"
#include "labels/draw/draw.h"
#include "labels/read/read.h"
#include "sync/files/whole_file.h"

namespace rackside::cli {

using labels::Picture;

namespace {

// Millimetres of an A4 page.
constexpr double kWidth = 210;
constexpr double kHeight = 297;
constexpr double kMargin = 24;
constexpr double kModule = 2;
constexpr double kSymbolTop = 62;
constexpr double kSmall = 5;
constexpr int kProofDpi = 150;
constexpr std::size_t kGroupsALine = 20;  ///< characters: four groups of four and a space each

/// Text from the top down.
class Page {
 public:
  Page() {
    picture_.width = kWidth;
    picture_.height = kHeight;
  }

  void line(const std::string& text, double size, labels::Weight weight = labels::Weight::regular) {
    y_ += size * 1.5;
    labels::TextLine out;
    out.box = {kMargin, y_ - size, kWidth - 2 * kMargin, size * 1.4};
    out.baseline = y_;
    out.size = size;
    out.text = text;
    out.weight = weight;
    picture_.shapes.push_back(out);
  }

  void symbol(const std::string& text) {
    labels::PlacedSymbol out;
    out.symbol = labels::make_symbol(text);
    out.module = kModule;
    out.x = (kWidth - kModule * out.symbol.size) / 2;
    out.y = kSymbolTop;
    out.payload = text;
    out.name = "the sheet's code";
    y_ = out.y + out.side() + kModule * labels::kQuietModules;
    picture_.shapes.push_back(out);
  }

  void skip(double millimetres) { y_ += millimetres; }
  const Picture& picture() const { return picture_; }

 private:
  Picture picture_;
  double y_ = kMargin;
};

Picture draw(const JoinSheet& sheet) {
  Page page;
  page.line("New phone? Begin here.", 11, labels::Weight::bold);
  page.line("Scan this with the phone’s camera app:", 6);
  page.symbol(sheet.trust_url);
  page.line(sheet.trust_url, kSmall);
  page.skip(6);
  page.line("Compare before you trust:", 6, labels::Weight::bold);
  for (std::size_t at = 0; at < sheet.fingerprint.size(); at += kGroupsALine)
    page.line(sheet.fingerprint.substr(at, kGroupsALine), 7, labels::Weight::bold);
  page.skip(6);
  page.line("1   Compare the SHA-256 above with the page.", kSmall);
  page.line("2   Install the authority as the page says (iPhone: two switches).", kSmall);
  page.line("3   Tap “Did it work?”; put the secure page on the home screen.", kSmall);
  page.line("4   Ask the keeper for a code and scan it inside the secure page.", kSmall);
  page.skip(4);
  page.line("If a single character differs, stop and ask the keeper.", kSmall);
  page.line("Hub " + sheet.hub_name + ". This sheet holds no secret.", kSmall);
  return page.picture();
}

void prove(const Picture& page, const std::string& text) {
  labels::ReadOptions options;
  options.scope = labels::ReadScope::any;
  const auto reading = labels::read_symbols(labels::draw_gray(page, kProofDpi), options);
  if (reading.symbols.size() == 1 && reading.symbols.front().text == text) return;
  throw core::Error(core::Fault::internal, "The sheet's code does not read back, so no sheet was written.");
}

}  // namespace

void write_join_sheet(const std::string& path, const JoinSheet& sheet) {
  const Picture page = draw(sheet);
  prove(page, sheet.trust_url);
  sync::WholeFile file(path);
  file.write(labels::draw_pdf({page}, "Rackside: a new phone"));
  file.keep();
}

}  // namespace rackside::cli
