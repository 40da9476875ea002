#include "core/log/kinds.h"

#include <algorithm>
#include <array>
#include <unordered_map>

namespace rackside::core {
namespace {

enum class Voidable : bool { no, yes };
enum class Grave : bool { no, yes };

constexpr KindInfo row(Kind kind, std::string_view name, KindClass kind_class, Rebinding rebinding, Voidable voidable,
                       Grave grave, std::string_view sentence) {
  return {kind, name, kind_class, rebinding, voidable == Voidable::yes, grave == Grave::yes, sentence};
}

/// The log's own affairs and judgements are never voided: a void is lifted by `restored`, an answer by answering
/// `open`, a setting by a later one.
constexpr KindInfo fixed(Kind kind, std::string_view name, KindClass kind_class, std::string_view sentence) {
  return row(kind, name, kind_class, Rebinding::never, Voidable::no, Grave::no, sentence);
}
constexpr KindInfo admin(Kind kind, std::string_view name, std::string_view sentence) {
  return fixed(kind, name, KindClass::administration, sentence);
}
constexpr KindInfo judge(Kind kind, std::string_view name, std::string_view sentence) {
  return fixed(kind, name, KindClass::judgement, sentence);
}

/// What names its animals itself and can be withdrawn.
constexpr KindInfo named(Kind kind, std::string_view name, KindClass kind_class, std::string_view sentence,
                         Grave grave = Grave::no) {
  return row(kind, name, kind_class, Rebinding::never, Voidable::yes, grave, sentence);
}

/// What is seen at a tub, where a scan of the place may have meant another animal.
constexpr KindInfo seen(Kind kind, std::string_view name, Rebinding rebinding, std::string_view sentence,
                        Grave grave = Grave::no) {
  return row(kind, name, KindClass::observation, rebinding, Voidable::yes, grave, sentence);
}

constexpr auto kRegister = KindClass::registration;
constexpr auto kFate = KindClass::fate;
constexpr auto kMove = KindClass::move;

constexpr std::array kTable = {
    fixed(Kind::unknown, "unknown", KindClass::administration,
          "something that this version does not know was recorded of {}"),

    admin(Kind::founded, "founded", "the collection was founded"),
    admin(Kind::admitted, "admitted", "a device was admitted"),
    admin(Kind::retired, "retired", "a device was retired"),
    admin(Kind::succeeded, "succeeded", "a device goes on under a new key"),
    admin(Kind::clock_marked, "clock_marked", "a device marked its clock"),
    admin(Kind::clock_checked, "clock_checked", "a device's clock was checked"),
    admin(Kind::set, "set", "a setting was changed"),
    admin(Kind::erased, "erased", "a text was erased"),

    named(Kind::rack, "rack", kRegister, "rack {} was registered"),
    named(Kind::place, "place", kRegister, "place {} was registered"),
    named(Kind::animal, "animal", kRegister, "{} was registered"),
    named(Kind::helper, "helper", kRegister, "helper {} was registered"),
    named(Kind::shortcut, "shortcut", kRegister, "scan sheet entry {} was registered"),
    // Codes are read in the stage before voids, so a void of one could not take effect.
    fixed(Kind::coded, "coded", kRegister, "{} got a further code"),
    named(Kind::edited, "edited", kRegister, "the record of {} was edited"),
    named(Kind::says, "says", KindClass::statement, "a statement was made about {}"),

    named(Kind::held, "held", kFate, "{} was held back"),
    named(Kind::reserved, "reserved", kFate, "{} was reserved"),
    named(Kind::sold, "sold", kFate, "{} was sold", Grave::yes),
    named(Kind::left, "left", kFate, "{} left"),
    named(Kind::died, "died", kFate, "{} died", Grave::yes),

    judge(Kind::voided, "voided", "an entry was withdrawn"),
    judge(Kind::restored, "restored", "a withdrawn entry was restored"),
    judge(Kind::settled, "settled", "a question was settled"),

    named(Kind::moved, "moved", kMove, "{} was moved"),
    named(Kind::swapped, "swapped", kMove, "{} changed places with another"),
    named(Kind::paired, "paired", kMove, "{} was paired"),
    named(Kind::separated, "separated", kMove, "{} was separated"),

    // Meals and what the eye sees in passing: likely true of whoever lives there by the merged log. The helper is told.
    seen(Kind::fed, "fed", Rebinding::notice, "{} ate"),
    seen(Kind::refused, "refused", Rebinding::notice, "{} refused"),
    seen(Kind::offered, "offered", Rebinding::notice, "{} was offered food"),
    seen(Kind::leftover, "leftover", Rebinding::notice, "{} left its food"),
    seen(Kind::ate, "ate", Rebinding::notice, "{} ate what was offered"),
    seen(Kind::regurgitated, "regurgitated", Rebinding::notice, "{} regurgitated"),
    seen(Kind::shed, "shed", Rebinding::notice, "{} shed"),
    // Clears a stuck shed from the list: of the wrong animal, it would hide one that needs help.
    seen(Kind::cleared, "cleared", Rebinding::question, "{} is clear of stuck shed"),
    seen(Kind::opaque, "opaque", Rebinding::notice, "{} is opaque"),
    // Facts of one animal's body, sex, season or young: on the wrong record they mislead for years.
    seen(Kind::locked, "locked", Rebinding::question, "{} was seen locked"),
    seen(Kind::palpated, "palpated", Rebinding::question, "{} was palpated"),
    seen(Kind::ovulated, "ovulated", Rebinding::question, "{} ovulated"),
    seen(Kind::gravid, "gravid", Rebinding::question, "{} is gravid"),
    seen(Kind::laid, "laid", Rebinding::question, "{} laid", Grave::yes),
    seen(Kind::weighed, "weighed", Rebinding::question, "{} was weighed"),
    // True of the tub, whoever was in it.
    seen(Kind::cleaned, "cleaned", Rebinding::silent, "{} was cleaned"),
    seen(Kind::watered, "watered", Rebinding::silent, "{} got fresh water"),
    seen(Kind::noted, "noted", Rebinding::notice, "a note was made about {}"),
    seen(Kind::treated, "treated", Rebinding::both, "{} was treated", Grave::yes),
    seen(Kind::candled, "candled", Rebinding::question, "{} was candled"),
    seen(Kind::pipped, "pipped", Rebinding::question, "{} pipped"),
    seen(Kind::hatched, "hatched", Rebinding::question, "{} hatched", Grave::yes),
    seen(Kind::sexed, "sexed", Rebinding::question, "{} was sexed"),

    admin(Kind::printed, "printed", "labels were printed"),

    seen(Kind::incubated, "incubated", Rebinding::question, "the eggs of {} were put at a temperature"),

    // Whose it was is in doubt: both are looked after until somebody says. `well` ends that, so it is asked about.
    seen(Kind::ill, "ill", Rebinding::both, "{} looks unwell"),
    seen(Kind::well, "well", Rebinding::question, "{} is well again"),
    admin(Kind::stocked, "stocked", "the freezer was filled or counted"),
};

constexpr bool in_order_of_the_enumeration() {
  for (std::size_t i = 0; i < kTable.size(); ++i)
    if (static_cast<std::size_t>(kTable[i].kind) != i) return false;
  return static_cast<std::size_t>(Kind::stocked) + 1 == kTable.size();
}
static_assert(in_order_of_the_enumeration(), "one row a kind, in the order of the enumeration");

}  // namespace

std::span<const KindInfo> kind_table() {
  return kTable;
}

const KindInfo& info_of(Kind kind) {
  const auto index = static_cast<std::size_t>(kind);
  return kTable[index < kTable.size() ? index : 0];
}

std::string_view word_of(Kind kind) {
  return info_of(kind).name;
}

Kind kind_of(std::string_view word) {
  static const auto by_word = [] {
    std::unordered_map<std::string_view, Kind> out;
    for (const KindInfo& info : kTable) out.emplace(info.name, info.kind);
    return out;
  }();
  const auto found = by_word.find(word);
  return found == by_word.end() ? Kind::unknown : found->second;
}

}  // namespace rackside::core
