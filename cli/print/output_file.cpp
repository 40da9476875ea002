#include "cli/print/output_file.h"

#include <unistd.h>

#include <cerrno>

#include "core/base/error.h"

namespace rackside::cli {

OutputFile::OutputFile(std::string path) : path_(std::move(path)), part_(path_ + ".part") {
  file_ = std::fopen(part_.c_str(), "wb");
  if (file_ == nullptr) fail();
}

OutputFile::~OutputFile() {
  if (file_ == nullptr) return;
  std::fclose(file_);
  std::remove(part_.c_str());
}

void OutputFile::fail() const {
  throw core::Error(errno == ENOSPC ? core::Fault::disk_full : core::Fault::bad_input,
                    "The file " + path_ + " could not be written: is there room, and may you write in that folder?");
}

void OutputFile::write(std::string_view bytes) {
  if (std::fwrite(bytes.data(), 1, bytes.size(), file_) != bytes.size()) fail();
}

void OutputFile::keep() {
  if (std::fflush(file_) != 0 || ::fsync(fileno(file_)) != 0) fail();
  const bool closed = std::fclose(file_) == 0;
  file_ = nullptr;
  if (!closed || std::rename(part_.c_str(), path_.c_str()) != 0) {
    std::remove(part_.c_str());
    fail();
  }
}

}  // namespace rackside::cli
