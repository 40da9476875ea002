#pragma once

#include <map>
#include <set>
#include <string>
#include <vector>

#include "core/read/clutches.h"

// From what hatched to animals of the register, so that the same young one is the same animal in every book, whoever
// registers it and on however many devices.
namespace rackside::core {

/// The young of a clutch carry numbers: their egg's, where it has one, else the lowest that are free. A young one's
/// code is made from its clutch (the event of its laying) and its number, not drawn: two helpers who register the same
/// hatching without a network make one animal, not twins. Deterministic.
Code young_code(const EventRef& laying, std::int64_t number);
/// Young not yet told apart, as one thing.
Code group_code(const EventRef& laying);

/// What the registration of a young one says of where it comes from: "<laying>/<number>", the same on every device.
std::string young_mark(const EventRef& laying, std::int64_t number);

/// Finds the young of a clutch in the register. Fills `young` and `group`.
void add_young(Reader& reader, Clutch& clutch);

/// A young one that hatched and is not in the register yet.
struct NewYoung {
  std::int64_t number = 0;
  DayNumber hatched = 0;
};
/// Those that are missing, by number: as many as hatched by the book, less those that the register has. `taken`: the
/// numbers in the register. Pure.
std::vector<NewYoung> missing_young(const Clutch& clutch, const std::set<std::int64_t>& taken);
/// The numbers that the register has of a clutch.
std::set<std::int64_t> numbers_of_young(Reader& reader, const Clutch& clutch);

}  // namespace rackside::core
