#include "sync/http/head.h"

#include <algorithm>
#include <array>
#include <charconv>

#include "sync/coding/gzip.h"

namespace rackside::sync::http {
namespace {

constexpr std::string_view kEnd = "\r\n";

/// Empty when all is well. Every reader below answers one, and the first that is not empty ends the reading.
using Verdict = std::optional<Refusal>;

Verdict refuse(int status, std::string_view code, std::string message) {
  return Refusal{status, code, std::move(message)};
}

Verdict refuse_malformed(const std::string& what) {
  return refuse(400, "bad-request", "This request cannot be read: " + what + ".");
}

bool is_token_character(char c) {
  constexpr std::string_view kMarks = "!#$%&'*+-.^_`|~";  // RFC 9110, section 5.6.2
  return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || kMarks.find(c) != kMarks.npos;
}

bool is_token(std::string_view text) {
  return !text.empty() && std::all_of(text.begin(), text.end(), is_token_character);
}

char to_lower(char c) {
  return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
}

std::string lower(std::string_view text) {
  std::string out(text);
  std::transform(out.begin(), out.end(), out.begin(), to_lower);
  return out;
}

std::string_view trim(std::string_view text) {
  while (!text.empty() && (text.front() == ' ' || text.front() == '\t')) text.remove_prefix(1);
  while (!text.empty() && (text.back() == ' ' || text.back() == '\t')) text.remove_suffix(1);
  return text;
}

bool has_control(std::string_view text) {
  return std::any_of(text.begin(), text.end(), [](char c) {
    const auto code = static_cast<unsigned char>(c);
    return (code < 0x20 && c != '\t') || code == 0x7f;
  });
}

Verdict take_line(std::string_view& rest, const Limits& limits, std::string_view& line) {
  const std::size_t end = rest.find(kEnd);
  if (end == rest.npos) return refuse_malformed("it is cut short");
  if (end > limits.line) return refuse(431, "too-large", "A header line is too long.");
  line = rest.substr(0, end);
  rest.remove_prefix(end + kEnd.size());
  if (has_control(line)) return refuse_malformed("a header holds a control character");
  return std::nullopt;
}

Verdict check_segments(std::string_view path) {
  if (has_control(path) || path.find('\t') != path.npos || path.find('\\') != path.npos)
    return refuse_malformed("the address holds a character that has no place in it");
  while (!path.empty()) {
    path.remove_prefix(1);  // the slash
    const std::size_t end = std::min(path.find('/'), path.size());
    const std::string_view segment = path.substr(0, end);
    if (segment == "." || segment == "..") return refuse_malformed("the address holds dot segments");
    path.remove_prefix(end);
  }
  return std::nullopt;
}

bool is_target_character(char c) {
  return c > ' ' && c != '#' && c != 0x7f;
}  // a char over 127 is negative here

Verdict read_target(std::string_view target, const Limits& limits, Head& head) {
  if (target.size() > limits.target) return refuse(414, "too-large", "The address is too long.");
  if (!std::all_of(target.begin(), target.end(), is_target_character))
    return refuse_malformed("the address holds a character that has no place in it");
  if (target.empty() || target.front() != '/') return refuse_malformed("the address does not start with a slash");
  const std::size_t mark = std::min(target.find('?'), target.size());
  head.query = target.substr(std::min(mark + 1, target.size()));
  const std::optional<std::string> path = decode_percent(target.substr(0, mark));
  if (!path) return refuse_malformed("the address holds a broken % escape");
  head.path = *path;
  return check_segments(head.path);
}

Verdict read_request_line(std::string_view line, const Limits& limits, Head& head) {
  const std::size_t first = line.find(' ');
  const std::size_t last = line.rfind(' ');
  if (first == line.npos || first == last) return refuse_malformed("the first line is not METHOD ADDRESS HTTP/1.1");
  head.method = line.substr(0, first);
  if (!is_token(head.method)) return refuse_malformed("the method is no word");
  if (line.substr(last + 1) != "HTTP/1.1")
    return refuse(505, "bad-request", "Only version 1.1 of HTTP is spoken here.");
  return read_target(line.substr(first + 1, last - first - 1), limits, head);
}

Verdict read_field(std::string_view line, Head& head) {
  const std::size_t colon = line.find(':');
  if (colon == line.npos || !is_token(line.substr(0, colon))) return refuse_malformed("a header has no proper name");
  head.fields.push_back({lower(line.substr(0, colon)), std::string(trim(line.substr(colon + 1)))});
  return std::nullopt;
}

Verdict read_fields(std::string_view rest, const Limits& limits, Head& head) {
  for (;;) {
    std::string_view line;
    if (auto no = take_line(rest, limits, line)) return no;
    if (line.empty()) break;
    if (head.fields.size() == limits.headers) return refuse(431, "too-large", "There are too many headers.");
    if (auto no = read_field(line, head)) return no;
  }
  if (!rest.empty()) return refuse_malformed("something follows the head");
  return std::nullopt;
}

Verdict check_single(const Head& head) {
  constexpr std::array<std::string_view, 9> kOnce = {"host",          "content-length",   "content-type",
                                                     "authorization", "origin",           "expect",
                                                     "range",         "content-encoding", "sec-fetch-site"};
  for (const std::string_view name : kOnce) {
    const auto same = [&](const Field& field) { return field.name == name; };
    if (std::count_if(head.fields.begin(), head.fields.end(), same) > 1)
      return refuse_malformed("it has several headers " + std::string(name));
  }
  if (!head.field("host")) return refuse_malformed("it has no Host");
  return std::nullopt;
}

Verdict read_length(std::string_view text, std::size_t& out) {
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), out);
  const bool digits = !text.empty() && text.front() >= '0' && text.front() <= '9' && end == text.data() + text.size();
  if (error == std::errc::result_out_of_range) return refuse(413, "too-large", "The body is too large.");
  if (error != std::errc{} || !digits) return refuse_malformed("its Content-Length is not a number");
  return std::nullopt;
}

