#include "cli/register/columns.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cctype>

#include "core/base/words.h"

namespace rackside::cli {
namespace {

constexpr std::array kFields = {
    FieldInfo{Field::short_id, "short", "id;short id;animal;animal id;tag;no;number;snake;snake id",
              "your own short ID: C-14 (needed)"},
    FieldInfo{Field::name, "name", "animal name;called", "a name, if it has one"},
    FieldInfo{Field::species, "species", "kind", "as you call it: corn snake"},
    FieldInfo{Field::sex, "sex", "gender", "male, female, unknown; m, f; 1.0, 0.1, 0.0.1"},
    FieldInfo{Field::hatched, "hatched", "hatch date;hatch;dob;birth;born;birth date;date of birth;birthday;hatch year",
              "the day, the month or the year"},
    FieldInfo{Field::prey, "prey", "food;feeder;eats;prey type", "what it is fed, in your own words"},
    FieldInfo{Field::every, "every", "interval;feeding interval;feeds every", "days between meals: 7 or 7-10"},
    FieldInfo{Field::at, "at", "place;tub;location;position;enclosure;cage", "the place it lives at: B-07"},
    FieldInfo{Field::genes, "genes", "morph;genetics;traits;gene", "amel; het anery; 66 % het stripe; not hypo"},
    FieldInfo{Field::sire, "sire", "father", "the short ID of its father"},
    FieldInfo{Field::dam, "dam", "mother", "the short ID of its mother"},
    FieldInfo{Field::supplier, "supplier", "bought from;seller;breeder;origin;source",
              "from whom (sealed: can be erased)"},
    FieldInfo{Field::acquired, "acquired", "bought;date acquired;acquisition date;purchase date;date bought;arrived",
              "the day it came"},
    FieldInfo{Field::last_meal, "last-meal", "last fed;last feeding;last ate;last meal;fed", "the day it last ate"},
    FieldInfo{Field::last_prey, "last-prey", "last food;last prey", "what it ate then"},
    FieldInfo{Field::weight, "weight", "grams;weight g;weight in g;g;mass", "grams: 412 or 41.2"},
    FieldInfo{Field::weighed, "weighed", "weighed on;date weighed;weight date", "the day of that weight"},
    FieldInfo{Field::with, "with", "paired with;partner;mate", "the other one of an open pairing"},
    FieldInfo{Field::paired, "paired", "paired since;pairing date;paired on", "since when the pairing is open"},
    FieldInfo{Field::gravid, "gravid", "gravid since", "yes, or the day it was seen"},
    FieldInfo{Field::laid, "laid", "laid on;lay date;laying date;eggs laid", "the day she laid"},
    FieldInfo{Field::eggs, "eggs", "clutch;clutch size", "good eggs + slugs: 14+2"},
    FieldInfo{Field::treated, "treated", "treatment;remedy;medication", "what it was treated with"},
    FieldInfo{Field::treated_on, "treated-on", "treatment date;date treated", "the day of that treatment"},
    FieldInfo{Field::held, "held", "hold;holdback;held back", "yes: held back, not for sale"},
    FieldInfo{Field::sold, "sold", "sold on;sale date;date sold", "the day it was sold"},
    FieldInfo{Field::left, "left", "left on;gone;date left", "the day it left the room"},
    FieldInfo{Field::died, "died", "death;date of death;died on", "the day it died"},
    FieldInfo{Field::note, "note", "notes;comment;comments;remark;remarks", "free text (sealed: can be erased)"},
};

std::optional<Field> field_named(std::string_view word) {
  for (const FieldInfo& info : kFields)
    if (info.word == word) return info.field;
  return std::nullopt;
}

bool is_usual_name(const FieldInfo& info, const std::string& heading) {
  return (";" + std::string(info.also) + ";").find(";" + heading + ";") != std::string::npos;
}

std::string all_words() {
  std::string out;
  for (const FieldInfo& info : kFields) out += (out.empty() ? "" : ", ") + std::string(info.word);
  return out;
}

std::string nearest_word(const std::string& heading) {
  std::string_view best;
  std::size_t distance = 3;
  for (const FieldInfo& info : kFields) {
    const std::size_t here = core::edit_distance(info.word, heading);
    if (here < distance && here < info.word.size() / 2 + 1) {
      best = info.word;
      distance = here;
    }
  }
  return std::string(best);
}

class Planner {
 public:
  Planner(const ColumnWishes& now, const ColumnWishes& before) : now_(plain(now)), before_(plain(before)) {}

