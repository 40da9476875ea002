#pragma once

#include <string>
#include <vector>

#include "cli/session.h"
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
/// Of a kind that is about one animal: animal_card, hatchling or sale. `today` dates a sale card's claims.
labels::Label animal_label(core::Reader& reader, const core::Named& animal, labels::LabelKind kind,
                           const std::string& host, core::Instant now);
labels::Label helper_label(core::Reader& reader, const core::Named& helper, const std::string& host);
/// The card that a thing of the register gets where nobody chose one.
labels::LabelKind usual_kind(const core::Named& thing);
labels::Label label_of(core::Reader& reader, const core::Named& thing, labels::LabelKind kind, const std::string& host,
                       core::Instant now);

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
