#include "labels/symbol/symbol.h"

#include <qrencode.h>

#include <algorithm>
#include <cerrno>
#include <memory>
#include <mutex>

#include "core/base/error.h"

namespace rackside::labels {
namespace {

using core::Error;
using core::Fault;

constexpr std::string_view kAlphanumeric = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:";

struct FreeInput {
  void operator()(QRinput* input) const { QRinput_free(input); }
};
struct FreeCode {
  void operator()(QRcode* code) const { QRcode_free(code); }
};
using CodePointer = std::unique_ptr<QRcode, FreeCode>;

QRecLevel library_level(CorrectionLevel level) {
  switch (level) {
    case CorrectionLevel::low:
      return QR_ECLEVEL_L;
    case CorrectionLevel::medium:
      return QR_ECLEVEL_M;
    case CorrectionLevel::quartile:
      return QR_ECLEVEL_Q;
    case CorrectionLevel::high:
      return QR_ECLEVEL_H;
  }
  throw Error(Fault::internal, "There is no such correction level.");
}

QRencodeMode mode_of(std::string_view text) {
  const auto only = [&](std::string_view set) { return text.find_first_not_of(set) == std::string_view::npos; };
  if (only(kAlphanumeric.substr(0, 10))) return QR_MODE_NUM;
  return only(kAlphanumeric) ? QR_MODE_AN : QR_MODE_8;
}

/// The library takes the smallest version that fits when it is asked for version 0.
CodePointer encode(std::string_view text, CorrectionLevel level) {
  // Debian's build of the library is thread-safe, others are not; a symbol takes well under a millisecond.
  static std::mutex one_at_a_time;
  const std::scoped_lock lock(one_at_a_time);
  const std::unique_ptr<QRinput, FreeInput> input(QRinput_new2(0, library_level(level)));
  if (!input) throw Error(Fault::internal, "A symbol could not be begun: no memory.");
  const auto* bytes = reinterpret_cast<const unsigned char*>(text.data());
  if (QRinput_append(input.get(), mode_of(text), static_cast<int>(text.size()), bytes) != 0) return nullptr;
  return CodePointer(QRcode_encodeInput(input.get()));
}

Symbol to_symbol(const QRcode& code, CorrectionLevel level) {
  Symbol symbol{code.version, level, code.width, {}, {}};
  const auto count = static_cast<std::size_t>(code.width) * static_cast<std::size_t>(code.width);
  symbol.modules.resize(count);
  symbol.payload.resize(count);
  // The lowest bit is the colour; the others tell what the module is for.
  std::transform(code.data, code.data + count, symbol.modules.begin(),
                 [](unsigned char module) { return static_cast<std::uint8_t>(module & 1); });
  std::transform(code.data, code.data + count, symbol.payload.begin(),
                 [](unsigned char module) { return static_cast<std::uint8_t>((module & 0x80) == 0 ? 1 : 0); });
  return symbol;
}

}  // namespace

char letter_of(CorrectionLevel level) {
  return "LMQH"[static_cast<int>(level)];
}

std::vector<int> codeword_map(const Symbol& symbol) {
  constexpr int kTimingColumn = 6;
  constexpr int kBits = 8;
  std::vector<int> map(symbol.modules.size(), -1);
  int bit = 0;
  bool upwards = true;
  for (int right = symbol.size - 1; right > 0; right -= 2) {
    if (right == kTimingColumn) --right;
    for (int step = 0; step < symbol.size; ++step) {
      const int row = upwards ? symbol.size - 1 - step : step;
      for (const int column : {right, right - 1}) {
        if (symbol.carries_data(column, row)) map[static_cast<std::size_t>(row * symbol.size + column)] = bit++ / kBits;
      }
    }
    upwards = !upwards;
  }
  return map;
}

Symbol make_symbol_at(std::string_view text, CorrectionLevel level) {
  if (text.empty()) throw Error(Fault::bad_input, "There is no text to make a symbol of.");
  const CodePointer code = encode(text, level);
  if (!code) throw Error(Fault::bad_input, "The text is too long for one symbol. Shorten it.");
  return to_symbol(*code, level);
}

Symbol make_symbol(std::string_view text) {
  if (text.empty()) throw Error(Fault::bad_input, "There is no text to make a symbol of.");
  CodePointer best = text.size() > 2331 ? nullptr : encode(text, CorrectionLevel::medium);
  if (!best) {
    throw Error(Fault::bad_input, "A text of " + std::to_string(text.size()) +
                                      " bytes is too long for one symbol: at most 2331 fit. Shorten it.");
  }
  CorrectionLevel level = CorrectionLevel::medium;
  for (const CorrectionLevel stronger : {CorrectionLevel::quartile, CorrectionLevel::high}) {
    CodePointer candidate = encode(text, stronger);
    if (!candidate || candidate->version != best->version) break;
    best = std::move(candidate);
    level = stronger;
  }
  return to_symbol(*best, level);
}

std::string link_text(std::string_view host, std::string_view code) {
  std::string upper(host);
  for (char& c : upper) c = (c >= 'a' && c <= 'z') ? static_cast<char>(c - 'a' + 'A') : c;
  constexpr std::string_view kHost = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ-.:";
  if (upper.empty() || upper.find_first_not_of(kHost) != std::string::npos) {
    throw Error(Fault::bad_input, "\"" + std::string(host) +
                                      "\" is no host name for a link: letters, digits, hyphen, dot and a port "
                                      "are possible, such as rack-7.local:8443.");
  }
  return "HTTPS://" + upper + "/" + std::string(code);
}

}  // namespace rackside::labels
