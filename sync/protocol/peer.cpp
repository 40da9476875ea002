#include "sync/protocol/peer.h"

namespace rackside::sync {

using core::Value;

std::string to_text(const Receipt& receipt) {
  Value::Array forked;
  for (const core::DeviceId& device : receipt.forked) forked.push_back(core::to_hex(device));
  return to_line(Value::Object{{"stored", static_cast<std::int64_t>(receipt.stored)},
                               {"known", static_cast<std::int64_t>(receipt.known)},
                               {"forked", std::move(forked)}});
}

Receipt receipt_from_text(std::string_view text) {
  if (text.ends_with('\n')) text.remove_suffix(1);
  const Value value = parse_line(text);
  throw_if_error(value);
  const std::int64_t stored = value.number("stored", -1);
  const std::int64_t known = value.number("known", -1);
  if (stored < 0 || known < 0) bad_message("a push was not answered with a receipt");
  Receipt receipt{static_cast<std::size_t>(stored), static_cast<std::size_t>(known), {}};
  const Value* forked = value.find("forked");
  if (forked == nullptr || forked->as_array() == nullptr) return receipt;
  for (const Value& device : *forked->as_array()) {
    const auto id = device.as_string() ? core::array_from_hex<8>(*device.as_string()) : std::nullopt;
    if (id) receipt.forked.push_back(*id);
  }
  return receipt;
}

}  // namespace rackside::sync
