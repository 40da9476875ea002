#pragma once

#include <cstdint>
#include <map>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

// Which column of a keeper's table is what. Pure.
namespace rackside::cli {

enum class Field : std::uint8_t {
  short_id,
  name,
  species,
  sex,
  hatched,
  prey,
  every,
  at,
  genes,
  sire,
  dam,
  supplier,
  acquired,
  last_meal,
  last_prey,
  weight,
  weighed,
  with,
  paired,
  gravid,
  laid,
  eggs,
  treated,
  treated_on,
  held,
  sold,
  left,
  died,
  note,
};

struct FieldInfo {
  Field field;
  std::string_view word;   ///< as `--map` and our own exports call it
  std::string_view also;   ///< other headings that mean it, lower case, separated by semicolons
  std::string_view holds;  ///< for help
};
std::span<const FieldInfo> field_table();
const FieldInfo& info_of(Field field);

/// What each column is; nothing for one that is left out.
struct ColumnPlan {
  struct Column {
    std::string heading;
    std::optional<Field> field;
    bool left_out = false;  ///< by the keeper's wish
    std::string_view why;   ///< "its name", "a usual name of it", "you said so", "you said so before"
  };
  std::vector<Column> columns;
  std::vector<std::string> problems;  ///< for people
  std::map<Field, std::size_t> where() const;
};

/// What a keeper said of headings: heading → a field's word, or "-" to leave the column out.
using ColumnWishes = std::map<std::string, std::string>;

/// `now` goes before `before` (what earlier imports were told), which goes before the usual names. Two columns for one
/// field, a heading that is not understood, a wish for a heading that is not there: each is a problem.
ColumnPlan plan_columns(const std::vector<std::string>& headings, const ColumnWishes& now, const ColumnWishes& before);

/// "Date of Birth " → "date of birth": how headings are compared.
std::string plain_heading(std::string_view text);

}  // namespace rackside::cli
