// What a keeper's table says, before any book: encodings, separators, dates, headings, and what a row cannot be.
#include <algorithm>
#include <cstdio>
#include <fstream>

#include "cli/register/columns.h"
#include "cli/register/dates.h"
#include "cli/register/encoding.h"
#include "cli/register/import_rows.h"
#include "cli/register/table.h"
#include "core/base/error.h"
#include "tests/support/catch.h"
#include "tests/support/program.h"

namespace {

using namespace rackside;
using namespace rackside::cli;
using tests::contains;

core::DayNumber day(const char* text) {
  core::DayNumber out = 0;
  REQUIRE(core::parse_date(text, out));
  return out;
}

ImportedTable read(const std::string& text, DateOrder order = DateOrder::unsettled) {
  return read_animals(text, {.order = order, .today = day("2026-11-27")});
}

std::string problems_of(const ImportedTable& table) {
  std::string out;
  for (const Problem& one : table.problems)
    out += std::to_string(one.line) + (one.doubt ? "? " : ": ") + one.text + "\n";
  return out;
}

}  // namespace

TEST_CASE("a table's encoding is found: iconv writes it, and the same text comes back") {
  // Reference: glibc's iconv, independent of our table.
  const std::string text = "short;name\nC-1;Käthe “Ålesund” €5 – Ÿ\n";
  const tests::Folder folder(tests::Folder::On::memory);
  tests::write_text(folder / "utf8", text);
  struct Case {
    const char* to;
    std::string_view found;
  };
  for (const Case& one : {Case{"UTF-8", "UTF-8"}, Case{"WINDOWS-1252", "Windows-1252"}, Case{"UTF-16LE", "UTF-16"},
                          Case{"UTF-16BE", "UTF-16"}, Case{"UTF-16", "UTF-16"}}) {
    CAPTURE(one.to);
    const tests::Run run = tests::run_program("iconv", {"-f", "UTF-8", "-t", one.to, folder / "utf8"});
    REQUIRE(run.status == 0);
    const PlainText plain = to_utf8(run.out);
    CHECK(plain.text == text);
    CHECK(plain.encoding == one.found);
  }
  CHECK(to_utf8("\xEF\xBB\xBFshort").text == "short");
}

TEST_CASE("every byte of Windows-1252 is what iconv says of it") {
  const tests::Folder folder(tests::Folder::On::memory);
  for (int byte = 0xA0 - 0x20; byte < 0x100; ++byte) {
    // 81, 8D, 8F, 90 and 9D are not assigned: iconv refuses them, browsers read them as controls (Encoding Standard).
    if (byte == 0x81 || byte == 0x8D || byte == 0x8F || byte == 0x90 || byte == 0x9D) continue;
    tests::write_text(folder / "byte", std::string("a") + static_cast<char>(byte) + "z");
    const tests::Run run = tests::run_program("iconv", {"-f", "WINDOWS-1252", "-t", "UTF-8", folder / "byte"});
    CAPTURE(byte);
    CHECK(to_utf8(tests::read_text(folder / "byte")).text == run.out);
  }
}

TEST_CASE("UTF-16 that breaks off is refused, not guessed") {
  using std::string_literals::operator""s;
  CHECK_THROWS_AS(to_utf8("\xFF\xFE" + "a\0b"s), core::Error);
  CHECK_THROWS_AS(to_utf8("\xFF\xFE" + "\x00\xD8"s), core::Error);
}

TEST_CASE("the separator is the one that the first line has most of, outside quotes") {
  CHECK(separator_of("a,b;c\n;;;;") == ',');
  CHECK(separator_of("a;\"b,,,,\";c\n") == ';');
  CHECK(separator_of("a\tb\n") == '\t');
  CHECK(separator_of("a|b|c\n") == '|');
  CHECK(separator_of("short\nC-1\n") == ',');
}

TEST_CASE("a row knows the line of the file that it begins in, and is written as it is read") {
  const auto rows = parse_table("a,b\n\n\"x\ny\",2\r\nlast,3");
  REQUIRE(rows.size() == 3);
  CHECK(rows[1].line == 3);
  CHECK(rows[1].cells == std::vector<std::string>{"x\ny", "2"});
  CHECK(rows[2].line == 5);
  CHECK(parse_table(table_row({"a\"b", "c,d", "e\nf", ""})).front().cells ==
        std::vector<std::string>{"a\"b", "c,d", "e\nf", ""});
  CHECK(parse_table("a,b\r1,2\r").size() == 2);
}

