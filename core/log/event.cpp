#include "core/log/event.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <limits>

#include "core/base/error.h"
#include "core/crypto/sha256.h"
#include "core/time/zone.h"

namespace rackside::core {
namespace {

constexpr std::array<std::string_view, 5> kRelationWords = {"", "saw", "again", "same", "replaces"};

// ---- writing

[[noreturn]] void refuse(const std::string& why) {
  throw Error(Fault::bad_event, "The entry cannot be written as an event: " + why + ". Nothing was saved.");
}

Value strings_value(const std::vector<std::string>& strings) {
  Value::Array out;
  out.reserve(strings.size());
  for (const std::string& text : strings) out.emplace_back(text);
  return Value(std::move(out));
}

std::string run_text(std::uint64_t run) {
  std::array<std::uint8_t, 8> bytes{};
  for (std::size_t i = 0; i < bytes.size(); ++i) bytes[i] = static_cast<std::uint8_t>(run >> (56 - 8 * i));
  return to_hex(bytes);
}

Value said_value(const SaidTime& said) {
  Value out(Value::Object{});
  if (said.minutes_ago) {
    if (said.day || said.minute || *said.minutes_ago < 0)
      refuse("a time is either a day and clock or some minutes ago");
    return out.set("ago_min", *said.minutes_ago);
  }
  if (!said.day && !said.minute) refuse("a time that was said needs a day or a clock");
  int day = 0;
  if (said.day) {
    const std::string text = date_text(*said.day);
    if (!parse_date(text, day) || day != *said.day) refuse("the day is outside the years 0000 to 9999");
    out.set("day", text);
  }
  if (said.minute) {
    if (*said.minute < 0 || *said.minute >= 24 * 60) refuse("the clock is outside the day");
    out.set("clock", clock_text(*said.minute));
  }
  return out;
}

Value answers_value(const std::vector<Answer>& answers) {
  Value::Array out;
  out.reserve(answers.size());
  for (const Answer& answer : answers) {
    out.emplace_back(Value::Array{to_hex(answer.event.device), static_cast<std::int64_t>(answer.event.seq),
                                  to_hex(answer.event.hash), word_of(answer.relation)});
  }
  return Value(std::move(out));
}

/// Collects the members in their fixed order. A part whose own form was not understood stays under its name in
/// `own`, and is then not written a second time.
class Members {
 public:
  explicit Members(const Value& own) : own_(own) { out_.emplace_back("v", 1); }

  void add(std::string_view key, Value value) {
    if (own_.find(key) == nullptr) out_.emplace_back(std::string(key), std::move(value));
  }
  void add_text(std::string_view key, std::string_view text) {
    if (!text.empty()) add(key, Value(text));
  }
  void add_list(std::string_view key, const std::vector<std::string>& strings) {
    if (!strings.empty()) add(key, strings_value(strings));
  }
  void add_own() {
    if (const Value::Object* members = own_.as_object()) out_.insert(out_.end(), members->begin(), members->end());
  }
  Value finish() { return Value(std::move(out_)); }

