#pragma once

#include <string>
#include <vector>

#include "cli/session.h"
#include "core/read/card_genes.h"
#include "labels/labels.h"

// From the book to what a label says.
namespace rackside::cli {

/// A label, and the code of the thing that it names: what the register of prints keeps.
struct SourcedLabel {
  std::string code;
  labels::Label label;
};

/// `host`: empty for bare codes, else the hub's host and port for links.
labels::Label place_label(core::Reader& reader, core::Thing place, const std::string& host);
/// A card that would claim what the evidence contradicts: it is not printed. A bad_input that a batch can go on after.
class BrokenCard : public core::Error {
  using core::Error::Error;
};

/// What labels are made for: shared by all that are printed together, so that the genes of a species are reckoned once.
struct LabelDesk {
  core::Reader& reader;
  std::string host;  ///< empty for bare codes
  core::Instant now = 0;
  core::CardGeneSource genes{reader};
};

/// Of a kind that is about one animal: animal_card, hatchling or sale. A sale card is dated now, the others by their
/// newest record.
/// Errors: BrokenCard.
labels::Label animal_label(LabelDesk& desk, const core::Named& animal, labels::LabelKind kind);
/// By the rules of the day's list: its card says so, and it may not be sold.
bool is_under_treatment(core::Reader& reader, core::Thing animal, core::Instant now);
labels::Label helper_label(core::Reader& reader, const core::Named& helper, const std::string& host);
/// The card that a thing of the register gets where nobody chose one.
labels::LabelKind usual_kind(const core::Named& thing);
/// Errors: BrokenCard.
labels::Label label_of(LabelDesk& desk, const core::Named& thing, labels::LabelKind kind);

/// A rack's places in walking order.
std::vector<SourcedLabel> place_labels(core::Reader& reader, const core::Named& rack, labels::LabelKind kind,
                                       const std::string& host);

/// The box of a dam's newest clutch, or `boxes` of them, each with a code of its own, which stands for the dam
/// (`coded`) and is kept with the laying: printed again, it is the same.
/// Errors: bad_input when she has laid nothing by this book.
std::vector<SourcedLabel> clutch_labels(Session& session, const core::Named& dam, int boxes, const std::string& host);

/// The scan sheet's lines, registering a code for each entry that has none yet.
std::vector<labels::Label> scan_sheet_lines(Session& session, const std::vector<std::string>& entries);
/// What a scan sheet holds where nobody chose: meals of the prey that this book's animals get, then the quick ones.
std::vector<std::string> usual_entries(core::Reader& reader);

/// Writes a file whole or not at all. Errors: DiskFull, BadInput.
void write_file(const std::string& path, const std::string& bytes);
std::string read_file(const std::string& path);

}  // namespace rackside::cli
