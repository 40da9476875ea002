#include "sync/hub/presence.h"

#include "core/log/value.h"

namespace rackside::sync::hub {

using core::Book;
using core::Value;

namespace {

constexpr std::int64_t kKeepEveryMs = 10 * 60 * 1000;

std::string key_of(const std::string& device) {
  return "seen:" + device;
}

bool same_load(const Told& a, const Told& b) {
  return a.unsent == b.unsent && a.oldest_ms == b.oldest_ms;
}

}  // namespace

std::optional<Told> Presence::hear(const std::string& device, Told told) {
  const std::lock_guard lock(mutex_);
  const auto [found, is_new] = heard_.try_emplace(device);
  Heard& heard = found->second;
  if (!told.unsent) {
    told.unsent = heard.told.unsent;
    told.oldest_ms = heard.told.oldest_ms;
  }
  const bool must = is_new || !same_load(heard.told, told) || told.seen_ms - heard.kept_ms >= kKeepEveryMs;
  heard = {told, must ? told.seen_ms : heard.kept_ms};
  return must ? std::optional(told) : std::nullopt;
}

std::optional<Told> Presence::of(const std::string& device) {
  const std::lock_guard lock(mutex_);
  const auto found = heard_.find(device);
  return found == heard_.end() ? std::nullopt : std::optional(found->second.told);
}

void keep(Book& book, const std::string& device, const Told& told) {
  Value value = Value::Object{{"seen", told.seen_ms}};
  if (told.unsent) value.set("unsent", *told.unsent);
  if (told.oldest_ms) value.set("oldest", *told.oldest_ms);
  book.write([&] { book.set_own_value(key_of(device), write_compact(value)); });
}

std::optional<Told> kept(Book& book, const std::string& device) {
  const auto text = book.own_value(key_of(device));
  if (!text) return std::nullopt;
  const Value value = core::parse_strict(*text).value;
  // Older programs kept the bare time.
  if (value.as_object() == nullptr) return Told{std::stoll(*text), {}, {}};
  Told out{value.number("seen"), {}, {}};
  if (value.find("unsent") != nullptr) out.unsent = value.number("unsent");
  if (value.find("oldest") != nullptr) out.oldest_ms = value.number("oldest");
  return out;
}

}  // namespace rackside::sync::hub
