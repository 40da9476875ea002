#include "sync/http/head.h"

#include <algorithm>
#include <array>
#include <charconv>

namespace rackside::sync::http {
namespace {

constexpr std::string_view kEnd = "\r\n";

/// Thrown and caught in this file only: the first fault of a head ends its reading.
struct Refused {
  Refusal refusal;
};

[[noreturn]] void refuse(int status, std::string_view code, std::string message) {
  throw Refused{{status, code, std::move(message)}};
}

[[noreturn]] void refuse_malformed(const std::string& what) {
  refuse(400, "bad-request", "This request cannot be read: " + what + ".");
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

std::string_view take_line(std::string_view& rest, const Limits& limits) {
  const std::size_t end = rest.find(kEnd);
  if (end == rest.npos) refuse_malformed("it is cut short");
  if (end > limits.line) refuse(431, "too-large", "A header line is too long.");
  const std::string_view line = rest.substr(0, end);
  if (has_control(line)) refuse_malformed("a header holds a control character");
  rest.remove_prefix(end + kEnd.size());
  return line;
}

void check_segments(std::string_view path) {
  if (has_control(path) || path.find('\t') != path.npos || path.find('\\') != path.npos)
    refuse_malformed("the address holds a character that has no place in it");
  while (!path.empty()) {
    path.remove_prefix(1);  // the slash
    const std::size_t end = std::min(path.find('/'), path.size());
    const std::string_view segment = path.substr(0, end);
    if (segment == "." || segment == "..") refuse_malformed("the address holds dot segments");
    path.remove_prefix(end);
  }
}

void read_target(std::string_view target, const Limits& limits, Head& head) {
  if (target.size() > limits.target) refuse(414, "too-large", "The address is too long.");
  if (target.empty() || target.front() != '/') refuse_malformed("the address does not start with a slash");
  const std::size_t mark = std::min(target.find('?'), target.size());
  head.query = target.substr(std::min(mark + 1, target.size()));
  const std::optional<std::string> path = decode_percent(target.substr(0, mark));
  if (!path) refuse_malformed("the address holds a broken % escape");
  check_segments(*path);
  head.path = *path;
}

void read_request_line(std::string_view line, const Limits& limits, Head& head) {
  const std::size_t first = line.find(' ');
  const std::size_t last = line.rfind(' ');
  if (first == line.npos || first == last) refuse_malformed("the first line is not METHOD ADDRESS HTTP/1.1");
  head.method = line.substr(0, first);
  if (!is_token(head.method)) refuse_malformed("the method is no word");
  if (line.substr(last + 1) != "HTTP/1.1") refuse(505, "bad-request", "Only version 1.1 of HTTP is spoken here.");
  const std::string_view target = line.substr(first + 1, last - first - 1);
  if (std::any_of(target.begin(), target.end(), [](char c) { return c <= ' ' || c == '#' || c == 0x7f; }))
    refuse_malformed("the address holds a character that has no place in it");
  read_target(target, limits, head);
}

Field read_field(std::string_view line) {
  const std::size_t colon = line.find(':');
  if (colon == line.npos || !is_token(line.substr(0, colon))) refuse_malformed("a header has no proper name");
  return {lower(line.substr(0, colon)), std::string(trim(line.substr(colon + 1)))};
}

void read_fields(std::string_view rest, const Limits& limits, Head& head) {
  for (;;) {
    const std::string_view line = take_line(rest, limits);
    if (line.empty()) break;
    if (head.fields.size() == limits.headers) refuse(431, "too-large", "There are too many headers.");
    head.fields.push_back(read_field(line));
  }
  if (!rest.empty()) refuse_malformed("something follows the head");
}

void check_single(const Head& head) {
  constexpr std::array<std::string_view, 9> kOnce = {"host",          "content-length",   "content-type",
                                                     "authorization", "origin",           "expect",
                                                     "range",         "content-encoding", "sec-fetch-site"};
  for (const std::string_view name : kOnce) {
    const auto same = [&](const Field& field) { return field.name == name; };
    if (std::count_if(head.fields.begin(), head.fields.end(), same) > 1)
      refuse_malformed("it has several headers " + std::string(name));
  }
}

bool may_have_body(std::string_view method) {
  return method == "POST" || method == "PUT";
}

std::size_t read_length(std::string_view text) {
  std::size_t out = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), out);
  const bool digits = !text.empty() && text.front() >= '0' && text.front() <= '9' && end == text.data() + text.size();
  if (error == std::errc::result_out_of_range) refuse(413, "too-large", "The body is too large.");
  if (error != std::errc{} || !digits) refuse_malformed("its Content-Length is not a number");
  return out;
}

void read_framing(Head& head) {
  if (head.field("transfer-encoding"))
    refuse(411, "length-required", "Bodies are only taken with a Content-Length. Send one.");
  const auto length = head.field("content-length");
  if (length) head.content_length = read_length(*length);
  if (may_have_body(head.method)) {
    if (!length) refuse(411, "length-required", "This request needs a Content-Length. Send one.");
    head.framing = Framing::sized;
  } else if (head.content_length > 0) {
    refuse_malformed("a " + head.method + " request has no body");
  }
  const auto encoding = head.field("content-encoding");
  if (encoding && lower(*encoding) != "identity")
    refuse(415, "bad-request", "Compressed bodies are not taken. Send it as it is.");
}

void read_range(const Head& head) {
  const auto range = head.field("range");
  if (range && range->find(',') != range->npos)
    refuse(416, "bad-request", "Only one range can be asked for at a time.");
}

void read_connection(Head& head) {
  const auto connection = head.field("connection");
  if (connection && lower(*connection).find("close") != std::string::npos) head.persistence = Persistence::close;
  const auto expect = head.field("expect");
  if (!expect) return;
  if (lower(*expect) != "100-continue") refuse(417, "bad-request", "Only 100-continue can be expected here.");
  head.expectation = Expectation::continue_100;
}

void read_token(Head& head) {
  constexpr std::string_view kScheme = "bearer ";
  const auto value = head.field("authorization");
  if (!value) return;
  if (lower(value->substr(0, kScheme.size())) != kScheme)
    refuse(401, "not-allowed", "The Authorization header must be: Bearer TOKEN.");
  head.token = trim(value->substr(kScheme.size()));
}

Head read_head(std::string_view text, const Limits& limits) {
  if (text.size() > limits.head) refuse(431, "too-large", "The headers are too large.");
  Head head;
  read_request_line(take_line(text, limits), limits, head);
  read_fields(text, limits, head);
  check_single(head);
  if (!head.field("host")) refuse_malformed("it has no Host");
  read_framing(head);
  read_range(head);
  read_connection(head);
  read_token(head);
  return head;
}

}  // namespace

std::optional<std::string_view> Head::field(std::string_view name) const {
  const auto found = std::find_if(fields.begin(), fields.end(), [&](const Field& f) { return f.name == name; });
  if (found == fields.end()) return std::nullopt;
  return found->value;
}

std::variant<Head, Refusal> parse_head(std::string_view text, const Limits& limits) {
  try {
    return read_head(text, limits);
  } catch (Refused& refused) {
    return std::move(refused.refusal);
  }
}

}  // namespace rackside::sync::http