bool may_have_body(std::string_view method) {
  return method == "POST" || method == "PUT";
}

Verdict read_framing(Head& head) {
  if (head.field("transfer-encoding"))
    return refuse(411, "length-required", "Bodies are only taken with a Content-Length. Send one.");
  const auto length = head.field("content-length");
  if (length)
    if (auto no = read_length(*length, head.content_length)) return no;
  if (may_have_body(head.method)) {
    if (!length) return refuse(411, "length-required", "This request needs a Content-Length. Send one.");
    head.framing = Framing::sized;
  } else if (head.content_length > 0) {
    return refuse_malformed("a " + head.method + " request has no body");
  }
  return std::nullopt;
}

Verdict read_codings(Head& head) {
  const auto accepted = head.field("accept-encoding");
  if (accepted && coding::takes_gzip(*accepted)) head.takes = Coding::gzip;
  const auto encoding = head.field("content-encoding");
  if (!encoding || lower(*encoding) == "identity") return std::nullopt;
  if (lower(*encoding) != "gzip" || head.framing != Framing::sized)
    return refuse(415, "bad-request", "Of compressed bodies, only gzip is taken. Send it so, or as it is.");
  head.coding = Coding::gzip;
  return std::nullopt;
}

Verdict read_range(const Head& head) {
  const auto range = head.field("range");
  if (range && range->find(',') != range->npos)
    return refuse(416, "bad-request", "Only one range can be asked for at a time.");
  return std::nullopt;
}

Verdict read_connection(Head& head) {
  const auto connection = head.field("connection");
  if (connection && lower(*connection).find("close") != std::string::npos) head.persistence = Persistence::close;
  const auto expect = head.field("expect");
  if (!expect) return std::nullopt;
  if (lower(*expect) != "100-continue") return refuse(417, "bad-request", "Only 100-continue can be expected here.");
  head.expectation = Expectation::continue_100;
  return std::nullopt;
}

Verdict read_token(Head& head) {
  constexpr std::string_view kScheme = "bearer ";
  const auto value = head.field("authorization");
  if (!value) return std::nullopt;
  if (lower(value->substr(0, kScheme.size())) != kScheme)
    return refuse(401, "not-allowed", "The Authorization header must be: Bearer TOKEN.");
  head.token = trim(value->substr(kScheme.size()));
  return std::nullopt;
}

Verdict read_head(std::string_view text, const Limits& limits, Head& head) {
  if (text.size() > limits.head) return refuse(431, "too-large", "The headers are too large.");
  std::string_view line;
  if (auto no = take_line(text, limits, line)) return no;
  if (auto no = read_request_line(line, limits, head)) return no;
  if (auto no = read_fields(text, limits, head)) return no;
  if (auto no = check_single(head)) return no;
  if (auto no = read_framing(head)) return no;
  if (auto no = read_codings(head)) return no;
  if (auto no = read_range(head)) return no;
  if (auto no = read_connection(head)) return no;
  return read_token(head);
}

}  // namespace

std::optional<std::string_view> Head::field(std::string_view name) const {
  const auto found = std::find_if(fields.begin(), fields.end(), [&](const Field& f) { return f.name == name; });
  if (found == fields.end()) return std::nullopt;
  return found->value;
}

std::variant<Head, Refusal> parse_head(std::string_view text, const Limits& limits) {
  Head head;
  if (auto no = read_head(text, limits, head)) return std::move(*no);
  return head;
}

}  // namespace rackside::sync::http
