#include "cli/print/terminal_picture.h"

#include <poll.h>
#include <termios.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <chrono>
#include <cstdio>

namespace rackside::cli {
namespace {

constexpr std::string_view kQuery = "\x1b_Gi=31,s=1,v=1,a=q,t=d,f=24;AAAA\x1b\\\x1b[c";
constexpr int kPatienceMs = 330;
constexpr int kGreys = 16;

/// Keys are neither echoed nor held back until the end of a line while this lives.
class RawTerminal {
 public:
  explicit RawTerminal(int descriptor) : descriptor_(descriptor) {
    good_ = ::tcgetattr(descriptor, &before_) == 0;
    if (!good_) return;
    termios raw = before_;
    raw.c_lflag &= static_cast<tcflag_t>(~(ICANON | ECHO));
    good_ = ::tcsetattr(descriptor, TCSANOW, &raw) == 0;
  }
  ~RawTerminal() {
    if (good_) ::tcsetattr(descriptor_, TCSANOW, &before_);
  }
  RawTerminal(const RawTerminal&) = delete;
  RawTerminal& operator=(const RawTerminal&) = delete;
  bool good() const { return good_; }

 private:
  int descriptor_;
  termios before_{};
  bool good_ = false;
};

/// The answer to the second question ends with "c", and comes after that to the first.
bool is_whole(std::string_view answer) {
  const std::size_t attributes = answer.find("\x1b[?");
  return attributes != std::string_view::npos && answer.find('c', attributes) != std::string_view::npos;
}

std::string read_answer(int descriptor) {
  using Clock = std::chrono::steady_clock;
  const auto end = Clock::now() + std::chrono::milliseconds(kPatienceMs);
  std::string answer;
  while (!is_whole(answer)) {
    const auto left = std::chrono::duration_cast<std::chrono::milliseconds>(end - Clock::now()).count();
    pollfd one{descriptor, POLLIN, 0};
    if (left <= 0 || ::poll(&one, 1, static_cast<int>(left)) <= 0) break;
    std::array<char, 256> buffer{};
    const ssize_t got = ::read(descriptor, buffer.data(), buffer.size());
    if (got <= 0) break;
    answer.append(buffer.data(), static_cast<std::size_t>(got));
  }
  return answer;
}

std::string base64(std::string_view bytes) {
  constexpr std::string_view kDigits = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
  std::string out;
  for (std::size_t i = 0; i < bytes.size(); i += 3) {
    const auto byte = [&](std::size_t at) {
      return at < bytes.size() ? static_cast<unsigned>(static_cast<unsigned char>(bytes[at])) : 0U;
    };
    const unsigned three = byte(i) << 16 | byte(i + 1) << 8 | byte(i + 2);
    for (int digit = 0; digit < 4; ++digit) {
      const bool padding = i + static_cast<std::size_t>(digit) > bytes.size();
      out += padding ? '=' : kDigits[three >> (18 - 6 * digit) & 63];
    }
  }
  return out;
}

int grey_of(const labels::GrayImage& picture, int x, int y) {
  return picture.at(x, y) * (kGreys - 1) / 255;
}

void add_run(std::string& out, char sixel, int count) {
  if (count > 3)
    out += "!" + std::to_string(count) + sixel;
  else
    out.append(static_cast<std::size_t>(count), sixel);
}

/// The pixels of one grey in a band of six rows.
void add_grey(std::string& out, const labels::GrayImage& picture, int top, int grey) {
  std::string band = "#" + std::to_string(grey);
  bool any = false;
  char last = 0;
  int count = 0;
  for (int x = 0; x < picture.width; ++x) {
    int bits = 0;
    for (int row = 0; row < 6 && top + row < picture.height; ++row) {
      if (grey_of(picture, x, top + row) == grey) bits |= 1 << row;
    }
    any = any || bits != 0;
    const char sixel = static_cast<char>(63 + bits);
    if (count > 0 && sixel != last) {
      add_run(band, last, count);
      count = 0;
    }
    last = sixel;
    ++count;
  }
  add_run(band, last, count);
  if (any) out += band + "$";
}

}  // namespace

TerminalPictures pictures_by_answer(std::string_view answer) {
  if (answer.find("_Gi=31;OK") != std::string_view::npos) return TerminalPictures::graphics;
  const std::size_t begin = answer.find("\x1b[?");
  if (begin == std::string_view::npos) return TerminalPictures::none;
  const std::size_t end = answer.find('c', begin);
  if (end == std::string_view::npos) return TerminalPictures::none;
  const std::string attributes = ";" + std::string(answer.substr(begin + 3, end - begin - 3)) + ";";
  return attributes.find(";4;") != std::string::npos ? TerminalPictures::sixel : TerminalPictures::none;
}

TerminalPictures ask_terminal(int descriptor) {
  const RawTerminal raw(descriptor);
  if (!raw.good()) return TerminalPictures::none;
  if (::write(descriptor, kQuery.data(), kQuery.size()) != static_cast<ssize_t>(kQuery.size()))
    return TerminalPictures::none;
  return pictures_by_answer(read_answer(descriptor));
}

std::string graphics_sequence(std::string_view png) {
  constexpr std::size_t kPiece = 4096;
  const std::string text = base64(png);
  std::string out;
  for (std::size_t at = 0; at < text.size(); at += kPiece) {
    const bool more = at + kPiece < text.size();
    out += std::string("\x1b_G") + (at == 0 ? "f=100,a=T," : "") + (more ? "m=1;" : "m=0;") + text.substr(at, kPiece) +
           "\x1b\\";
  }
  return out + "\n";
}

std::string sixel_sequence(const labels::GrayImage& picture) {
  std::string out = "\x1bPq\"1;1;" + std::to_string(picture.width) + ";" + std::to_string(picture.height);
  for (int grey = 0; grey < kGreys; ++grey) {
    const std::string percent = std::to_string((grey * 100 + (kGreys - 1) / 2) / (kGreys - 1));
    out += "#" + std::to_string(grey) + ";2;" + percent + ";" + percent + ";" + percent;
  }
  for (int top = 0; top < picture.height; top += 6) {
    for (int grey = 0; grey < kGreys; ++grey) add_grey(out, picture, top, grey);
    out += "-";
  }
  return out + "\x1b\\\n";
}

bool show_picture(const labels::GrayImage& picture) {
  if (::isatty(STDOUT_FILENO) == 0 || ::isatty(STDIN_FILENO) == 0) return false;
  std::fflush(stdout);
  const TerminalPictures how = ask_terminal(STDIN_FILENO);
  if (how == TerminalPictures::none) return false;
  const std::string bytes =
      how == TerminalPictures::graphics ? graphics_sequence(labels::png_of(picture)) : sixel_sequence(picture);
  std::fwrite(bytes.data(), 1, bytes.size(), stdout);
  std::fflush(stdout);
  return true;
}

}  // namespace rackside::cli
