#pragma once

#include <string>
#include <vector>

#include "core/entry/entry.h"

// The shapes that entry forms are made of: how the words behind the first are read, typed again and said. Pure.
namespace rackside::core::shapes {

using Words = std::vector<std::string>;

// Nothing follows.
std::string read_plain(const Words& words, Entry& entry);
std::string type_plain(const Entry& entry);

// "small-rat x2 thawed + mouse": own.items [{prey, count, state, how}], nothing when not said.
std::string read_meal(const Words& words, Entry& entry);
std::string type_meal(const Entry& entry);
/// " 2 × small-rat and mouse (thawed)", with a leading space; empty when not said.
std::string said_items(const Value& own);

// "stuck tail": own.stuck.
std::string read_shed(const Words& words, Entry& entry);
std::string type_shed(const Entry& entry);

// "7+1": own.good and a second count.
std::string read_eggs(const Words& words, Entry& entry);
std::string type_eggs(const Entry& entry);
std::string read_candled(const Words& words, Entry& entry);
std::string type_candled(const Entry& entry);
/// "7 good, 1 slug"; empty when not counted.
std::string said_eggs(const Value& own, std::string_view second, std::string_view one, std::string_view many);

// "412", "41.2g", "1.2 kg": own.grams_tenths.
std::string read_grams(const Words& words, Entry& entry);
std::string type_grams(const Entry& entry);
/// "41.2 g"
std::string said_grams(std::int64_t tenths);

// "28.5", "28.5C", "83F": own.celsius_tenths.
std::string read_celsius(const Words& words, Entry& entry);
std::string type_celsius(const Entry& entry);
/// "28.5 °C"
std::string said_celsius(std::int64_t tenths);

// "14mm": own.follicles_mm.
std::string read_follicles(const Words& words, Entry& entry);
std::string type_follicles(const Entry& entry);

// "6": own.count.
std::string read_count(const Words& words, Entry& entry);
std::string type_count(const Entry& entry);

// "ivermectin repeat 14": own.with, own.repeat_days.
std::string read_remedy(const Words& words, Entry& entry);
std::string type_remedy(const Entry& entry);

// "mites on the head": own.signs.
std::string read_signs(const Words& words, Entry& entry);
std::string type_signs(const Entry& entry);

// "female probed": own.sex, own.how.
std::string read_sex(const Words& words, Entry& entry);
std::string type_sex(const Entry& entry);

// "with C-02", "to B-07": entry.target.
std::string read_partner(const Words& words, Entry& entry);
std::string read_destination(const Words& words, Entry& entry);
std::string type_target(const Entry& entry);

// Free text: entry.note.
std::string read_text(const Words& words, Entry& entry);

}  // namespace rackside::core::shapes
