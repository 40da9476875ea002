#include "core/entry/entry.h"
#include "tests/support/catch.h"

using namespace rackside::core;
using rackside::tests::contains;

namespace {

struct Row {
  const char* typed;
  Kind kind;
  const char* own;    ///< compact JSON, "null" for none
  const char* said;   ///< the event for people
  const char* again;  ///< the typed form that comes back
};

// The entries that the trade uses at the tub; forms of the program's own making (common practice, no source).
const Row kRows[] = {
    {"fed small-rat x2", Kind::fed, R"({"items":[{"prey":"small-rat","count":2}]})", "ate 2 × small-rat",
     "fed small-rat x2"},
    {"fed 2 small-rat", Kind::fed, R"({"items":[{"prey":"small-rat","count":2}]})", "ate 2 × small-rat",
     "fed small-rat x2"},
    {"FED Small Rat 2X Thawed", Kind::fed, R"({"items":[{"prey":"small-rat","count":2,"state":"thawed"}]})",
     "ate 2 × small-rat (thawed)", "fed small-rat x2 thawed"},
    {"fed", Kind::fed, "null", "ate", "fed"},
    {"fed mouse+pinky x3", Kind::fed, R"({"items":[{"prey":"mouse","count":1},{"prey":"pinky","count":3}]})",
     "ate mouse and 3 × pinky", "fed mouse x1 + pinky x3"},
    {"fed rat 50g live tongs", Kind::fed, R"({"items":[{"prey":"rat-50g","count":1,"state":"live","how":"tongs"}]})",
     "ate rat-50g (live, tongs)", "fed rat-50g x1 live tongs"},
    {"offered mouse", Kind::offered, R"({"items":[{"prey":"mouse","count":1}]})", "was offered mouse",
     "offered mouse x1"},
    {"offered", Kind::offered, "null", "was offered food", "offered"},
    {"refused", Kind::refused, "null", "refused", "refused"},
    {"leftover", Kind::leftover, "null", "left its food", "leftover"},
    {"ate", Kind::ate, "null", "ate what was offered", "ate"},
    {"shed", Kind::shed, "null", "shed complete", "shed"},
    {"shed complete", Kind::shed, "null", "shed complete", "shed"},
    {"shed stuck tail", Kind::shed, R"({"stuck":"tail"})", "shed, stuck: tail", "shed stuck tail"},
    {"shed stuck", Kind::shed, R"({"stuck":"unknown"})", "shed, stuck (where was not said)", "shed stuck"},
    {"blue", Kind::opaque, "null", "is opaque", "opaque"},
    {"laid 7+1", Kind::laid, R"({"good":7,"slugs":1})", "laid 7 good, 1 slug", "laid 7+1"},
    {"laid 7 good 2 slugs", Kind::laid, R"({"good":7,"slugs":2})", "laid 7 good, 2 slugs", "laid 7+2"},
    {"laid 9", Kind::laid, R"({"good":9,"slugs":0})", "laid 9 good", "laid 9+0"},
    {"laid", Kind::laid, "null", "laid, eggs not counted", "laid"},
    {"weighed 412", Kind::weighed, R"({"grams_tenths":4120})", "weighed 412 g", "weighed 412g"},
    {"weighed 41.2g", Kind::weighed, R"({"grams_tenths":412})", "weighed 41.2 g", "weighed 41.2g"},
    {"weighed 41,2 g", Kind::weighed, R"({"grams_tenths":412})", "weighed 41.2 g", "weighed 41.2g"},
    {"weighed 1.25kg", Kind::weighed, R"({"grams_tenths":12500})", "weighed 1250 g", "weighed 1250g"},
    {"palpated 14 mm", Kind::palpated, R"({"follicles_mm":14})", "was palpated: follicles 14 mm", "palpated 14mm"},
    {"treated ivermectin repeat 14", Kind::treated, R"({"with":"ivermectin","repeat_days":14})",
     "was treated with ivermectin, again in 14 days", "treated ivermectin repeat 14"},
    {"treated ivermectin again in 14 days", Kind::treated, R"({"with":"ivermectin","repeat_days":14})",
     "was treated with ivermectin, again in 14 days", "treated ivermectin repeat 14"},
    {"candled 6+1", Kind::candled, R"({"good":6,"bad":1})", "was candled: 6 good, 1 bad", "candled 6+1"},
    {"incubated 28.5", Kind::incubated, R"({"celsius_tenths":285})", "has its eggs at 28.5 °C", "incubated 28.5"},
    // 212 °F is 100 °C and 32 °F is 0 °C (the scales' definition): 83 °F are 28.33, 86 °F are 30 °C.
    {"incubated 83F", Kind::incubated, R"({"celsius_tenths":283})", "has its eggs at 28.3 °C", "incubated 28.3"},
    {"incubated 86 °F", Kind::incubated, R"({"celsius_tenths":300})", "has its eggs at 30.0 °C", "incubated 30.0"},
    {"incubated 29C", Kind::incubated, R"({"celsius_tenths":290})", "has its eggs at 29.0 °C", "incubated 29.0"},
    {"hatched 5", Kind::hatched, R"({"count":5})", "5 hatched", "hatched 5"},
    {"hatched egg 7", Kind::hatched, R"({"egg":7})", "hatched (egg 7)", "hatched egg 7"},
    {"pipped 1 egg 12", Kind::pipped, R"({"count":1,"egg":12})", "1 pipped (egg 12)", "pipped 1 egg 12"},
    {"sexed female probed", Kind::sexed, R"({"sex":"female","how":"probed"})", "was sexed: female (probed)",
     "sexed female probed"},
};

}  // namespace

