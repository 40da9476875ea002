#include "labels/print/press.h"

#include <time.h>

#include <condition_variable>
#include <exception>
#include <map>
#include <mutex>
#include <thread>

#include "labels/draw/draw.h"
#include "labels/draw/text.h"
#include "labels/image/png.h"
#include "labels/proof/proof.h"

namespace rackside::labels {
namespace {

double thread_seconds() {
  timespec now{};
  clock_gettime(CLOCK_THREAD_CPUTIME_ID, &now);
  return static_cast<double>(now.tv_sec) + static_cast<double>(now.tv_nsec) * 1e-9;
}

enum class Form { pdf, png };

/// A page that is ready to be written, or why it never will be.
struct ReadyPage {
  MadePage made;
  std::string png;  ///< in Form::png
  double draw_seconds = 0;
  double proof_seconds = 0;
  std::exception_ptr failure;
};

void prove_for_pdf(const PagePlan& plan, ReadyPage& page, const std::string& where) {
  const ProofCost cost = prove_drawn(page.made.picture, plan.dpi, where);
  page.draw_seconds += cost.draw_seconds;
  page.proof_seconds += cost.read_seconds;
}

void prove_for_png(const PagePlan& plan, ReadyPage& page, const std::string& where) {
  const double begin = thread_seconds();
  const GrayImage raster = draw_one_bit(page.made.picture, plan.dpi);
  page.png = write_png_one_bit(raster, plan.dpi);
  const double drawn = thread_seconds();
  prove(page.made.picture, raster, plan.dpi, where);
  page.draw_seconds += drawn - begin;
  page.proof_seconds += thread_seconds() - drawn;
}

ReadyPage make_ready(const PagePlan& plan, Form form, std::size_t number, const TextRuler& ruler) {
  ReadyPage page;
  try {
    const double begin = thread_seconds();
    page.made = plan.make(number, ruler);
    page.draw_seconds = thread_seconds() - begin;
    const std::string where = "page " + std::to_string(number + 1);
    form == Form::pdf ? prove_for_pdf(plan, page, where) : prove_for_png(plan, page, where);
  } catch (...) {
    page.failure = std::current_exception();
  }
  return page;
}

/// Pages made by several threads and taken in order by one. At most a few wait, so that memory stays flat.
class PageLine {
 public:
  PageLine(const PagePlan& plan, Form form, unsigned threads) : plan_(plan), form_(form), window_(threads + 2) {
    for (unsigned i = 0; i < threads; ++i) workers_.emplace_back([this] { work(); });
  }
  ~PageLine() {
    {
      const std::scoped_lock lock(mutex_);
      stop_ = true;
    }
    changed_.notify_all();
    for (std::thread& worker : workers_) worker.join();
  }

  ReadyPage take() {
    std::unique_lock lock(mutex_);
    changed_.wait(lock, [this] { return ready_.contains(taken_); });
    ReadyPage page = std::move(ready_.extract(taken_).mapped());
    ++taken_;
    lock.unlock();
    changed_.notify_all();
    return page;
  }

 private:
  void work() {
    const PangoRuler ruler;
    while (const auto number = next()) {
      ReadyPage page = make_ready(plan_, form_, *number, ruler);
      {
        const std::scoped_lock lock(mutex_);
        ready_.emplace(*number, std::move(page));
      }
      changed_.notify_all();
    }
  }

  std::optional<std::size_t> next() {
    std::unique_lock lock(mutex_);
    changed_.wait(lock, [this] { return stop_ || next_ == plan_.pages || next_ < taken_ + window_; });
    if (stop_ || next_ == plan_.pages) return std::nullopt;
    return next_++;
  }

  const PagePlan& plan_;
  Form form_;
  std::size_t window_;
  std::mutex mutex_;
  std::condition_variable changed_;
  std::map<std::size_t, ReadyPage> ready_;
  std::size_t next_ = 0;
  std::size_t taken_ = 0;
  bool stop_ = false;
  std::vector<std::thread> workers_;
};

unsigned thread_count(unsigned wanted, std::size_t pages) {
  const unsigned cores = wanted > 0 ? wanted : std::max(1U, std::thread::hardware_concurrency());
  return static_cast<unsigned>(std::min<std::size_t>(cores, std::max<std::size_t>(1, pages)));
}

/// Takes the pages in order, hands each to `write`, and gathers what there is to say.
template <class Write>
PressReport run(const PagePlan& plan, Form form, const PressOptions& options, Write write) {
  PressReport report;
  report.pages = plan.pages;
  PrintWarnings warnings;
  PageLine line(plan, form, thread_count(options.threads, plan.pages));
  for (std::size_t i = 0; i < plan.pages; ++i) {
    const ReadyPage page = line.take();
    if (page.failure) std::rethrow_exception(page.failure);
    const double begin = thread_seconds();
    write(i, page);
    warnings.add(page.made.warnings);
    for (const PlacedSymbol* symbol : page.made.picture.symbols()) report.proven.push_back(symbol->payload);
    report.draw_seconds += page.draw_seconds + thread_seconds() - begin;
    report.proof_seconds += page.proof_seconds;
    if (options.progress) options.progress(i + 1, plan.pages);
  }
  report.warnings = warnings.texts();
  report.warnings.insert(report.warnings.end(), plan.warnings.begin(), plan.warnings.end());
  if (!report.proven.empty()) report.smallest_module_mm = warnings.smallest_module_mm();
  report.largest_module_mm = warnings.largest_module_mm();
  return report;
}

}  // namespace

PressReport print_pdf(const PagePlan& plan, const ByteSink& sink, const PressOptions& options) {
  PdfWriter pdf(sink, plan.title);
  PressReport report =
      run(plan, Form::pdf, options, [&](std::size_t, const ReadyPage& page) { pdf.add(page.made.picture); });
  pdf.finish();
  return report;
}

PressReport print_pngs(const PagePlan& plan, const PageSink& sink, const PressOptions& options) {
  return run(plan, Form::png, options, [&](std::size_t number, const ReadyPage& page) { sink(number, page.png); });
}

}  // namespace rackside::labels