TEST_CASE("dates: each form, and what is asked instead of guessed") {
  struct Case {
    const char* text;
    DateOrder order;
    const char* date;  ///< empty: a problem
  };
  const auto none = DateOrder::unsettled;
  for (const Case& one : {
           Case{"2024-07-15", none, "2024-07-15"},
           Case{"2024-07", none, "2024-07"},
           Case{"2024", none, "2024"},
           Case{"2024/7/5", none, "2024-07-05"},
           Case{"20240715", none, "2024-07-15"},
           Case{"15.07.2024", none, "2024-07-15"},
           Case{"5.7.24", none, "2024-07-05"},
           Case{"15 Jul 2024", none, "2024-07-15"},
           Case{"15th July, 2024", none, "2024-07-15"},
           Case{"Jul 15, 2024", none, "2024-07-15"},
           Case{"July 2024", none, "2024-07"},
           Case{"25/12/2024", none, "2024-12-25"},
           Case{"12/25/2024", none, "2024-12-25"},
           Case{"04/04/2024", none, "2024-04-04"},
           Case{"03/04/2024", none, ""},
           Case{"03/04/2024", DateOrder::day_first, "2024-04-03"},
           Case{"03/04/2024", DateOrder::month_first, "2024-03-04"},
           Case{"25/12/2024", DateOrder::month_first, ""},
           Case{"2024-07-15 00:00:00", none, "2024-07-15"},
           // Leap days by the Gregorian rule (ISO 8601): 2000 and 2024 have one, 1900 and 2023 have none.
           Case{"2024-02-29", none, "2024-02-29"},
           Case{"2000-02-29", none, "2000-02-29"},
           Case{"2023-02-29", none, ""},
           Case{"1900-02-29", none, ""},
           Case{"31.04.2024", none, ""},
           Case{"45123", none, ""},
           Case{"soon", none, ""},
           Case{"2024-13", none, ""},
           Case{"13/13/2024", none, ""},
       }) {
    CAPTURE(one.text);
    const DateReading reading = read_date(one.text, one.order);
    CHECK((reading.date ? reading.date->text() : "") == one.date);
    CHECK(reading.date.has_value() == reading.problem.empty());
  }
  CHECK(read_date("2024-02", none).date->last() == day("2024-02-29"));
  CHECK(read_date("2023", none).date->last() == day("2023-12-31"));
}

TEST_CASE("one date that only reads one way settles the others of its table") {
  const ImportedTable table = read("short,hatched,last fed\nA,03/04/2024,25/11/2026\nB,05/06/2024,\n");
  CHECK(table.order == DateOrder::day_first);
  CHECK(problems_of(table).empty());
  CHECK(table.animals[0].hatched->text() == "2024-04-03");
  const ImportedTable asks = read("short,hatched\nA,03/04/2024\nB,05/06/2024\n");
  CHECK(asks.problems.size() == 2);
  CHECK(contains(problems_of(asks), "--dates day-first or --dates month-first"));
  // A table that says both is asked about, line by line, where it could be either.
  const ImportedTable both = read("short,hatched\nA,25/04/2024\nB,04/25/2024\nC,03/04/2024\n");
  CHECK(both.order == DateOrder::unsettled);
  REQUIRE(both.problems.size() == 1);
  CHECK(both.problems[0].line == 4);
}

TEST_CASE("headings: usual names, wishes of now and of before, and what is not understood") {
  const auto plan = plan_columns({"ID", "Gender", "Date of Birth", "Morph", "Vet", "Tub"}, {{"vet", "-"}}, {});
  CHECK(plan.problems.empty());
  CHECK(plan.where().at(Field::sex) == 1);
  CHECK(plan.where().at(Field::hatched) == 2);
  CHECK(plan.where().at(Field::at) == 5);
  CHECK(plan.columns[4].left_out);
  CHECK(plan_columns({"ID", "Vet"}, {}, {{"VET", "note"}}).where().at(Field::note) == 1);
  CHECK(plan_columns({"ID", "Vet"}, {{"Vet", "-"}}, {{"Vet", "note"}}).columns[1].left_out);
  const auto unknown = plan_columns({"ID", "Vet"}, {}, {});
  REQUIRE(unknown.problems.size() == 1);
  CHECK(contains(unknown.problems[0], "--map \"Vet=-\""));
  CHECK(plan_columns({"ID", "Animal"}, {}, {}).problems.size() == 1);
  CHECK(plan_columns({"Name"}, {}, {}).problems.size() == 1);
  CHECK(plan_columns({"ID"}, {{"Vet", "note"}}, {}).problems.size() == 1);
  CHECK(plan_columns({"ID"}, {{"ID", "nonsense"}}, {}).problems.size() == 2);
}

