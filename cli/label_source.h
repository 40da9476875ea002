#pragma once

#include <string>
#include <vector>

#include "cli/session.h"
#include "labels/labels.h"

// From the book to what a label says.
namespace rackside::cli {

/// A rack's places in walking order. `host`: empty for bare codes, else the hub's host and port for links.
std::vector<labels::Label> place_labels(core::Reader& reader, const core::Named& rack, const std::string& host);
labels::Label place_label(core::Reader& reader, core::Thing place, const std::string& host);
labels::Label animal_card(core::Reader& reader, const core::Named& animal, const std::string& host);
labels::Label label_of(core::Reader& reader, const core::Named& thing, const std::string& host);

/// The scan sheet's lines, registering a code for each entry that has none yet.
std::vector<labels::Label> scan_sheet_lines(Session& session, const std::vector<std::string>& entries);
/// What a scan sheet holds where nobody chose: meals of the prey that this book's animals get, then the quick ones.
std::vector<std::string> usual_entries(core::Reader& reader);

/// Writes a file whole or not at all. Errors: DiskFull, BadInput.
void write_file(const std::string& path, const std::string& bytes);
std::string read_file(const std::string& path);

}  // namespace rackside::cli
