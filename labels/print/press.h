#pragma once

#include <functional>
#include <string>
#include <string_view>
#include <vector>

#include "labels/sheet/pages.h"

namespace rackside::labels {

/// Takes the next bytes of a file. What it throws ends the print.
using ByteSink = std::function<void(std::string_view)>;

struct PressOptions {
  unsigned threads = 0;  ///< that draw and prove pages; 0: one a core
  /// Told after each page, in order: pages done, of all.
  std::function<void(std::size_t done, std::size_t all)> progress;
};

/// What came of a print.
struct PressReport {
  std::size_t pages = 0;
  std::vector<std::string> proven;    ///< what each symbol said when it was read back, in order
  std::vector<std::string> warnings;  ///< for people, each once
  double smallest_module_mm = 0;      ///< 0 where nothing has a symbol
  double largest_module_mm = 0;
  double draw_seconds = 0;   ///< of processor time, over all threads: laying out, drawing, writing
  double proof_seconds = 0;  ///< likewise: reading back, and again after wear
};

/// A page number, from 0, and its PNG.
using PageSink = std::function<void(std::size_t page, const std::string& png)>;

/// Draws and proves a plan's pages, several at a time, and writes them as one PDF in order. Memory holds a few pages,
/// however many there are. Equal plans give equal bytes, whatever the number of threads.
/// Errors: nothing_read with the first label that does not read, as lay_out, and what `sink` throws; what was written
/// until then is no PDF.
PressReport print_pdf(const PagePlan& plan, const ByteSink& sink, const PressOptions& options = {});

/// The same with a 1-bit PNG a page, for label printers: proven from those very bits.
PressReport print_pngs(const PagePlan& plan, const PageSink& sink, const PressOptions& options = {});

}  // namespace rackside::labels
