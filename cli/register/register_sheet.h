#pragma once

#include <string>
#include <vector>

#include "core/read/inspection.h"

namespace rackside::cli {

/// What the register's rows say, and its headings: the same for the screen, the table and the page.
struct RegisterTable {
  std::vector<std::string> headings;
  std::vector<std::vector<std::string>> rows;
};
RegisterTable register_table(const std::vector<core::InspectionLine>& lines, core::DayNumber until);

/// The caution that stands under every form of it.
extern const char* const kRegisterCaution;

/// As PDF: A4 landscape, the headings on every page, each page numbered.
std::string register_pdf(const RegisterTable& table, const std::string& title);

}  // namespace rackside::cli
