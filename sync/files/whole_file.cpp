#include "sync/files/whole_file.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <unistd.h>

#include <filesystem>
#include <utility>

#include "core/base/error.h"

namespace rackside::sync {

using core::Error;
using core::Fault;

WholeFile::WholeFile(std::string path) : path_(std::move(path)), draft_(path_ + ".part") {
  file_ = ::open(draft_.c_str(), O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0600);
  if (file_ < 0) {
    throw Error(Fault::bad_input, "Cannot write " + path_ + ": is its folder there, and may you write in it?");
  }
}

WholeFile::~WholeFile() {
  if (file_ >= 0) ::close(file_);
  if (!kept_) ::unlink(draft_.c_str());
}

void WholeFile::write(std::string_view text) {
  while (!text.empty()) {
    const ssize_t count = ::write(file_, text.data(), text.size());
    if (count < 0 && errno == EINTR) continue;
    if (count <= 0) fail();
    text.remove_prefix(static_cast<std::size_t>(count));
  }
}

void WholeFile::keep() {
  if (::fsync(file_) != 0) fail();
  if (::close(std::exchange(file_, -1)) != 0) fail();
  if (::rename(draft_.c_str(), path_.c_str()) != 0) fail();
  kept_ = true;
  sync_folder_of(path_);
}

void WholeFile::fail() const {
  if (errno == ENOSPC || errno == EDQUOT) {
    throw Error(Fault::disk_full,
                "There is no room for " + path_ + ". Nothing was left there; make room and try again.");
  }
  throw Error(Fault::disk_fault, "Writing " + path_ + " failed. Nothing was left there; try another disk.");
}

void sync_folder_of(const std::string& path) {
  std::string folder = std::filesystem::path(path).parent_path().string();
  if (folder.empty()) folder = ".";
  const int file = ::open(folder.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC);
  if (file < 0) return;  // a folder that may be written but not read: nothing more can be done
  ::fsync(file);
  ::close(file);
}

}  // namespace rackside::sync
