#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

namespace rackside::cli {

/// Output for people, and for programs where they read. Colours only on a terminal that has them, never with NO_COLOR
/// or TERM=dumb; signs beside every colour, so that nothing is told by colour alone.
class Terminal {
 public:
  Terminal();

  enum class Style : std::uint8_t { plain, strong, faint, good, warn, bad, name };
  /// The text in a style, or as it is where there are no colours.
  std::string styled(Style style, std::string_view text) const;
  std::string strong(std::string_view text) const { return styled(Style::strong, text); }
  std::string faint(std::string_view text) const { return styled(Style::faint, text); }
  std::string name(std::string_view text) const { return styled(Style::name, text); }

  void line(std::string_view text = "") const;  ///< to standard output
  void heading(std::string_view text) const;    ///< a blank line before it and a rule under it
  void good(std::string_view text) const;       ///< "✓ …"
  void warn(std::string_view text) const;       ///< "! …" to standard output
  void problem(std::string_view text) const;    ///< "rackside: …" to standard error

  /// Aligned columns; widths count what a terminal shows (wide and combining characters included).
  void table(const std::vector<std::vector<std::string>>& rows) const;

  bool out_is_terminal() const { return out_is_terminal_; }
  bool in_is_terminal() const { return in_is_terminal_; }
  bool colours() const { return colours_; }
  int width() const;
  /// Sounds the bell on a terminal: once saved, twice not.
  void bell(int times) const;

  /// Overwritten in place on a terminal, silent elsewhere. `done` of `all`, 0 when unknown.
  void progress(std::string_view what, std::size_t done, std::size_t all) const;
  void end_progress() const;

 private:
  bool out_is_terminal_ = false;
  bool in_is_terminal_ = false;
  bool colours_ = false;
};

/// The number of terminal cells a text takes, styles left out.
int display_width(std::string_view text);

}  // namespace rackside::cli
