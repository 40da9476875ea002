#include "cli/scan/finder.h"

#include "cli/scan/keyboard.h"
#include "core/fold/clocks.h"

namespace rackside::cli {

using namespace core;

namespace {

bool can_be_seen(CodeKind kind) {
  return kind != CodeKind::rack && kind != CodeKind::helper && kind != CodeKind::shortcut;
}

Found found_thing(Reader& reader, Thing thing, const Code& code) {
  return {reader.named(thing), code.str(), {}, {}};
}

}  // namespace

Found find_scanned(Session& session, Reader& reader, const std::string& text) {
  const auto known = [&](const Code& code) { return reader.thing_of(code.text()).has_value(); };
  const CodeReading plain = read_code(text);
  if (plain.code) {
    if (const auto thing = reader.thing_of(plain.code->text())) return found_thing(reader, *thing, *plain.code);
  } else {
    const auto named = reader.with_short_id(text);
    if (named.size() == 1) return {named.front(), named.front().code, {}, {}};
  }
  if (const auto other = read_through_layouts(text, known)) {
    Found found = found_thing(reader, *reader.thing_of(other->code.text()), other->code);
    found.notice = layout_advice(other->layouts);
    return found;
  }
  if (plain.code && can_be_seen(plain.code->kind())) {
    const std::string code = plain.code->str();
    return {{.code = code, .label = code}, code, plain.code, {}};
  }
  const Named named = session.find(text);
  return {named, named.code, {}, {}};
}

bool has_scene(const Found& found) {
  const std::string& kind = found.named.kind;
  return kind != "rack" && kind != "helper" && kind != "shortcut";
}

Scene scene_of(Reader& reader, const Found& found, Instant at) {
  if (found.unknown) return look_unknown(reader, *found.unknown, at);
  return look(reader, found.named, found.code, at);
}

Instant seen_at(Session& session, Reader& reader, const std::optional<SaidTime>& said) {
  const ClockReading clock = session.clock();
  if (!said) return clock.wall_ms;
  return observed_time({.clock = clock, .said = said}, 0, reader.settings().zone).at;
}

}  // namespace rackside::cli
