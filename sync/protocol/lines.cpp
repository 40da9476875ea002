#include "sync/protocol/lines.h"

#include <algorithm>

namespace rackside::sync {

using core::Error;
using core::Fault;
using core::Value;

void bad_message(const std::string& what) {
  throw Error(Fault::protocol, "The other side does not keep to the protocol: " + what +
                                   ". Is it an older or newer program? What was stored before stays.");
}

void require_version(const Value& first_line) {
  const std::int64_t theirs = first_line.number("rackside", 0);
  if (theirs == kProtocolVersion) return;
  if (theirs < 1) bad_message("its first line states no version");
  // Said so that it is true at either end: the text travels to the other side too.
  const std::int64_t older = std::min(theirs, kProtocolVersion);
  throw Error(Fault::protocol, "One side speaks version " + std::to_string(std::max(theirs, kProtocolVersion)) +
                                   " of the protocol, the other version " + std::to_string(older) +
                                   ": install the newer Rackside where version " + std::to_string(older) +
                                   " is spoken. Nothing was exchanged.");
}

void cut_off() {
  throw Error(Fault::protocol,
              "What came breaks off before its end: a connection that ended, or a file that was not copied whole. "
              "Try again; what was stored before stays.");
}

void throw_with_kept(const Error& error, std::size_t kept) {
  const bool on_the_way =
      error.fault() == Fault::protocol || error.fault() == Fault::unreachable || error.fault() == Fault::too_large;
  if (kept == 0 || !on_the_way) throw error;
  throw Error(error.fault(), std::string(error.what()) + " (" + std::to_string(kept) +
                                 (kept == 1 ? " new entry" : " new entries") +
                                 " that came whole and signed before that: kept. The next sync brings the rest.)");
}

Value parse_line(std::string_view line) {
  if (line.size() > kMostLine) {
    throw Error(Fault::too_large, "The other side sent a line of over " + std::to_string(kMostLine) +
                                      " bytes. What was stored before stays.");
  }
  core::ParseResult result = core::parse_strict(line);
  if (result.problem != core::Malformed::none) {
    bad_message("a line is not well-formed (" + std::string(word_of(result.problem)) + ")");
  }
  return std::move(result.value);
}

std::string to_line(const Value& value) {
  return write_compact(value) + "\n";
}

std::uint32_t sequence_member(const Value& object, std::string_view key) {
  const std::int64_t number = object.number(key, -1);
  if (number < 0 || number > std::int64_t{UINT32_MAX}) bad_message("\"" + std::string(key) + "\" is missing or wrong");
  return static_cast<std::uint32_t>(number);
}

Value head_value(const core::Head& head) {
  return Value::Array{core::to_hex(head.device), std::int64_t{head.seq}, core::to_hex(core::shorten(head.hash))};
}

core::Head head_of(const Value& value) {
  const Value::Array* parts = value.as_array();
  if (parts == nullptr || parts->size() != 3) bad_message("a head has three parts");
  const std::string* device = (*parts)[0].as_string();
  const std::int64_t* seq = (*parts)[1].as_int();
  const std::string* hash = (*parts)[2].as_string();
  if (device == nullptr || seq == nullptr || hash == nullptr) bad_message("a head is a device, a number and a hash");
  const auto device_id = core::array_from_hex<8>(*device);
  const auto short_hash = core::array_from_hex<16>(*hash);
  if (!device_id || !short_hash || *seq < 1 || *seq > std::int64_t{UINT32_MAX}) bad_message("a head has wrong parts");
  core::Head head{*device_id, static_cast<std::uint32_t>(*seq), {}};
  std::copy(short_hash->begin(), short_hash->end(), head.hash.begin());
  return head;
}

void throw_if_error(const Value& value) {
  const std::string_view name = value.text("error");
  if (name.empty()) return;
  Fault fault = Fault::protocol;
  for (const core::FaultInfo& info : core::error_table()) {
    if (info.name == name) fault = info.fault;
  }
  // Only what a peer may say of itself: its own "internal" is to us a peer that failed.
  if (fault == Fault::internal) fault = Fault::protocol;
  throw Error(fault, core::mend_text(value.text("message", "The other side refused, and did not say why.")));
}

std::string error_line(const Error& error) {
  return to_line(Value::Object{{"error", fault_info(error.fault()).name}, {"message", core::mend_text(error.what())}});
}

std::string short_name(const core::CollectionId& collection) {
  return core::to_hex(collection).substr(0, 8);
}

void refuse_other_collection(const core::CollectionId& mine, const std::string& my_name,
                             const core::CollectionId& other, const std::string& other_name) {
  throw Error(Fault::other_collection,
              my_name + " keeps the collection " + short_name(mine) + ", but " + other_name + " keeps another one, " +
                  short_name(other) +
                  ". Two collections cannot be united: did you mean another book or hub? Nothing was changed.");
}

}  // namespace rackside::sync
