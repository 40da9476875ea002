#include <pty.h>
#include <unistd.h>

#include <array>
#include <map>
#include <string>
#include <thread>
#include <vector>

#include "cli/print/terminal_picture.h"
#include "tests/support/catch.h"

using namespace rackside::cli;
using rackside::labels::GrayImage;

namespace {

GrayImage ramp() {
  GrayImage picture(40, 13);
  for (int y = 0; y < picture.height; ++y) {
    for (int x = 0; x < picture.width; ++x)
      picture.at(x, y) = static_cast<std::uint8_t>((x * 6 + (y > 6 ? 120 : 0)) % 256);
  }
  return picture;
}

int digit_of(char c) {
  const std::string digits = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
  return static_cast<int>(digits.find(c));
}

/// Source: RFC 4648, base 64.
std::string from_base64(const std::string& text) {
  std::string out;
  unsigned bits = 0;
  int have = 0;
  for (const char c : text) {
    if (c == '=') break;
    bits = bits << 6 | static_cast<unsigned>(digit_of(c));
    have += 6;
    if (have >= 8) out += static_cast<char>(bits >> (have -= 8) & 255);
  }
  return out;
}

/// A terminal's side of sixel: colours by register, six rows a band. Source: DEC STD 070.
std::map<std::pair<int, int>, int> drawn_by(const std::string& sixel) {
  std::map<std::pair<int, int>, int> pixels;
  int x = 0;
  int band = 0;
  int colour = 0;
  int count = 1;
  std::size_t at = sixel.find('q') + 1;
  const auto number = [&] {
    int value = 0;
    while (at < sixel.size() && sixel[at] >= '0' && sixel[at] <= '9') value = value * 10 + (sixel[at++] - '0');
    return value;
  };
  while (at < sixel.size() && sixel[at] != '\x1b') {
    const char c = sixel[at++];
    if (c == '"' || (c == '#' && [&] {
          colour = number();
          return sixel[at] == ';';
        }())) {
      while (sixel[at] == ';' || (sixel[at] >= '0' && sixel[at] <= '9')) ++at;
    } else if (c == '!') {
      count = number();
    } else if (c == '$' || c == '-') {
      x = 0;
      band += c == '-' ? 1 : 0;
    } else if (c >= '?' && c <= '~') {
      for (; count > 0; --count, ++x) {
        for (int row = 0; row < 6; ++row) {
          if (((c - '?') >> row & 1) != 0) pixels[{x, band * 6 + row}] = colour;
        }
      }
      count = 1;
    }
  }
  return pixels;
}

/// What the program makes of a terminal that gives this answer to its questions.
TerminalPictures asked(const std::string& answer) {
  int terminal = 0;
  int program = 0;
  REQUIRE(::openpty(&terminal, &program, nullptr, nullptr, nullptr) == 0);
  std::string heard;
  std::thread other([&] {
    std::array<char, 256> buffer{};
    while (heard.find("\x1b[c") == std::string::npos) {
      const ssize_t got = ::read(terminal, buffer.data(), buffer.size());
      if (got <= 0) return;
      heard.append(buffer.data(), static_cast<std::size_t>(got));
    }
    if (!answer.empty()) static_cast<void>(::write(terminal, answer.data(), answer.size()) + 0);
  });
  const TerminalPictures found = ask_terminal(program);
  other.join();
  ::close(program);
  ::close(terminal);
  CHECK(heard.find("\x1b_Gi=31,s=1,v=1,a=q,t=d,f=24;AAAA\x1b\\") != std::string::npos);
  return found;
}

}  // namespace

TEST_CASE("a terminal is asked what pictures it can show") {
  CHECK(asked("\x1b_Gi=31;OK\x1b\\\x1b[?62;c") == TerminalPictures::graphics);
  CHECK(asked("\x1b[?62;4;6c") == TerminalPictures::sixel);
  CHECK(asked("\x1b[?62;22c") == TerminalPictures::none);
  CHECK(asked("\x1b_Gi=31;EINVAL: no\x1b\\\x1b[?62;4c") == TerminalPictures::sixel);
  CHECK(asked("") == TerminalPictures::none);  // nobody answers: a third of a second, no more
  CHECK(ask_terminal(-1) == TerminalPictures::none);
}

TEST_CASE("a PNG goes to the terminal in pieces, and comes out whole") {
  std::string png = "\x89PNG";
  for (int i = 0; i < 10'000; ++i) png += static_cast<char>(i * 7 % 256);
  const std::string sequence = graphics_sequence(png);
  std::string text;
  std::size_t pieces = 0;
  for (std::size_t at = sequence.find("\x1b_G"); at != std::string::npos; at = sequence.find("\x1b_G", at + 1)) {
    const std::size_t begin = sequence.find(';', at) + 1;
    const std::string piece = sequence.substr(begin, sequence.find("\x1b\\", begin) - begin);
    CHECK(piece.size() <= 4096);
    const bool last = sequence.find("\x1b_G", at + 1) == std::string::npos;
    CHECK(sequence.substr(at, begin - at).find(last ? "m=0" : "m=1") != std::string::npos);
    text += piece;
    ++pieces;
  }
  CHECK(pieces == 4);
  CHECK(from_base64(text) == png);
  for (const char* some : {"a", "ab", "abc", "abcd"}) {
    const std::string one = graphics_sequence(some);
    const std::size_t begin = one.find(';') + 1;
    CHECK(from_base64(one.substr(begin, one.find('\x1b', begin) - begin)) == some);
  }
}

TEST_CASE("a sixel picture is drawn as it was") {
  const GrayImage picture = ramp();
  const auto pixels = drawn_by(sixel_sequence(picture));
  CHECK(pixels.size() == picture.pixels.size());
  int wrong = 0;
  for (const auto& [place, grey] : pixels) wrong += grey != picture.at(place.first, place.second) * 15 / 255 ? 1 : 0;
  CHECK(wrong == 0);
}
