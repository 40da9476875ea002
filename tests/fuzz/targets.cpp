#include "tests/fuzz/targets.h"

#include <array>
#include <cstdio>
#include <cstdlib>

#include "cli/register/import_rows.h"
#include "cli/register/table.h"
#include "core/base/error.h"
#include "core/codes/code.h"
#include "core/entry/entry.h"
#include "core/log/event.h"
#include "labels/image/load.h"
#include "labels/read/read.h"
#include "sync/http/head.h"
#include "sync/protocol/stream.h"
#include "sync/protocol/vector.h"

namespace rackside::tests {
namespace {

using namespace core;

void promise(bool kept, const char* what) {
  if (kept) return;
  std::fprintf(stderr, "broken promise: %s\n", what);
  std::abort();
}

/// core/log/FORM.md: what is read can be written in the one compact form, and reads back as the same.
void read_event(std::string_view bytes) {
  const ParseResult read = parse_strict(bytes);
  const DecodedEvent decoded = decode_event(bytes);
  promise(read.problem == Malformed::none || !decoded.event, "an event is well-formed");
  if (read.problem == Malformed::none) {
    const std::string written = write_compact(read.value);
    const ParseResult again = parse_strict(written);
    promise(again.problem == Malformed::none || written.size() > kMaxEventBytes, "what is written is well-formed");
    promise(again.problem != Malformed::none || again.value == read.value, "what is written reads back");
  }
  if (!decoded.event) return;
  try {
    const DecodedEvent again = decode_event(encode_event(*decoded.event));
    promise(again.event && *again.event == *decoded.event, "an event that is written again is the same");
  } catch (const Error& error) {
    promise(error.fault() == Fault::too_large, "an event that was read can be written");
  }
}

/// sync/PROTOCOL.md, section 2: only whole segments come out, and they are written as they came.
void read_stream(std::string_view bytes) {
  const auto collection = *array_from_hex<16>("5eef98a09b608b14d512f42d2af68e6f");
  sync::StreamReader reader(collection, [&](std::vector<Segment>&& batch) {
    promise(!batch.empty(), "a batch is not empty");
    for (const Segment& segment : batch) {
      promise(!segment.events.empty() && segment.events.size() == segment.sealed.size(), "a segment is whole");
      promise(segment.events.size() <= sync::kMostSegmentEvents, "a segment keeps its limit");
      std::string text = sync::stream_head(collection);
      sync::append_segment(text, segment);
      std::size_t seen = 0;
      sync::StreamReader second(collection, [&](std::vector<Segment>&& one) { seen += one.size(); });
      sync::each_line(text + sync::stream_end(1), [&](std::string_view line) { second.line(line); });
      promise(second.done() && seen == 1, "a segment that is written reads back");
    }
  });
  try {
    sync::each_line(bytes, [&](std::string_view line) { reader.line(line); });
    reader.finish();
  } catch (const Error&) {
    reader.keep_whole();
  }
  try {
    const sync::VectorMessage message = sync::vector_from_text(bytes);
    promise(sync::vector_from_text(sync::to_text(message)).heads == message.heads, "a vector reads back");
  } catch (const Error&) {
    // Refused, as it may be.
  }
}

/// The header's words: a text that fails its check gives no code; a typed form gives the same entry.
void read_typed(std::string_view bytes) {
  const CodeReading reading = read_code(bytes);
  promise(reading.code.has_value() == (reading.problem == CodeReading::Problem::none), "a problem, or a code");
  if (reading.code) {
    promise(mod37_36_valid(reading.code->text()), "a code's check character is right");
    promise(read_code(reading.code->spaced()).code == reading.code, "a code reads back");
  } else {
    promise(!reading.message.empty(), "what is no code is explained");
  }
  for (const Code& guess : reading.might_have_been) promise(mod37_36_valid(guess.text()), "a guess is a code");
  const EntryReading entry = parse_entry(bytes);
  promise(entry.entry.has_value() == entry.problem.empty(), "an entry, or a problem");
  if (!entry.entry) return;
  const std::string typed = typed_form(*entry.entry);
  const EntryReading again = parse_entry(typed);
  promise(again.entry && typed_form(*again.entry) == typed, "a typed form reads back");
}

void read_csv(std::string_view bytes) {
  try {
    for (const cli::Row& row : cli::parse_table(bytes)) promise(!row.cells.empty(), "a row has a cell");
    cli::read_animals(bytes, {.today = 20'000});
  } catch (const Error& error) {
    promise(error.fault() == Fault::bad_input, "a bad table is bad input");
  }
}

/// Symbols are looked for in small pictures only: in large ones a fuzzer would try a handful in a second.
constexpr std::int64_t kSmallPixels = 120'000;

void read_picture_bytes(std::string_view bytes) {
  try {
    const labels::GrayImage picture = labels::read_picture(as_bytes(bytes), "picture");
    if (std::int64_t{picture.width} * picture.height > kSmallPixels) return;
    for (const labels::ReadSymbol& one : labels::read_symbols(picture).symbols)
      promise(one.reading.code || !one.reading.message.empty(),
              "a symbol that is listed is a code, or it is said why not");
  } catch (const Error& error) {
    promise(error.fault() == Fault::unreadable_image, "a bad picture is an unreadable image");
  }
}

void read_head(std::string_view bytes) {
  const auto read = sync::http::parse_head(bytes, {});
  if (const auto* refused = std::get_if<sync::http::Refusal>(&read)) {
    promise(refused->status >= 400 && refused->status < 600, "a refusal has a status of an error");
    return;
  }
  const auto& head = std::get<sync::http::Head>(read);
  promise(head.path.starts_with('/'), "a path is absolute");
  promise(head.path.find("/../") == head.path.npos && !head.path.ends_with("/.."), "a path has no dot segments");
  promise(head.framing == sync::http::Framing::sized || head.content_length == 0, "no body, no length");
}

constexpr std::array<FuzzTarget, 6> kTargets = {{
    {"event", read_event},
    {"stream", read_stream},
    {"typed", read_typed},
    {"csv", read_csv},
    {"picture", read_picture_bytes},
    {"head", read_head},
}};

}  // namespace

std::span<const FuzzTarget> fuzz_targets() {
  return kTargets;
}

}  // namespace rackside::tests