  ColumnPlan plan(const std::vector<std::string>& headings) {
    for (const std::string& heading : headings) plan_.columns.push_back(column(heading));
    for (const auto& wish : now_) {
      const bool there = std::any_of(headings.begin(), headings.end(),
                                     [&](const std::string& one) { return plain_heading(one) == wish.first; });
      if (!there)
        plan_.problems.push_back(fmt::format("--map names a column “{}” that the table does not have", wish.first));
    }
    refuse_twice();
    if (!plan_.where().contains(Field::short_id))
      plan_.problems.emplace_back(
          "the column `short` is missing: your own ID of each animal. If it has another name, say "
          "--map \"THAT NAME=short\"");
    return std::move(plan_);
  }

 private:
  static ColumnWishes plain(const ColumnWishes& wishes) {
    ColumnWishes out;
    for (const auto& [heading, word] : wishes) out[plain_heading(heading)] = word;
    return out;
  }

  ColumnPlan::Column wished(ColumnPlan::Column out, const std::string& word, std::string_view why) {
    out.why = why;
    out.left_out = word == "-";
    out.field = field_named(word);
    if (!out.left_out && !out.field)
      plan_.problems.push_back(
          fmt::format("--map: there is no field “{}”; there are {}, and - to leave a column out", word, all_words()));
    return out;
  }

  ColumnPlan::Column column(const std::string& heading) {
    ColumnPlan::Column out{.heading = heading};
    const std::string name = plain_heading(heading);
    if (const auto wish = now_.find(name); wish != now_.end()) return wished(out, wish->second, "you said so");
    if (const auto wish = before_.find(name); wish != before_.end())
      return wished(out, wish->second, "you said so before");
    for (const FieldInfo& info : kFields) {
      const bool own = plain_heading(info.word) == name;
      if (!own && !is_usual_name(info, name)) continue;
      out.field = info.field;
      out.why = own ? "its name" : "a usual name of it";
      return out;
    }
    out.why = "not understood";
    const std::string near = nearest_word(name);
    plan_.problems.push_back(
        fmt::format("there is no column “{0}”{1}. Say what it is, --map \"{0}=note\", or leave it "
                    "out, --map \"{0}=-\". Fields: {2}",
                    heading, near.empty() ? "" : "; did you mean “" + near + "”?", all_words()));
    return out;
  }

  void refuse_twice() {
    std::map<Field, std::string> seen;
    for (const ColumnPlan::Column& one : plan_.columns) {
      if (!one.field) continue;
      const auto [at, first] = seen.emplace(*one.field, one.heading);
      if (!first)
        plan_.problems.push_back(fmt::format("“{}” and “{}” both are the field {}: leave one out, --map \"{}=-\"",
                                             at->second, one.heading, info_of(*one.field).word, one.heading));
    }
  }

  ColumnWishes now_;
  ColumnWishes before_;
  ColumnPlan plan_;
};

}  // namespace

std::span<const FieldInfo> field_table() {
  return kFields;
}

const FieldInfo& info_of(Field field) {
  return kFields[static_cast<std::size_t>(field)];
}

std::map<Field, std::size_t> ColumnPlan::where() const {
  std::map<Field, std::size_t> out;
  for (std::size_t i = 0; i < columns.size(); ++i)
    if (columns[i].field) out.emplace(*columns[i].field, i);
  return out;
}

std::string plain_heading(std::string_view text) {
  std::string out;
  for (const char c : text) {
    const auto byte = static_cast<unsigned char>(c);
    if (byte >= 0x80 || std::isalnum(byte) != 0) {
      out += static_cast<char>(byte < 0x80 ? std::tolower(byte) : byte);
    } else if (!out.empty() && out.back() != ' ') {
      out += ' ';
    }
  }
  while (!out.empty() && out.back() == ' ') out.pop_back();
  return out;
}

ColumnPlan plan_columns(const std::vector<std::string>& headings, const ColumnWishes& now, const ColumnWishes& before) {
  return Planner(now, before).plan(headings);
}

}  // namespace rackside::cli
