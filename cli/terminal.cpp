#include "cli/terminal.h"

#include <sys/ioctl.h>
#include <unistd.h>

#include <algorithm>
#include <cstdio>
#include <cstdlib>
#include <cwchar>

namespace rackside::cli {
namespace {

std::string_view code_of(Terminal::Style style) {
  switch (style) {
    case Terminal::Style::strong:
      return "\033[1m";
    case Terminal::Style::faint:
      return "\033[2m";
    case Terminal::Style::good:
      return "\033[32m";
    case Terminal::Style::warn:
      return "\033[33m";
    case Terminal::Style::bad:
      return "\033[31;1m";
    case Terminal::Style::name:
      return "\033[36;1m";
    default:
      return "";
  }
}

bool wants_colours() {
  const char* none = std::getenv("NO_COLOR");
  const char* term = std::getenv("TERM");
  return !(none && *none) && term && std::string_view(term) != "dumb";
}

/// Decodes one UTF-8 character; an invalid byte counts as itself.
char32_t next_character(std::string_view text, std::size_t& i) {
  const auto byte = static_cast<unsigned char>(text[i++]);
  int more = byte >= 0xf0 ? 3 : byte >= 0xe0 ? 2 : byte >= 0xc0 ? 1 : 0;
  char32_t value = more == 3 ? byte & 0x07U : more == 2 ? byte & 0x0fU : more == 1 ? byte & 0x1fU : byte;
  for (; more > 0 && i < text.size(); --more) value = (value << 6) | (static_cast<unsigned char>(text[i++]) & 0x3fU);
  return value;
}

/// Length of one of our own styles at `i` ("ESC [ digits m"); 0 where there is none.
std::size_t style_at(std::string_view text, std::size_t i) {
  if (text.substr(i, 2) != "\033[") return 0;
  const std::size_t end = text.find_first_not_of("0123456789;", i + 2);
  return end != std::string_view::npos && text[end] == 'm' ? end + 1 - i : 0;
}

/// Length of a control character at `i`: C0 but line end and tabulator, U+007F, C1 (U+0080 to U+009F); else 0.
std::size_t control_at(std::string_view text, std::size_t i) {
  const auto byte = static_cast<unsigned char>(text[i]);
  if ((byte < 0x20 && byte != '\n' && byte != '\t') || byte == 0x7f) return 1;
  const bool c1 = byte == 0xc2 && i + 1 < text.size() && static_cast<unsigned char>(text[i + 1]) - 0x80U < 0x20U;
  return c1 ? 2 : 0;
}

/// What a terminal may be sent. Names, signs and words of other devices are in it, so of what could move its cursor,
/// colour it or clear it only our own styles are left (CWE-150).
std::string harmless(std::string_view text) {
  // Most texts hold nothing to take out, whatever their script: no control character, nor what may begin a C1 one.
  const auto is_printable = [](unsigned char byte) { return byte >= 0x20 && byte != 0x7f && byte != 0xc2; };
  if (std::all_of(text.begin(), text.end(), is_printable)) return std::string(text);
  std::string out;
  out.reserve(text.size());
  for (std::size_t i = 0; i < text.size();) {
    if (const std::size_t style = style_at(text, i)) {
      out.append(text, i, style);
      i += style;
    } else if (const std::size_t control = control_at(text, i)) {
      out += ' ';
      i += control;
    } else {
      out += text[i++];
    }
  }
  return out;
}

}  // namespace

int display_width(std::string_view text) {
  int width = 0;
  for (std::size_t i = 0; i < text.size();) {
    if (text[i] == '\033') {
      while (i < text.size() && text[i] != 'm') ++i;
      ++i;
      continue;
    }
    if (const auto byte = static_cast<unsigned char>(text[i]); byte >= 0x20 && byte < 0x7f) {
      ++width;
      ++i;
      continue;
    }
    const int cells = ::wcwidth(static_cast<wchar_t>(next_character(text, i)));
    width += cells > 0 ? cells : 0;
  }
  return width;
}

Terminal::Terminal() {
  out_is_terminal_ = ::isatty(STDOUT_FILENO) == 1;
  in_is_terminal_ = ::isatty(STDIN_FILENO) == 1;
  const char* forced = std::getenv("CLICOLOR_FORCE");
  colours_ = wants_colours() && (out_is_terminal_ || (forced && *forced && *forced != '0'));
}

std::string Terminal::styled(Style style, std::string_view text) const {
  if (!colours_ || style == Style::plain || text.empty()) return std::string(text);
  return std::string(code_of(style)) + std::string(text) + "\033[0m";
}

void Terminal::line(std::string_view text) const {
  const std::string shown = harmless(text);
  std::fwrite(shown.data(), 1, shown.size(), stdout);
  std::fputc('\n', stdout);
  if (out_is_terminal_) std::fflush(stdout);
}

void Terminal::heading(std::string_view text) const {
  line();
  line(strong(text));
  std::string rule;
  for (int i = display_width(text); i > 0; --i) rule += "─";
  line(faint(rule));
}

void Terminal::good(std::string_view text) const {
  line(styled(Style::good, "✓") + " " + std::string(text));
}
void Terminal::warn(std::string_view text) const {
  line(styled(Style::warn, "!") + " " + std::string(text));
}

void Terminal::problem(std::string_view text) const {
  std::fflush(stdout);
  const std::string shown = harmless(text);
  std::fprintf(stderr, "rackside: %s\n", shown.c_str());
}

void Terminal::table(const std::vector<std::vector<std::string>>& rows) const {
  std::vector<int> widths;    // of columns
  std::vector<int> of_cells;  // row by row
  for (const auto& row : rows) {
    widths.resize(std::max(widths.size(), row.size()));
    for (std::size_t i = 0; i < row.size(); ++i) {
      of_cells.push_back(display_width(row[i]));
      widths[i] = std::max(widths[i], of_cells.back());
    }
  }
  std::size_t cell = 0;
  std::string text;
  for (const auto& row : rows) {
    text.clear();
    for (std::size_t i = 0; i < row.size(); ++i, ++cell) {
      text += row[i];
      if (i + 1 < row.size()) text.append(static_cast<std::size_t>(widths[i] - of_cells[cell] + 2), ' ');
    }
    text.erase(text.find_last_not_of(' ') + 1);
    line(text);
  }
}

int Terminal::width() const {
  winsize size{};
  if (out_is_terminal_ && ::ioctl(STDOUT_FILENO, TIOCGWINSZ, &size) == 0 && size.ws_col > 20) return size.ws_col;
  return 80;
}

void Terminal::bell(int times) const {
  if (!out_is_terminal_) return;
  for (int i = 0; i < times; ++i) {
    std::fputc('\a', stdout);
    std::fflush(stdout);
    if (i + 1 < times) ::usleep(150'000);
  }
}

void Terminal::progress(std::string_view what, std::size_t done, std::size_t all) const {
  if (::isatty(STDERR_FILENO) != 1) return;
  if (all > 0) {
    std::fprintf(stderr, "\r\033[K%.*s %zu of %zu (%zu %%)", static_cast<int>(what.size()), what.data(), done, all,
                 done * 100 / all);
  } else {
    std::fprintf(stderr, "\r\033[K%.*s %zu", static_cast<int>(what.size()), what.data(), done);
  }
  std::fflush(stderr);
}

void Terminal::end_progress() const {
  if (::isatty(STDERR_FILENO) == 1) std::fputs("\r\033[K", stderr);
}

}  // namespace rackside::cli
