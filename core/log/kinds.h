#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string_view>

namespace rackside::core {

/// Everything that can be seen or decided. To add one: an enumerator here and its row in kinds.cpp.
/// The folded tables hold these numbers: whoever changes them raises `kRuleSet`, and all books are folded again.
enum class Kind : std::uint8_t {
  unknown = 0,
  // administration of the log itself
  founded,
  admitted,
  retired,
  succeeded,
  clock_marked,
  clock_checked,
  set,
  erased,
  // register
  rack,
  place,
  animal,
  helper,
  shortcut,
  coded,
  edited,
  says,
  // what becomes of an animal
  held,
  reserved,
  sold,
  left,
  died,
  // judgement of events
  voided,
  restored,
  settled,
  // where an animal is
  moved,
  swapped,
  paired,
  separated,
  // seen at the tub
  fed,
  refused,
  offered,
  leftover,
  ate,
  regurgitated,
  shed,
  cleared,
  opaque,
  locked,
  palpated,
  ovulated,
  gravid,
  laid,
  weighed,
  cleaned,
  watered,
  noted,
  treated,
  candled,
  pipped,
  hatched,
  sexed,
  // what was printed: of the log itself, but written later than the others
  printed,
  // how warm the eggs lie
  incubated,
  // looks unwell, and looks well again; prey that came into the freezer, or was counted there
  ill,
  well,
  stocked,
};

enum class KindClass : std::uint8_t { administration, registration, statement, fate, judgement, move, observation };

/// What happens to a scan of a place when, by the merged log, another animal lived there (core/rules/binding).
enum class Rebinding : std::uint8_t {
  never,     ///< names its animals itself
  silent,    ///< true of whatever stood there
  notice,    ///< goes to whom the log has there, and says so
  question,  ///< counts for nobody until a person says whose it was
  both,      ///< believed of both until settled: the safer belief for a treatment
};

struct KindInfo {
  Kind kind;
  std::string_view name;  ///< as written in events
  KindClass kind_class;
  Rebinding rebinding;
  bool voidable;              ///< only observations, moves and register edits are
  bool grave;                 ///< another's void of it is a question: treatment, eggs, death, sale
  std::string_view sentence;  ///< past tense for people, "{}" is the animal: "{} ate"
};

std::span<const KindInfo> kind_table();
const KindInfo& info_of(Kind kind);
std::string_view word_of(Kind kind);
/// Kind::unknown for a word that this program does not know.
Kind kind_of(std::string_view word);

}  // namespace rackside::core