 private:
  const Value& own_;
  Value::Object out_;
};

std::string_view kind_word(const Event& event) {
  if (!event.kind_name.empty()) return event.kind_name;
  return event.kind == Kind::unknown ? std::string_view() : word_of(event.kind);
}

Value value_of(const Event& event) {
  Members members(event.own);
  members.add_text("kind", kind_word(event));
  members.add_list("of", event.of);
  members.add_text("place", event.place);
  members.add_list("shown", event.shown);
  members.add_text("by", event.by);
  members.add("wall", event.clock.wall_ms);
  members.add("run", run_text(event.clock.run));
  members.add("ms", event.clock.run_ms);
  if (event.said) members.add("said", said_value(*event.said));
  if (!event.re.empty()) members.add("re", answers_value(event.re));
  members.add_own();
  if (event.seal) members.add("seal", to_hex(*event.seal));
  return members.finish();
}

// ---- reading: each takes a part only in exactly the form that the writer gives it, so that one text has one meaning
// in every program; anything else stays in `own`.

template <std::size_t N>
bool take_hex(const Value& value, std::array<std::uint8_t, N>& out) {
  const std::string* text = value.as_string();
  const auto is_upper = [](char c) { return c >= 'A' && c <= 'F'; };
  return text != nullptr && std::none_of(text->begin(), text->end(), is_upper) && from_hex(*text, out);
}

bool take_text(const Value& value, std::string& out) {
  const std::string* text = value.as_string();
  if (text == nullptr || text->empty()) return false;
  out = *text;
  return true;
}

bool take_list(const Value& value, std::vector<std::string>& out) {
  const Value::Array* items = value.as_array();
  if (items == nullptr || items->empty()) return false;
  if (!std::all_of(items->begin(), items->end(), [](const Value& item) { return item.as_string() != nullptr; }))
    return false;
  out.reserve(items->size());
  for (const Value& item : *items) out.push_back(*item.as_string());
  return true;
}

bool take_integer(const Value& value, std::int64_t& out) {
  if (value.as_int() == nullptr) return false;
  out = *value.as_int();
  return true;
}

bool take_run(const Value& value, std::uint64_t& out) {
  std::array<std::uint8_t, 8> bytes{};
  if (!take_hex(value, bytes)) return false;
  out = 0;
  for (const std::uint8_t byte : bytes) out = out << 8 | byte;
  return true;
}

bool take_ago(const Value& value, SaidTime& out) {
  const std::int64_t* minutes = value.as_int();
  if (minutes == nullptr || *minutes < 0 || *minutes > std::numeric_limits<int>::max()) return false;
  out.minutes_ago = static_cast<int>(*minutes);
  return true;
}

bool take_said_member(const Value::Member& member, SaidTime& out) {
  if (member.first == "ago_min") return take_ago(member.second, out);
  const std::string* text = member.second.as_string();
  int number = 0;
  if (text == nullptr) return false;
  if (member.first == "day" && parse_date(*text, number))
    out.day = number;
  else if (member.first == "clock" && parse_clock(*text, number))
    out.minute = number;
  else
    return false;
  return true;
}

bool take_said(const Value& value, std::optional<SaidTime>& out) {
  const Value::Object* members = value.as_object();
  if (members == nullptr || members->empty()) return false;
  SaidTime said;
  for (const Value::Member& member : *members)
    if (!take_said_member(member, said)) return false;
  if (said.minutes_ago && members->size() > 1) return false;
  out = said;
  return true;
}

bool take_answer(const Value& value, Answer& out) {
  const Value::Array* parts = value.as_array();
  if (parts == nullptr || parts->size() != 4) return false;
  const std::int64_t* seq = (*parts)[1].as_int();
  const std::string* word = (*parts)[3].as_string();
  if (seq == nullptr || *seq < 1 || *seq > std::numeric_limits<std::uint32_t>::max() || word == nullptr) return false;
  const auto relation = relation_of(*word);
  if (!relation || !take_hex((*parts)[0], out.event.device) || !take_hex((*parts)[2], out.event.hash)) return false;
  out.event.seq = static_cast<std::uint32_t>(*seq);
  out.relation = *relation;
  return true;
}

bool take_answers(const Value& value, std::vector<Answer>& out) {
  const Value::Array* items = value.as_array();
  if (items == nullptr || items->empty()) return false;
  std::vector<Answer> answers(items->size());
  for (std::size_t i = 0; i < items->size(); ++i)
    if (!take_answer((*items)[i], answers[i])) return false;
  out = std::move(answers);
  return true;
}

bool take_seal(const Value& value, std::optional<Hash>& out) {
  Hash hash{};
  if (!take_hex(value, hash)) return false;
  out = hash;
  return true;
}

bool take_kind(const Value& value, Event& event) {
  if (!take_text(value, event.kind_name)) return false;
  event.kind = kind_of(event.kind_name);
  return true;
}

/// True when the member was a part that every event may have, in its right form.
bool take_common(std::string_view key, const Value& value, Event& event) {
  if (key == "v") return true;
  if (key == "kind") return take_kind(value, event);
  if (key == "of") return take_list(value, event.of);
  if (key == "place") return take_text(value, event.place);
  if (key == "shown") return take_list(value, event.shown);
  if (key == "by") return take_text(value, event.by);
  if (key == "wall") return take_integer(value, event.clock.wall_ms);
  if (key == "run") return take_run(value, event.clock.run);
  if (key == "ms") return take_integer(value, event.clock.run_ms);
  if (key == "said") return take_said(value, event.said);
  if (key == "re") return take_answers(value, event.re);
  if (key == "seal") return take_seal(value, event.seal);
  return false;
}

/// A caller that puts a common part among the kind's own fields would get other bytes when the event is written again.
void check_own(const Value& own) {
  const Value::Object* members = own.as_object();
  if (members == nullptr) return;
  Event unused;
  for (const auto& [key, value] : *members)
    if (take_common(key, value, unused)) refuse("the field " + key + " has a place of its own in every event");
}

Event event_of(Value&& value) {
  Event event;
  Value::Object own;
  for (Value::Member& member : *value.as_object())
    if (!take_common(member.first, member.second, event)) own.push_back(std::move(member));
  event.own = Value(std::move(own));
  return event;
}

}  // namespace

std::string_view word_of(Relation relation) {
  return kRelationWords.at(static_cast<std::size_t>(relation));
}

std::optional<Relation> relation_of(std::string_view word) {
  for (std::size_t i = 1; i < kRelationWords.size(); ++i)
    if (kRelationWords[i] == word) return static_cast<Relation>(i);
  return std::nullopt;
}

std::string to_text(const EventRef& ref) {
  return to_hex(ref.device) + ':' + std::to_string(ref.seq) + ':' + to_hex(ref.hash);
}

std::optional<EventRef> ref_from_text(std::string_view text) {
  const auto first = text.find(':');
  const auto second = text.rfind(':');
  if (first == std::string_view::npos || second == first) return std::nullopt;
  const std::string_view digits = text.substr(first + 1, second - first - 1);
  EventRef ref;
  const auto parsed = std::from_chars(digits.data(), digits.data() + digits.size(), ref.seq);
  const bool seq_good = parsed.ec == std::errc() && parsed.ptr == digits.data() + digits.size();
  if (!seq_good || !from_hex(text.substr(0, first), ref.device) || !from_hex(text.substr(second + 1), ref.hash))
    return std::nullopt;
  return ref;
}

Hash seal_digest(const SealedPart& part) {
  return sha256({ByteSpan(part.salt), as_bytes(part.text)});
}

std::string encode_event(const Event& event) {
  check_own(event.own);
  std::string bytes = write_compact(value_of(event));
  if (bytes.size() > kMaxEventBytes)
    throw Error(Fault::too_large, "The entry is " + std::to_string(bytes.size()) +
                                      " bytes long, and an event holds at most " + std::to_string(kMaxEventBytes) +
                                      ". Split it into several. Nothing was saved.");
  // What every other book will check is checked before it can block this device there for ever.
  const ParseResult check = parse_event_bytes(bytes);
  if (check.problem != Malformed::none)
    refuse(std::string(word_of(check.problem)) + " at byte " + std::to_string(check.offset));
  return bytes;
}

DecodedEvent decode_event(std::string_view bytes) {
  ParseResult parsed = parse_event_bytes(bytes);
  if (parsed.problem != Malformed::none) return {std::nullopt, parsed.problem};
  return {event_of(std::move(parsed.value)), Malformed::none};
}

}  // namespace rackside::core