TEST_CASE("what a life cannot have in another order is told by its line") {
  struct Case {
    const char* row;  ///< hatched, acquired, fed, sold, died
    const char* says;
  };
  for (const Case& one : {
           Case{"A,2024-07-15,,,2024-01-01,", "2: was sold on 2024-01-01, before it hatched (2024-07-15)\n"},
           Case{"A,2024-07-15,2024-07-01,,,", "2: acquired 2024-07-01, before it hatched (2024-07-15)\n"},
           Case{"A,2024-07-15,2024-07,,,", ""},
           Case{"A,2024-07,2024-07-01,,,", ""},
           Case{"A,2024,,2024-01-01,,", ""},
           Case{"A,2020,,2025-05-05,,2025-05-01", "2: ate on 2025-05-05, after it died (2025-05-01)\n"},
           Case{"A,2020,2025-06-01,,,2025-05-01", "2: acquired 2025-06-01, after it died (2025-05-01)\n"},
           Case{"A,2020,,2027-01-01,,", "2: last-meal: 2027-01-01 is in the future\n"},
           Case{"A,2020,,2025-05,,", "2: last-meal: 2025-05 is no day; write it whole, as 2024-07-15\n"},
       }) {
    CAPTURE(one.row);
    CHECK(problems_of(read(std::string("short,hatched,acquired,last-meal,sold,died\n") + one.row + "\n")) == one.says);
  }
}

TEST_CASE("cells: sexes, weights, eggs, genes, and what nobody knows") {
  const auto sex = [](const char* text) { return read(std::string("short,sex\nA,") + text + "\n").animals.at(0).sex; };
  CHECK(sex("M") == "male");
  CHECK(sex("0.1") == "female");
  CHECK(sex("0.0.1") == "unknown");
  CHECK(sex("") == "");
  CHECK(problems_of(read("short,sex\nA,maybe\n")) ==
        "2: “maybe” is no sex that this book understands: male, female or unknown\n");
  CHECK(read("short;weight\nA;41,2\n").animals[0].grams_tenths == 412);
  CHECK(read("short,weight\nA,1.2 kg\n").animals[0].grams_tenths == 12'000);
  // 15 kg for a hatchling asks.
  const ImportedTable heavy = read("short,hatched,weight\nA,2026-11-01,15000\n");
  REQUIRE(heavy.problems.size() == 1);
  CHECK(heavy.problems[0].doubt);
  const ImportedTable eggs = read("short,laid,eggs\nA,2026-05-01,14+2\nB,,3\nC,2026-05-01,many\n");
  CHECK(eggs.animals[0].good == 14);
  CHECK(eggs.animals[0].slugs == 2);
  CHECK(eggs.problems.size() == 2);
  const auto genes =
      read("short,genes\nA,amel; het anery; 66 % het stripe; pos het hypo; not motley; normal\n").animals[0].genes;
  REQUIRE(genes.size() == 6);
  CHECK(genes[0].text("state") == "visual");
  CHECK(genes[1].text("state") == "het");
  CHECK(genes[2].number("chance_percent") == 66);
  CHECK(genes[3].number("chance_percent") == 50);
  CHECK(genes[4].text("state") == "not");
  CHECK(genes[5].text("state") == "normal");
  CHECK(problems_of(read("short,sex,hatched,sire\nA,?,unknown,n/a\n")).empty());
}

TEST_CASE("a short ID that is missing or stands twice, a row with too many cells") {
  CHECK(problems_of(read("short,name\n,Amber\nC-1,Bram\nc-1,Cinder\nC-2,x,y\n")) ==
        "2: the short ID is missing\n"
        "4: “c-1” stands twice in the table, first in line 3\n"
        "5: 3 cells, but the table has 2 columns: a separator inside a cell? Put that cell in quotes\n");
  CHECK_THROWS_AS(read(""), core::Error);
  // A quote that swallowed the rest of a big file is told, not chewed on.
  const std::string swallowed(1'000'000, '5');
  CHECK(read("short,hatched,weight,genes,every\nC-1," + swallowed + "," + swallowed + "," + swallowed + "," +
             swallowed + "\n")
            .problems.size() == 4);
}
