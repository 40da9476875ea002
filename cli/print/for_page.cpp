#include "cli/print/for_page.h"

#include <fmt/format.h>

#include <array>
#include <cmath>

#include "cli/print/hand_over.h"
#include "labels/sheet/marks.h"

namespace rackside::cli {
namespace {

using namespace core;
using labels::LabelKind;
using sync::hub::LabelOffer;
using sync::hub::LabelPages;
using sync::hub::LabelWish;

/// A PDF is held in memory, and the hub serves others meanwhile.
constexpr std::size_t kMostLabels = 1000;

/// Kinds that need nothing but things of the register. The others have verbs.
constexpr std::array kKinds = {LabelKind::place,     LabelKind::strip, LabelKind::animal_card,
                               LabelKind::hatchling, LabelKind::sale,  LabelKind::helper_badge};

bool is_of_places(LabelKind kind) {
  return kind == LabelKind::place || kind == LabelKind::strip;
}

LabelOffer offer() {
  LabelOffer out;
  for (const LabelKind kind : kKinds) out.kinds.emplace_back(word_of(kind));
  const auto tenths = [](double mm) { return static_cast<int>(std::lround(mm * 10)); };
  for (const labels::SheetSpec& sheet : labels::built_in_sheets())
    out.sheets.push_back(
        {sheet.name, sheet.columns, sheet.rows, tenths(sheet.label_width), tenths(sheet.label_height)});
  return out;
}

/// Gathers what a wish names.
class Gathering {
 public:
  Gathering(Reader& reader, LabelKind kind, Instant now) : reader_(reader), kind_(kind), now_(now) {}

  /// Why cards that were asked for are not among them.
  std::vector<std::string> left_out;

  std::vector<SourcedLabel> of(const std::vector<std::string>& codes) {
    std::vector<Named> things;
    for (const std::string& code : codes) things.push_back(thing(code));
    if (things.empty()) things = everything();
    for (const Named& one : things) add(one);
    return std::move(out_);
  }

 private:
  Named thing(const std::string& code) {
    const auto found = reader_.thing_of(code);
    if (!found) throw Error(Fault::unknown_code, "The book does not know " + code + " (any more). Choose anew.");
    return reader_.named(*found);
  }

  std::vector<Named> everything() {
    if (kind_ == LabelKind::helper_badge) return reader_.all("helper");
    return reader_.racks();
  }

  void add(const Named& one) {
    if (one.kind == "rack" && is_of_places(kind_)) {
      for (SourcedLabel& label : place_labels(reader_, one, kind_, "")) out_.push_back(std::move(label));
    } else if (one.kind == "rack" && kind_ != LabelKind::helper_badge) {
      for (const Thing place : reader_.places_of(one.thing)) add_animals_at(place);
    } else if (one.kind == "place" && is_of_places(kind_)) {
      labels::Label label = place_label(reader_, one.thing, "");
      label.kind = kind_;
      out_.push_back({one.code, std::move(label)});
    } else if (fits(one)) {
      add_card(one);
    } else {
      throw Error(Fault::usage, fmt::format("A label of the kind “{}” cannot be printed for {}, which is a {}.",
                                            word_of(kind_), one.label, one.kind));
    }
  }

  void add_card(const Named& one) {
    try {
      out_.push_back({one.code, label_of(desk_, one, kind_)});
    } catch (const BrokenCard& error) {
      left_out.emplace_back(error.what());
    }
  }

  void add_animals_at(Thing place) {
    for (const Lodging& one : reader_.homes_at(place, now_)) add(reader_.named(one.animal));
  }

  bool fits(const Named& one) const {
    if (kind_ == LabelKind::helper_badge) return one.kind == "helper";
    return !is_of_places(kind_) && (one.kind == "animal" || one.kind == "group");
  }

  Reader& reader_;
  LabelKind kind_;
  Instant now_;
  LabelDesk desk_{.reader = reader_, .host = "", .now = now_};
  std::vector<SourcedLabel> out_;
};

LabelKind kind_of(const LabelWish& wish) {
  const auto kind = labels::label_kind_of(wish.kind);
  if (!kind || std::find(kKinds.begin(), kKinds.end(), *kind) == kKinds.end())
    throw Error(Fault::usage, "“" + wish.kind + "” is no kind of label that is printed from the page.");
  return *kind;
}

void check_count(const PrintWork& work, const LabelWish& wish) {
  if (work.labels.size() > kMostLabels)
    throw Error(Fault::too_large, fmt::format("These are {} labels, and {} are the most that are printed from the page "
                                              "at once. Choose fewer racks, or use `rackside label`.",
                                              work.labels.size(), kMostLabels));
  if (!work.labels.empty()) return;
  throw Error(Fault::bad_input, wish.changed_only
                                    ? "Nothing to print: nothing changed since these labels were printed last."
                                    : "Nothing to print: there is nothing of that kind in what was chosen.");
}

labels::Paper paper_of(const labels::SheetSpec& sheet) {
  return sheet.name.starts_with("letter") ? labels::Paper::letter : labels::Paper::a4;
}

labels::PagePlan plan_of(const PrintWork& work, const std::vector<labels::Label>& all, const labels::SheetSpec& sheet,
                         const LabelWish& wish, const labels::Design& design) {
  if (work.kind == LabelKind::strip) return labels::strip_plan(all, paper_of(sheet), {});
  // Where the sheet has no margin for it, the page itself says to print at 100 %.
  const auto note = labels::has_note_margin(sheet) ? labels::SheetNote::margin : labels::SheetNote::none;
  return labels::sheet_plan(all, sheet, {.start_cell = wish.first_cell, .note = note}, &design);
}

LabelPages print(Book& book, const LabelWish& wish, Instant now) {
  Reader reader(book);
  PrintWork work{kind_of(wish), {}, "labels", "labels"};
  const labels::SheetSpec& sheet = labels::find_sheet(wish.sheet);
  const labels::Design& design = labels::built_in_design(work.kind);
  Gathering gathering(reader, work.kind, now);
  work.labels = gathering.of(wish.codes);
  if (work.labels.empty() && !gathering.left_out.empty()) throw BrokenCard(Fault::bad_input, gathering.left_out[0]);
  if (wish.changed_only) leave_changed(book, work, design);
  check_count(work, wish);
  const std::vector<labels::Label> all = only_labels(work);
  LabelPages out;
  const labels::PressReport report = labels::print_pdf(
      plan_of(work, all, sheet, wish, design), [&](std::string_view bytes) { out.pdf += bytes; }, {.threads = 1});
  out.labels = all.size();
  out.pages = report.pages;
  out.warnings = report.warnings;
  out.warnings.insert(out.warnings.end(), gathering.left_out.begin(), gathering.left_out.end());
  if (report.smallest_module_mm > 0)
    out.reach_mm = static_cast<int>(labels::reach_mm(labels::kPhone, report.smallest_module_mm));
  const std::string strip = paper_of(sheet) == labels::Paper::letter ? "strip-letter" : "strip-a4";
  out.printed = drafts_of_print(work, design, work.kind == LabelKind::strip ? strip : sheet.name);
  return out;
}

}  // namespace

sync::hub::LabelPrinter page_printer() {
  return {offer, print};
}

}  // namespace rackside::cli
