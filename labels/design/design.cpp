#include "labels/design/design.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <utility>

#include "core/base/error.h"
#include "labels/form/form.h"

namespace rackside::labels {
namespace {

// ---- fields

struct FieldRow {
  std::string_view word;
  std::string_view subject;  ///< for "No room for …"
  bool needed;
  std::string Label::*text;  ///< null for sex and the lists
};

constexpr std::string_view kOwnPrefix = "my:";

const std::array<FieldRow, 17> kFields = {{
    {"name", "the name", true, &Label::title},
    {"under", "the line under the name", false, &Label::subtitle},
    {"sex", "the sex", true, nullptr},
    {"prey", "the prey", true, &Label::prey},
    {"warning", "the warning", true, &Label::warning},
    {"genes", "the genes", true, nullptr},
    {"possible", "the possible genes", true, nullptr},
    {"footnote", "what the words mean", false, nullptr},
    {"species", "the species", false, &Label::species},
    {"hatched", "the day of hatching", false, &Label::hatched},
    {"year", "the hatch year", false, &Label::hatch_year},
    {"parents", "the parents", false, &Label::parents},
    {"laid", "the day of laying", false, &Label::laid},
    {"eggs", "the eggs", false, &Label::eggs},
    {"breeder", "the breeder", false, &Label::breeder},
    {"dated", "the day of what is said", false, &Label::dated},
    {"code", "the code", false, &Label::code},
}};

const FieldRow* field_row(std::string_view word) {
  const auto found =
      std::find_if(kFields.begin(), kFields.end(), [&](const FieldRow& row) { return row.word == word; });
  return found == kFields.end() ? nullptr : &*found;
}

const std::vector<std::string>* list_of(std::string_view field, const Label& label) {
  if (field == "genes") return &label.genes;
  if (field == "footnote") return &label.footnote;
  return field == "possible" ? &label.possible_genes : nullptr;
}

std::string text_of(const std::string& field, const Label& label) {
  if (field.starts_with(kOwnPrefix)) {
    const auto found = label.own.find(field.substr(kOwnPrefix.size()));
    return found == label.own.end() ? "" : found->second;
  }
  const FieldRow* row = field_row(field);
  return row != nullptr && row->text != nullptr ? label.*(row->text) : "";
}

// ---- reading a file

const std::vector<std::string>& words_of_a_design() {
  static const std::vector<std::string> words = {"for",   "size", "huge", "large", "medium",
                                                 "small", "tiny", "band", "box",   "boxes"};
  return words;
}

std::optional<TextRank> rank_of(std::string_view word) {
  constexpr std::array<std::string_view, 5> kRanks = {"huge", "large", "medium", "small", "tiny"};
  const auto found = std::find(kRanks.begin(), kRanks.end(), word);
  if (found == kRanks.end()) return std::nullopt;
  return static_cast<TextRank>(found - kRanks.begin());
}

class DesignFile {
 public:
  explicit DesignFile(const std::string& name) : name_(name) {}

  Design read(std::string_view text) {
    for (const FormLine& line : form_lines(text, name_)) take(line);
    if (!says_for_) {
      throw core::Error(core::Fault::bad_input,
                        name_ + " does not say what it labels: begin it with a line such as “for animal”.");
    }
    if (design_.rows.empty()) {
      throw core::Error(core::Fault::bad_input, name_ + " shows nothing: give it a line such as “huge name” at least.");
    }
    return std::move(design_);
  }

 private:
  void take(const FormLine& line) {
    if (line.word == "for") return take_kind(line);
    if (line.word == "size") return take_size(line);
    if (line.word == "box") return take_box(line);
    if (line.word == "boxes") return take_boxes(line);
    DesignRow row;
    if (line.word == "band") {
      row.what = DesignRow::What::band;
      row.weight = Weight::bold;
    } else if (const auto rank = rank_of(line.word)) {
      row.rank = *rank;
      if (*rank == TextRank::huge) row.weight = Weight::bold;
    } else {
      form_error(name_, line.number,
                 "“" + line.word + "” is no word of a design." + did_you_mean(line.word, words_of_a_design()));
    }
    take_pieces(line, row);
    if (row.pieces.empty()) {
      form_error(name_, line.number, "“" + line.word + "” wants at least one field, such as “" + line.word + " name”.");
    }
    design_.rows.push_back(std::move(row));
  }

