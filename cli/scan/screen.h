#pragma once

#include <string>

#include "cli/scan/desk.h"
#include "cli/terminal.h"

namespace rackside::cli {

/// Shows what came of each line: large on a terminal, one plain line an outcome in a pipe, one JSON object a line of
/// input for programs.
class Screen {
 public:
  enum class Form : std::uint8_t { large, plain, json };
  Screen(const Terminal& terminal, Form form) : terminal_(terminal), form_(form) {}

  void show(const LineOutcome& outcome, std::size_t line, const Desk& desk);
  void begin(const std::string& helper) const;
  void end(const Desk& desk, std::size_t not_understood) const;

 private:
  void show_large(const LineOutcome& outcome, const Desk& desk) const;
  void show_plain(const LineOutcome& outcome) const;
  void show_json(const LineOutcome& outcome, std::size_t line, const Desk& desk) const;
  void show_headline(const std::string& text) const;
  void show_notices(const LineOutcome& outcome);

  const Terminal& terminal_;
  Form form_;
  std::string last_notice_;
};

}  // namespace rackside::cli
