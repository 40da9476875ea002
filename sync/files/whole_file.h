#pragma once

#include <string>
#include <string_view>

namespace rackside::sync {

/// A file of mode 0600 that appears under its name only when it is whole and on the disk; what stood there before stays
/// until then. Errors: bad_input (the folder cannot be written), disk_full, disk_fault.
class WholeFile {
 public:
  explicit WholeFile(std::string path);
  ~WholeFile();  ///< leaves nothing behind unless keep() was called
  WholeFile(const WholeFile&) = delete;
  WholeFile& operator=(const WholeFile&) = delete;

  void write(std::string_view text);
  /// Syncs, renames, syncs the folder.
  void keep();

 private:
  [[noreturn]] void fail() const;

  std::string path_;
  std::string draft_;
  int file_ = -1;
  bool kept_ = false;
};

/// Makes a rename in the folder of `path` durable.
void sync_folder_of(const std::string& path);

}  // namespace rackside::sync
