#pragma once

#include <string>
#include <vector>

#include "cli/label_source.h"
#include "cli/print/print_options.h"

namespace rackside::cli {

/// A print that is ready to be drawn: its labels, and what they are called.
struct PrintWork {
  labels::LabelKind kind = labels::LabelKind::place;
  std::vector<SourcedLabel> labels;
  std::string noun;                        ///< "animal cards"
  std::string usual_out;                   ///< the file's name where none is given, without its ending
  std::vector<std::string> left_out = {};  ///< why others that were asked for are not among them
};

std::vector<labels::Label> only_labels(const PrintWork& work);
/// Leaves those that say something else than when they were printed last, or never were.
void leave_changed(core::Book& book, PrintWork& work, const labels::Design& design);
/// The events that register the print. `on`: the sheet or the roll.
std::vector<core::Draft> drafts_of_print(const PrintWork& work, const labels::Design& design, const std::string& on);

/// Draws, proves, writes, sends to the printer where one is wanted, registers the print and tells what came of it.
/// On a sheet, or label by label where options.roll says a size.
void print_labels(Session& session, const PrintOptions& options, PrintWork work);
/// The same for what has pages of its own: strips, the scan sheet, the calibration page.
void print_plan(Session& session, const PrintOptions& options, const labels::PagePlan& plan, labels::LabelSize page,
                PrintWork work, const std::string& on);

/// One print again, as it was printed last: the same design, sheet or roll, with what the book says now.
void print_again(Session& session, const PrintOptions& options);

}  // namespace rackside::cli
