#include "sync/protocol/bundle.h"

#include <errno.h>
#include <fcntl.h>
#include <unistd.h>

#include <filesystem>
#include <fstream>

namespace rackside::sync {

using core::Error;
using core::Fault;
using core::Segment;

namespace {

/// A file that appears under its name only when it is whole and on the disk.
class WholeFile {
 public:
  explicit WholeFile(std::string path) : path_(std::move(path)), draft_(path_ + ".part") {
    file_ = ::open(draft_.c_str(), O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0600);
    if (file_ < 0)
      throw Error(Fault::bad_input, "Cannot write " + path_ + ": may you write in that folder, and is it there?");
  }
  ~WholeFile() {
    if (file_ >= 0) ::close(file_);
    if (!kept_) ::unlink(draft_.c_str());
  }
  WholeFile(const WholeFile&) = delete;
  WholeFile& operator=(const WholeFile&) = delete;

  void write(std::string_view text) {
    while (!text.empty()) {
      const ssize_t count = ::write(file_, text.data(), text.size());
      if (count < 0 && errno == EINTR) continue;
      if (count <= 0) fail();
      text.remove_prefix(static_cast<std::size_t>(count));
    }
  }

  void keep() {
    if (::fsync(file_) != 0 || ::close(std::exchange(file_, -1)) != 0) fail();
    if (::rename(draft_.c_str(), path_.c_str()) != 0) fail();
    kept_ = true;
  }

 private:
  [[noreturn]] void fail() const {
    if (errno == ENOSPC || errno == EDQUOT)
      throw Error(Fault::disk_full,
                  "There is no room for " + path_ + ". Nothing was left there; make room and try again.");
    throw Error(Fault::disk_fault, "Writing " + path_ + " failed. Nothing was left there; try another disk.");
  }

  std::string path_;
  std::string draft_;
  int file_ = -1;
  bool kept_ = false;
};

}  // namespace

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
  // Not getline: a file without a line feed must not fill the memory.
  std::string line(kMostLine + 1, '\0');
  bool first = true;
  while (file.getline(line.data(), static_cast<std::streamsize>(line.size()))) {
    const std::string_view text(line.data(), static_cast<std::size_t>(file.gcount()) - (file.eof() ? 0 : 1));
    if (first && !text.starts_with("{\"rackside\":"))
      throw Error(Fault::bad_input, path + " is no Rackside bundle. Nothing was read from it.");
    first = false;
    reader.line(text);
  }
  if (first) throw Error(Fault::bad_input, path + " is no Rackside bundle. Nothing was read from it.");
  if (!file.eof())
    throw Error(Fault::too_large, path + " holds a line that no bundle has. What came before it was stored.");
  reader.finish();
  return result;
}

}  // namespace rackside::sync
