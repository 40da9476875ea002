#include "sync/protocol/bundle.h"

#include <filesystem>
#include <fstream>

#include "sync/files/whole_file.h"

namespace rackside::sync {

using core::Error;
using core::Fault;
using core::Segment;

BundleResult write_bundle(core::Book& book, const std::string& path, BundleOf what, const ClockSource& clock,
                          const OnProgress& on_progress) {
  book.prepare_sync(clock());
  core::PeerVector has;
  if (what == BundleOf::own_device) {
    has.heads = book.heads();
    std::erase_if(has.heads, [&](const core::Head& head) { return head.device == book.device(); });
  }
  BundleResult result;
  WholeFile file(path);
  file.write(stream_head(book.collection()));
  std::size_t segments = 0;
  book.missing_for(has, [&](Segment&& segment) {
    std::string text;
    append_segment(text, segment);
    file.write(text);
    ++segments;
    result.events += segment.events.size();
    if (on_progress) on_progress({0, result.events});
    return true;
  });
  file.write(stream_end(segments));
  file.keep();
  return result;
}

namespace {

void read_lines(std::ifstream& file, const std::string& path, StreamReader& reader) {
  // Not getline: a file without a line feed must not fill the memory.
  std::string line(kMostLine + 1, '\0');
  bool first = true;
  while (file.getline(line.data(), static_cast<std::streamsize>(line.size()))) {
    const std::string_view text(line.data(), static_cast<std::size_t>(file.gcount()) - (file.eof() ? 0 : 1));
    if (first && !text.starts_with("{\"rackside\":"))
      throw Error(Fault::bad_input, path + " is no Rackside bundle. Nothing was read from it.");
    first = false;
    // A line without a line feed is the last, whole only when its value is: what is left of one is no line.
    if (file.eof() && core::parse_strict(text).problem != core::Malformed::none) return;
    reader.line(text);
  }
  if (first) throw Error(Fault::bad_input, path + " is no Rackside bundle. Nothing was read from it.");
  if (!file.eof())
    throw Error(Fault::too_large, path + " holds a line that no bundle has. What came before it was stored.");
}

}  // namespace

BundleResult read_bundle(core::Book& book, const std::string& path, const OnProgress& on_progress) {
  std::error_code none;
  std::ifstream file(path, std::ios::binary);
  if (!file || !std::filesystem::is_regular_file(path, none))
    throw Error(Fault::bad_input, "There is no bundle that can be read at " + path + ". Check the name and the stick.");
  BundleResult result;
  StreamReader reader(book.collection(), [&](std::vector<Segment>&& batch) {
    const core::MergeResult merged = book.merge(batch);
    result.events += merged.stored;
    result.known += merged.known;
    result.forked.insert(result.forked.end(), merged.forked.begin(), merged.forked.end());
    if (on_progress) on_progress({result.events, 0});
  });
  try {
    read_lines(file, path, reader);
    reader.finish();
  } catch (const Error& error) {
    reader.keep_whole();
    throw_with_kept(error, result.events);
  }
  return result;
}

}  // namespace rackside::sync