  void take_kind(const FormLine& line) {
    const auto kind = label_kind_of(line.rest);
    std::vector<std::string> known;
    std::string all;
    for (const LabelKind one : label_kinds()) {
      known.emplace_back(word_of(one));
      all += (all.empty() ? "" : ", ") + known.back();
    }
    if (!kind) {
      form_error(name_, line.number,
                 "“" + line.rest + "” is nothing that is labelled." + did_you_mean(line.rest, known) +
                     " There are: " + all + ".");
    }
    if (says_for_) form_error(name_, line.number, "“for” is said twice.");
    says_for_ = true;
    design_.kind = *kind;
  }

  void take_size(const FormLine& line) {
    if (design_.size) form_error(name_, line.number, "“size” is said twice.");
    const Pair size = form_measures(line, name_);
    const auto sane = [](double mm) { return mm >= 5 && mm <= 300; };
    if (!sane(size.first) || !sane(size.second))
      form_error(name_, line.number, "A label measures 5 to 300 mm each way.");
    design_.size = LabelSize{size.first, size.second};
  }

  void take_box(const FormLine& line) {
    if (!line.rest.empty()) form_error(name_, line.number, "“box” stands alone: it is blank, for a marker.");
    design_.rows.push_back({DesignRow::What::box, TextRank::medium, Weight::regular, {}, 0});
  }

  void take_boxes(const FormLine& line) {
    int count = 0;
    const char* end = line.rest.data() + line.rest.size();
    const auto [after, fault] = std::from_chars(line.rest.data(), end, count);
    if (fault != std::errc() || count < 1 || count > 20) {
      form_error(name_, line.number, "“boxes” wants how many, 1 to 20, and may have a word: “boxes 6 \"meals\"”.");
    }
    DesignRow row{DesignRow::What::boxes, TextRank::tiny, Weight::regular, {}, count};
    take_pieces({line.number, line.word, std::string(after, end)}, row);
    design_.rows.push_back(std::move(row));
  }

  void take_pieces(const FormLine& line, DesignRow& row) {
    std::string_view rest = line.rest;
    while (!rest.empty()) {
      if (rest.front() == ' ' || rest.front() == '\t') {
        rest.remove_prefix(1);
      } else if (rest.front() == '"') {
        const std::size_t end = rest.find('"', 1);
        if (end == std::string_view::npos) form_error(name_, line.number, "a quotation mark is not closed.");
        row.pieces.push_back({DesignPiece::What::words, std::string(rest.substr(1, end - 1))});
        rest.remove_prefix(end + 1);
      } else {
        const std::size_t end = std::min(rest.find_first_of(" \t\""), rest.size());
        take_word(line, std::string(rest.substr(0, end)), row);
        rest.remove_prefix(end);
      }
    }
  }

  void take_word(const FormLine& line, const std::string& word, DesignRow& row) {
    if (word == "bold") {
      row.weight = Weight::bold;
    } else if (word == "plain") {
      row.weight = Weight::regular;
    } else if (word == "|") {
      row.pieces.push_back({DesignPiece::What::dot, ""});
    } else if (field_row(word) != nullptr || (word.starts_with(kOwnPrefix) && word.size() > kOwnPrefix.size())) {
      row.pieces.push_back({DesignPiece::What::field, word});
    } else {
      std::string all;
      for (const std::string& field : field_words()) all += (all.empty() ? "" : ", ") + field;
      form_error(name_, line.number,
                 "“" + word + "” is no field." + did_you_mean(word, field_words()) + " There are: " + all +
                     "; my:WORD for a field of your own; and \"words\" in "
                     "quotation marks.");
    }
  }

  std::string name_;
  Design design_;
  bool says_for_ = false;
};

// ---- the built-in ones

constexpr std::array<std::string_view, 9> kTexts = {
    R"(for     place
huge    name
medium  under
band    warning
)",
    R"(for     strip
huge    name
band    warning
)",
    R"(for     animal
huge    name
large   bold sex prey
band    warning
medium  bold genes
small   "poss." possible
tiny    species | year | parents
tiny    footnote
box
)",
    R"(for     hatchling
huge    name sex
band    warning
medium  bold genes
small   "poss." possible
tiny    "hatched" hatched | parents
tiny    footnote
boxes   6 "meals"
)",
    R"(for     sale
huge    name
large   bold sex species
band    warning
medium  bold genes
small   "possible:" possible
small   "hatched" hatched | parents
small   "eats" prey
tiny    breeder | "as recorded on" dated
tiny    footnote
)",
    R"(for     clutch
huge    name
large   bold parents
band    warning
medium  "laid" laid
medium  bold eggs
box
)",
    R"(for     egg-box
