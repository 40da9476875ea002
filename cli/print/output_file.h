#pragma once

#include <cstdio>
#include <string>
#include <string_view>

namespace rackside::cli {

/// A file that is written piece by piece under another name and gets its own when it is whole: nobody ever prints half
/// a file.
class OutputFile {
 public:
  /// Errors: bad_input where it cannot be written.
  explicit OutputFile(std::string path);
  ~OutputFile();  ///< removes what was not kept
  OutputFile(const OutputFile&) = delete;
  OutputFile& operator=(const OutputFile&) = delete;

  void write(std::string_view bytes);
  void keep();

 private:
  [[noreturn]] void fail() const;
  std::string path_;
  std::string part_;
  std::FILE* file_ = nullptr;
};

}  // namespace rackside::cli
