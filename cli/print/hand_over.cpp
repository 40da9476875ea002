#include "cli/print/hand_over.h"

#include <fmt/format.h>

#include <filesystem>
#include <nlohmann/json.hpp>

#include "cli/print/output_file.h"
#include "cli/print/printer.h"
#include "core/read/prints.h"

namespace rackside::cli {
namespace {

using namespace core;
using Json = nlohmann::json;

/// What a print came to, for people and programs.
struct Outcome {
  std::vector<std::string> files;
  labels::PressReport report;
  std::string printer_said;
  std::string would_run;
  bool recorded = false;
};

/// Of what a label says but for the day of it: one that says the same of a later day is no change.
std::string digest_of(const SourcedLabel& one, const labels::Design& design) {
  labels::Label label = one.label;
  const std::string day = " on " + label.dated;
  for (std::string& note : label.footnote) {
    const auto at = label.dated.empty() ? std::string::npos : note.find(day);
    if (at != std::string::npos) note.erase(at, day.size());
  }
  label.dated.clear();
  return print_digest(labels::content_of(design, label));
}

std::function<void(std::size_t, std::size_t)> progress_of(Session& session) {
  return [&session](std::size_t done, std::size_t all) {
    if (all > 3) session.terminal.progress("drawing and proving pages", done, all);
  };
}

void write_pdf(Session& session, const labels::PagePlan& plan, const std::string& path, Outcome& outcome) {
  OutputFile file(path);
  outcome.report = labels::print_pdf(plan, [&](std::string_view bytes) { file.write(bytes); },
                                     {.threads = 0, .progress = progress_of(session)});
  file.keep();
  outcome.files.push_back(path);
}

/// A label's name as a file's: what a file system or a shell would stumble over becomes a hyphen.
std::string file_name_of(const std::string& title) {
  std::string name;
  for (const char c : title) {
    const bool bad =
        static_cast<unsigned char>(c) < 0x20 || std::string_view("/\\:*?\"<>|").find(c) != std::string_view::npos;
    name += bad ? '-' : c;
  }
  if (name.empty() || name[0] == '.' || name[0] == '-') name.insert(0, "label");
  return name;
}

/// A picture a label: into the named file where there is one label, else into the named folder.
void write_pngs(Session& session, const labels::PagePlan& plan, const PrintWork& work, const PrintOptions& options,
                Outcome& outcome) {
  const bool one = options.out.ends_with(".png");
  if (one && plan.pages > 1) {
    throw Error(Fault::usage, "A PNG holds one label, and these are " + std::to_string(plan.pages) +
                                  ": name a folder (--out labels/), or a PDF.");
  }
  const std::filesystem::path folder = one ? std::filesystem::path() : std::filesystem::path(options.out);
  std::error_code ignored;
  if (!one) std::filesystem::create_directories(folder, ignored);
  const auto copies = plan.pages / std::max<std::size_t>(1, work.labels.size());
  const auto path_of = [&](std::size_t page) {
    const std::string name = file_name_of(work.labels[page / copies].label.title);
    const std::string copy = copies > 1 ? fmt::format(" ({})", page % copies + 1) : "";
    return one ? options.out : (folder / (name + copy + ".png")).string();
  };
  // Nothing is written before all are proven.
  std::vector<std::string> pngs(plan.pages);
  outcome.report = labels::print_pngs(plan, [&](std::size_t page, const std::string& png) { pngs[page] = png; },
                                      {.threads = 0, .progress = progress_of(session)});
  for (std::size_t page = 0; page < plan.pages; ++page) {
    write_file(path_of(page), pngs[page]);
    outcome.files.push_back(path_of(page));
  }
}

void send(Session& session, const PrintOptions& options, labels::LabelSize page, const std::string& title,
          Outcome& outcome) {
  if (!options.to_printer) return;
  for (const std::string& file : outcome.files) {
    const PrintJob job{options.printer, title, media_of(page), file};
    if (options.dry_run)
      outcome.would_run += (outcome.would_run.empty() ? "" : "\n") + as_typed(lp_command(job));
    else
      outcome.printer_said += (outcome.printer_said.empty() ? "" : "; ") + send_to_printer(job);
  }
  static_cast<void>(session);
}

void tell_json(Session& session, const Outcome& outcome) {
  Json object = {{"file", outcome.files.empty() ? "" : outcome.files.front()},
                 {"files", outcome.files},
                 {"pages", outcome.report.pages},
                 {"proven", outcome.report.proven},
                 {"warnings", outcome.report.warnings},
                 {"smallest_module_mm", outcome.report.smallest_module_mm},
                 {"recorded", outcome.recorded}};
  if (outcome.report.smallest_module_mm > 0) {
    object["phone_mm"] = labels::reach_mm(labels::kPhone, outcome.report.smallest_module_mm);
    object["handheld_mm"] = labels::reach_mm(labels::kHandheld, outcome.report.smallest_module_mm);
  }
  if (!outcome.printer_said.empty()) object["printer"] = outcome.printer_said;
  if (!outcome.would_run.empty()) object["would_run"] = outcome.would_run;
  session.terminal.line(object.dump(-1, ' ', false, Json::error_handler_t::replace));
}

void tell(Session& session, const PrintOptions& options, const Outcome& outcome, const std::string& noun) {
  if (session.json) return tell_json(session, outcome);
  const Terminal& out = session.terminal;
  const labels::PressReport& report = outcome.report;
  const std::string where = outcome.files.size() == 1
                                ? out.strong(outcome.files[0])
                                : fmt::format("{} files, {} to {}", outcome.files.size(),
                                              out.strong(outcome.files.front()), out.strong(outcome.files.back()));
  if (report.proven.empty())
    out.good(fmt::format("{}: {} page{}.", where, report.pages, report.pages == 1 ? "" : "s"));
  else
    out.good(fmt::format("{}: {} {}, {} page{}; every one was read back, then again with spread ink and a smear.",
                         where, report.proven.size(), noun, report.pages, report.pages == 1 ? "" : "s"));
  if (report.smallest_module_mm > 0) {
    const bool alike = report.largest_module_mm - report.smallest_module_mm < 0.005;
    out.line("  " + std::string(alike ? "M" : "Smallest m") + labels::reach_text(report.smallest_module_mm).substr(1) +
             ".");
  }
  for (const std::string& warning : report.warnings) out.warn(warning);
  if (!outcome.printer_said.empty()) out.good("Sent to the printer: " + outcome.printer_said);
  if (!outcome.would_run.empty())
    out.line("Nothing was sent. Without --dry-run this would run:\n  " + outcome.would_run);
  if (options.dry_run && !options.to_printer) out.line("Nothing was registered as printed.");
}

[[noreturn]] void nothing_changed(const PrintWork& work) {
  throw Error(Fault::bad_input, "Nothing to print: no " + work.noun +
                                    " changed since they were printed last. Without "
                                    "--changed all are printed.");
}

void finish(Session& session, const PrintOptions& options, const PrintWork& work, const labels::Design& design,
            labels::LabelSize page, const std::string& on, Outcome& outcome) {
  session.terminal.end_progress();
  std::vector<std::string>& warnings = outcome.report.warnings;
  warnings.insert(warnings.end(), work.left_out.begin(), work.left_out.end());
  send(session, options, page, work.noun, outcome);
  if (!options.dry_run && !options.no_record && !work.labels.empty()) {
    session.record(drafts_of_print(work, design, on));
    outcome.recorded = true;
  }
  tell(session, options, outcome, work.noun);
}

bool wants_pngs(const PrintOptions& options) {
  return options.out.ends_with(".png") || options.out.ends_with("/") || std::filesystem::is_directory(options.out);
}

}  // namespace

std::vector<labels::Label> only_labels(const PrintWork& work) {
  std::vector<labels::Label> labels;
  labels.reserve(work.labels.size());
  for (const SourcedLabel& one : work.labels) labels.push_back(one.label);
  return labels;
}

void leave_changed(Book& book, PrintWork& work, const labels::Design& design) {
  const auto last = last_prints(book);
  std::erase_if(work.labels, [&](const SourcedLabel& one) {
    const auto found = last.find({one.code, std::string(word_of(work.kind))});
    return found != last.end() && found->second.digest == digest_of(one, design);
  });
}

std::vector<Draft> drafts_of_print(const PrintWork& work, const labels::Design& design, const std::string& on) {
  std::vector<std::string> codes;
  std::vector<std::string> digests;
  for (const SourcedLabel& one : work.labels) {
    codes.push_back(one.code);
    digests.push_back(digest_of(one, design));
  }
  return printed_drafts(std::string(word_of(work.kind)), on, codes, digests);
}

void print_labels(Session& session, const PrintOptions& options, PrintWork work) {
  const std::optional<labels::Design> own = design_of(options, work.kind);
  const labels::Design& design = own ? *own : labels::built_in_design(work.kind);
  if (options.changed) {
    leave_changed(session.book(), work, design);
    if (work.labels.empty()) nothing_changed(work);
  }
  const std::vector<labels::Label> labels = only_labels(work);
  PrintOptions chosen = options;
  if (chosen.out.empty()) chosen.out = work.usual_out + ".pdf";
  Outcome outcome;
  if (options.roll.empty()) {
    const labels::SheetSpec sheet = sheet_of(options);
    write_pdf(session, labels::sheet_plan(labels, sheet, options.sheet_options, &design), chosen.out, outcome);
    return finish(session, chosen, work, design, {sheet.page_width, sheet.page_height}, options.sheet, outcome);
  }
  const labels::LabelSize size = parse_size(options.roll);
  labels::check_label_size(size, options.dpi);
  const labels::PagePlan plan = labels::roll_plan(labels, size, options.dpi, options.sheet_options.repeat, &design);
  if (wants_pngs(chosen))
    write_pngs(session, plan, work, chosen, outcome);
  else
    write_pdf(session, plan, chosen.out, outcome);
  finish(session, chosen, work, design, size, fmt::format("{}@{}", options.roll, options.dpi), outcome);
}

void print_plan(Session& session, const PrintOptions& options, const labels::PagePlan& plan, labels::LabelSize page,
                PrintWork work, const std::string& on) {
  PrintOptions chosen = options;
  if (chosen.out.empty()) chosen.out = work.usual_out + ".pdf";
  Outcome outcome;
  write_pdf(session, plan, chosen.out, outcome);
  finish(session, chosen, work, labels::built_in_design(work.kind), page, on, outcome);
}

void print_again(Session& session, const PrintOptions& options) {
  Reader reader = session.reader();
  LabelDesk desk{.reader = reader, .host = options.host, .now = session.now()};
  const std::vector<PrintRecord> all = prints(session.book());
  for (const std::string& text : options.what) {
    const Named thing = session.find(text);
    const CodeReading typed = read_code(text);
    const std::string code = typed.code ? typed.code->str() : thing.code;
    const auto last = std::find_if(all.begin(), all.end(), [&](const PrintRecord& record) {
      const bool kind_fits = options.kind.empty() || record.design == options.kind;
      return kind_fits && std::find(record.codes.begin(), record.codes.end(), code) != record.codes.end();
    });
    if (last == all.end()) {
      throw Error(Fault::bad_input, "No print of " + thing.label +
                                        " is registered: print it with `rackside label "
                                        "animals`, `places` or another of `rackside label --help`.");
    }
    const auto kind = labels::label_kind_of(last->design);
    const bool of_clutch = kind == labels::LabelKind::clutch || kind == labels::LabelKind::egg_box;
    if (!kind || of_clutch || kind == labels::LabelKind::scan_line) {
      throw Error(Fault::bad_input, "A label “" + last->design +
                                        "” is printed again by its own verb: see `rackside "
                                        "label --help`.");
    }
    PrintOptions again = options;
    const std::size_t at = last->on.find('@');
    if (at != std::string::npos && again.roll.empty()) {
      again.roll = last->on.substr(0, at);
      again.dpi = std::atoi(last->on.substr(at + 1).c_str());
    } else if (again.sheet.empty()) {
      again.sheet = last->on.starts_with("strip") ? "a4-3x8" : last->on;
    }
    PrintWork work{*kind, {{code, label_of(desk, thing, *kind)}}, "label", file_name_of(thing.label)};
    print_labels(session, again, std::move(work));
  }
}

}  // namespace rackside::cli
