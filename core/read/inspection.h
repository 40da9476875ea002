#pragma once

#include <optional>
#include <string>
#include <vector>

#include "core/read/reader.h"

// The register that an inspection asks for. What it must hold differs from place to place; these are the columns that
// England asks of a seller of animals (SI 2018/486, schedule 3, paragraph 2(1)): supplier, sex and age where known,
// veterinary treatment, date of birth or acquisition, date of sale, date of death. Local rules decide.
namespace rackside::core {

struct InspectionTreatment {
  DayNumber day = 0;
  std::string with;
};

struct InspectionLine {
  Named animal;
  std::string species, sex;
  std::string hatched;   ///< as known: 2024, 2024-07 or 2024-07-15; empty: unknown
  std::string acquired;  ///< likewise; empty: not said
  std::string supplier;  ///< empty: not said, or erased
  std::string parents;   ///< "C-5 × C-3" where the register says them
  DayNumber registered = 0;
  std::vector<InspectionTreatment> treatments;  ///< within the period, oldest first
  std::optional<DayNumber> sold, left, died;
};

/// All that were here at some time from `from` to `to`, both included, by label: from hatching or acquisition, else
/// from their registration, until they left or died. Withdrawn entries left out.
std::vector<InspectionLine> inspection_list(Reader& reader, DayNumber from, DayNumber to);

/// The first day of a date of which only the year or the month may be known; nullopt for what is no date. Pure.
std::optional<DayNumber> first_day_of(const std::string& date);
/// The supplier that was said last; empty where none was said or the text was erased.
std::string supplier_of(Reader& reader, Thing animal);
/// "7 years", "5 months", "12 days"; "about" before it where only the year or month of hatching is known; empty where
/// it is unknown or would be negative. Pure.
std::string age_text(const std::string& hatched, DayNumber on);

}  // namespace rackside::core