huge    name
large   bold under
band    warning
medium  "laid" laid
medium  bold eggs
tiny    parents
box
)",
    R"(for     helper
huge    name
medium  under
small   breeder
)",
    R"(for     scan-line
huge    name
medium  under
)"};

}  // namespace

std::vector<std::string> field_words() {
  std::vector<std::string> words;
  for (const FieldRow& row : kFields) words.emplace_back(row.word);
  return words;
}

Design parse_design(std::string_view text, const std::string& name) {
  return DesignFile(name).read(text);
}

std::string_view built_in_design_text(LabelKind kind) {
  return kTexts.at(static_cast<std::size_t>(kind));
}

const Design& built_in_design(LabelKind kind) {
  static const std::array<Design, kTexts.size()> designs = [] {
    std::array<Design, kTexts.size()> all;
    for (const LabelKind one : label_kinds()) {
      all[static_cast<std::size_t>(one)] = parse_design(built_in_design_text(one), std::string(word_of(one)));
    }
    return all;
  }();
  return designs.at(static_cast<std::size_t>(kind));
}

SaidRow say(const DesignRow& row, const Label& label) {
  SaidRow said;
  std::string waiting;  // words that go when the field behind them is empty
  bool dot = false;
  const auto add = [&](const std::string& text) {
    if (text.empty()) return waiting.clear();
    const std::string gap = said.text.empty() ? "" : dot ? "  ·  " : " ";
    said.text += gap + waiting + (waiting.empty() ? "" : " ") + text;
    waiting.clear();
    dot = false;
  };
  for (const DesignPiece& piece : row.pieces) {
    const auto* list = piece.what == DesignPiece::What::field ? list_of(piece.text, label) : nullptr;
    if (piece.what == DesignPiece::What::words) {
      waiting += (waiting.empty() ? "" : " ") + piece.text;
    } else if (piece.what == DesignPiece::What::dot) {
      dot = true;
    } else if (piece.text == "sex") {
      said.sex = label.sex;
    } else if (list != nullptr) {
      for (const std::string& item : *list) {
        if (item.empty()) continue;
        if (said.items.empty()) said.lead = waiting;
        said.items.push_back(waiting.empty() ? item : std::exchange(waiting, "") + " " + item);
      }
      waiting.clear();
    } else {
      add(text_of(piece.text, label));
    }
  }
  // Words that no field follows are the keeper's own.
  if (!waiting.empty()) add(std::exchange(waiting, ""));
  if (!said.items.empty() && !said.text.empty()) {
    said.items.insert(said.items.begin(), said.text);
    said.text.clear();
  }
  return said;
}

std::string content_of(const Design& design, const Label& label) {
  std::string text = std::string(word_of(design.kind)) + "\n" + label.payload + "\n";
  for (const DesignRow& row : design.rows) {
    const SaidRow said = say(row, label);
    text += std::to_string(static_cast<int>(row.what)) + "." + std::to_string(static_cast<int>(row.rank)) + " ";
    if (said.sex) text += std::to_string(static_cast<int>(*said.sex));
    text += "\t" + said.text;
    for (const std::string& item : said.items) text += "\t" + item;
    text += "\n";
  }
  return text;
}

bool is_needed(const DesignRow& row) {
  return std::any_of(row.pieces.begin(), row.pieces.end(), [](const DesignPiece& piece) {
    const FieldRow* field = piece.what == DesignPiece::What::field ? field_row(piece.text) : nullptr;
    return field != nullptr && field->needed;
  });
}

bool only_explains(const DesignRow& row) {
  return !row.pieces.empty() && std::all_of(row.pieces.begin(), row.pieces.end(), [](const DesignPiece& piece) {
    return piece.what == DesignPiece::What::field && piece.text == "footnote";
  });
}

std::string subject_of(const DesignRow& row) {
  if (row.what == DesignRow::What::box) return "the marker's box";
  if (row.what == DesignRow::What::boxes) return "the boxes to tick";
  std::vector<std::string> subjects;
  for (const DesignPiece& piece : row.pieces) {
    if (piece.what != DesignPiece::What::field) continue;
    const FieldRow* field = field_row(piece.text);
    subjects.push_back(field != nullptr ? std::string(field->subject) : "“" + piece.text + "”");
  }
  if (subjects.empty()) return "your own words";
  std::string text = subjects[0];
  for (std::size_t i = 1; i < subjects.size(); ++i) text += (i + 1 == subjects.size() ? " and " : ", ") + subjects[i];
  return text;
}

}  // namespace rackside::labels