TEST_CASE("each entry gives its kind and fields, is said in the trade's words, and is typed again the same") {
  for (const Row& row : kRows) {
    CAPTURE(row.typed);
    const EntryReading reading = parse_entry(row.typed);
    REQUIRE(reading.entry);
    CHECK(reading.entry->kind == row.kind);
    CHECK(write_compact(reading.entry->own) == row.own);
    CHECK(event_text(row.kind, reading.entry->own) == row.said);
    CHECK(typed_form(*reading.entry) == row.again);
    CHECK(parse_entry(row.again).entry == reading.entry);
  }
}

TEST_CASE("every entry form reads its own first word, and no word begins two") {
  for (const EntryForm& form : entry_forms()) {
    CAPTURE(form.words);
    const std::string word(form.words.substr(0, form.words.find(' ')));
    CHECK(entry_form(std::string_view(word)) == &form);
    CHECK(entry_form(form.kind) == &form);
    CHECK((form.say != nullptr || !form.said.empty()));
    CHECK(form.form.starts_with(word));
  }
}

TEST_CASE("relations stand last, notes behind two dashes") {
  const auto again = parse_entry("fed small-rat again");
  REQUIRE(again.entry);
  CHECK(again.entry->relation == Relation::again);
  CHECK(write_compact(again.entry->own) == R"({"items":[{"prey":"small-rat","count":1}]})");
  const auto note = parse_entry("refused replaces -- Was in shed, says Bram");
  REQUIRE(note.entry);
  CHECK(note.entry->relation == Relation::replaces);
  CHECK(note.entry->note == "Was in shed, says Bram");
  CHECK(parse_entry("note Mites on the Scales").entry->note == "Mites on the Scales");
  CHECK(parse_entry(typed_form(*note.entry)).entry == note.entry);
}

TEST_CASE("others are named as typed") {
  CHECK(parse_entry("paired with C-02").entry->target == "C-02");
  CHECK(parse_entry("paired C-02").entry->target == "C-02");
  CHECK(parse_entry("moved to B-07").entry->target == "B-07");
}

TEST_CASE("what is not understood is named, and the form is shown") {
  const struct {
    const char* typed;
    const char* part;
    const char* form;
  } rows[] = {
      {"weighed lots", "lots", "weighed 412"},
      {"weighed", "missing", "weighed 412"},
      {"weighed 41.25", "41.25", "weighed"},
      {"weighed 0", "0", "weighed"},
      {"laid many", "many", "laid 7+1"},
      {"laid 1+2+3", "more than two", "laid 7+1"},
      {"fed x0", "x0", "fed [PREY]"},
      {"fed 2 3", "3", "fed [PREY]"},
      {"fed +mouse", "no prey", "fed [PREY]"},
      {"fed C-99", "c-99", "fed [PREY]"},
      {"fed a mouse but only late", "only", "fed [PREY]"},
      {"opaque eyes", "eyes", "opaque"},
      {"shed slowly", "slowly", "shed [stuck"},
      {"paired", "missing", "paired CODE"},
      {"moved to", "missing", "moved PLACE"},
      {"treated ivermectin repeat", "missing", "treated"},
      {"sexed maybe", "maybe", "sexed male|female"},
      {"note", "missing", "note TEXT"},
      {"nonsense here", "nonsense", "fed, refused"},
      {"", "empty", ""},
  };
  for (const auto& row : rows) {
    CAPTURE(row.typed);
    const EntryReading reading = parse_entry(row.typed);
    CHECK_FALSE(reading.entry);
    CHECK(contains(reading.problem, row.part));
    CHECK(contains(reading.problem, row.form));
  }
}
