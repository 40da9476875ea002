// import, export, register.
#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <nlohmann/json.hpp>

#include "cli/label_source.h"
#include "cli/register/columns.h"
#include "cli/register/export.h"
#include "cli/register/fields.h"
#include "cli/register/import.h"
#include "cli/register/register_sheet.h"
#include "cli/register/table.h"
#include "cli/verbs.h"

namespace rackside::cli {
namespace {

using namespace core;
using Json = nlohmann::json;

std::string fields_help() {
  std::string out =
      "The table's first line names its columns, in any order; all but `short` may be missing, and cells empty:\n";
  for (const FieldInfo& info : field_table()) out += fmt::format("  {:12}{}\n", info.word, info.holds);
  return out +
         "Usual names of columns are understood (gender, date of birth, morph …); what each column was taken for is "
         "shown.\n"
         "--map \"Header=field\" says it for the others and is kept for the next import; \"Header=-\" leaves a column "
         "out.\n"
         "Encoding (UTF-8, UTF-16, Windows-1252) and separator (, ; tab |) are found. Dates: 2024-07-15, 2024-07, "
         "2024,\n"
         "15.07.2024, 15 Jul 2024; of 03/04/2024 other dates of the table or --dates must say what comes first.";
}

void add_import_options(CLI::App* verb, const std::shared_ptr<ImportOptions>& options) {
  verb->add_option("file", options->path, "The table: CSV, semicolons or tabs")->required();
  verb->add_option("--map", options->map,
                   "What a column is: \"Gender=sex\"; \"Vet=-\" leaves it out. Repeatable; kept");
  verb->add_option("--dates", options->dates, "day-first or month-first, where the table itself does not show it");
  verb->add_option("--basis", options->basis, "Of its genes and parents: bought, seen, parents, proven, lab, unknown")
      ->capture_default_str();
  verb->add_flag("--dry-run", options->dry_run, "Only list what would be done and every problem by its line");
  verb->add_flag("--even-so", options->even_so, "Take what is only doubtful as it stands");
  verb->add_flag("--make-racks", options->make_racks, "Make racks that the book does not know, from places like B-07");
  verb->add_flag("--skip-known", options->skip_known, "Leave out animals that the book has already");
  verb->footer(fields_help);
}

void add_import(CLI::App& app, Session& session) {
  auto* import = app.add_subcommand("import", "Register hundreds of animals from a table, all or none, in mid-season");
  import->require_subcommand(1);
  auto options = std::make_shared<ImportOptions>();
  auto* animals = import->add_subcommand("animals", "From a table of animals, with racks, genes, pairings, last meals");
  add_import_options(animals, options);
  animals->callback([&session, options] { import_animals(session, *options); });
  auto* list = import->add_subcommand("list", "The imports of this book");
  list->callback([&session] { list_imports(session); });
  auto undo = std::make_shared<UndoOptions>();
  auto* undo_verb = import->add_subcommand("undo", "Take a whole import back (the newest, or the one that is named)");
  undo_verb->add_option("import", undo->id, "Its id, as `import list` shows it");
  undo_verb->add_flag("--even-so", undo->even_so, "Also where entries were made about its animals since");
  undo_verb->callback([&session, undo] { undo_import(session, *undo); });
  auto old_options = std::make_shared<ImportOptions>();
  auto* again = app.get_subcommand("animal")->add_subcommand("import", "The same as `import animals`");
  add_import_options(again, old_options);
  again->callback([&session, old_options] { import_animals(session, *old_options); });
}

// ---- register

struct RegisterOptions {
  std::string from, to, csv, pdf;
};

DayNumber day_said(const std::string& text, DayNumber otherwise) {
  DayNumber day = otherwise;
  if (!text.empty() && !parse_date(text, day)) throw bad_value("“" + text + "” is no day: write it as 2026-01-31.");
  return day;
}

std::string csv_of(const RegisterTable& table) {
  std::string out = table_row(table.headings);
  for (const auto& row : table.rows) out += table_row(row);
  return out;
}

Json json_of(const RegisterTable& table) {
  Json out = Json::array();
  for (const auto& row : table.rows) {
    Json one;
    for (std::size_t i = 0; i < row.size(); ++i) one[table.headings[i]] = row[i];
    out.push_back(one);
  }
  return out;
}

void show_register(Session& session, const RegisterOptions& options) {
  Reader reader = session.reader();
  const DayNumber today = reader.settings().zone.day_of(session.now());
  const DayNumber to = day_said(options.to, today);
  constexpr DayNumber kThreeYears = 3 * 365 + 1;
  const DayNumber from = day_said(options.from, to - kThreeYears);
  if (from > to) throw bad_value("The period ends before it begins: --from is after --to.");
  const RegisterTable table = register_table(inspection_list(reader, from, to), to);
  const std::string period = date_text(from) + " to " + date_text(to);
  if (!options.csv.empty()) write_file(options.csv, csv_of(table));
  if (!options.pdf.empty()) write_file(options.pdf, register_pdf(table, "Register of animals, " + period));
  if (session.json)
    return session.terminal.line(Json{
        {"from", date_text(from)}, {"to", date_text(to)}, {"animals", json_of(table)}, {"caution", kRegisterCaution}}
                                     .dump());
  const Terminal& out = session.terminal;
  if (options.csv.empty() && options.pdf.empty()) {
    std::vector<std::vector<std::string>> rows{{}};
    for (const std::string& heading : table.headings) rows.front().push_back(out.strong(heading));
    rows.insert(rows.end(), table.rows.begin(), table.rows.end());
    out.table(rows);
    out.line();
  }
  out.good(fmt::format("{} animals were here from {}.", table.rows.size(), period));
  for (const std::string& file : {options.csv, options.pdf})
    if (!file.empty()) out.line("  " + file);
  out.line(out.faint(kRegisterCaution));
}

void add_inspection(CLI::App& app, Session& session) {
  auto options = std::make_shared<RegisterOptions>();
  auto* verb = app.add_subcommand(
      "register",
      "The register for an inspection: supplier, sex, age, treatment, and the days of birth, sale and death");
  verb->add_option("--from", options->from, "First day (default: three years before the last)");
  verb->add_option("--to", options->to, "Last day (default: today)");
  verb->add_option("--csv", options->csv, "Write it as a table");
  verb->add_option("--pdf", options->pdf, "Write it as pages to print");
  verb->footer(kRegisterCaution);
  verb->callback([&session, options] { show_register(session, *options); });
}

}  // namespace

void add_exchange_verbs(CLI::App& app, Session& session) {
  add_import(app, session);
  auto folder = std::make_shared<std::string>();
  auto* verb = app.add_subcommand("export", "Everything in this book as tables, and as the log's own lines");
  verb->add_option("folder", *folder, "Where the files go; made if it is not there")->required();
  verb->callback([&session, folder] { export_all(session, *folder); });
  add_inspection(app, session);
}

}  // namespace rackside::cli
