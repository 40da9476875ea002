#include "sync/http/message.h"

#include <algorithm>

namespace rackside::sync::http {
namespace {

int hex_value(char c) {
  if (c >= '0' && c <= '9') return c - '0';
  if (c >= 'a' && c <= 'f') return c - 'a' + 10;
  if (c >= 'A' && c <= 'F') return c - 'A' + 10;
  return -1;
}

std::string decode_plus(std::string_view text) {
  std::string out(text);
  std::replace(out.begin(), out.end(), '+', ' ');
  return out;
}

}  // namespace

std::optional<std::string> decode_percent(std::string_view text) {
  std::string out;
  for (std::size_t i = 0; i < text.size(); ++i) {
    if (text[i] != '%') {
      out += text[i];
      continue;
    }
    const int high = i + 2 < text.size() ? hex_value(text[i + 1]) : -1;
    const int low = i + 2 < text.size() ? hex_value(text[i + 2]) : -1;
    if (high < 0 || low < 0) return std::nullopt;
    out += static_cast<char>(high << 4 | low);
    i += 2;
  }
  return out;
}

std::optional<std::string_view> Request::field(std::string_view name) const {
  const auto found = std::find_if(fields.begin(), fields.end(), [&](const Field& f) { return f.name == name; });
  if (found == fields.end()) return std::nullopt;
  return found->value;
}

std::optional<std::string> Request::parameter(std::string_view name) const {
  std::string_view rest = query;
  while (!rest.empty()) {
    const std::size_t end = std::min(rest.find('&'), rest.size());
    const std::string_view pair = rest.substr(0, end);
    const std::size_t equals = std::min(pair.find('='), pair.size());
    if (pair.substr(0, equals) == name)
      return decode_percent(decode_plus(pair.substr(std::min(equals + 1, pair.size()))));
    rest.remove_prefix(std::min(end + 1, rest.size()));
  }
  return std::nullopt;
}

std::string json_string(std::string_view text) {
  constexpr std::string_view kDigits = "0123456789abcdef";
  std::string out = "\"";
  for (const char c : text) {
    const auto code = static_cast<unsigned char>(c);
    if (c == '"' || c == '\\') {
      out += '\\';
      out += c;
    } else if (code < 0x20) {
      out += "\\u00";
      out += kDigits[code >> 4];
      out += kDigits[code & 15];
    } else {
      out += c;
    }
  }
  return out + '"';
}

Response error_response(int status, std::string_view code, std::string_view message) {
  Response out;
  out.status = status;
  out.body = "{\"error\":" + json_string(code) + ",\"message\":" + json_string(message) + "}\n";
  return out;
}

}  // namespace rackside::sync::http
