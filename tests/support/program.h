#pragma once

#include <filesystem>
#include <string>
#include <vector>

namespace rackside::tests {

/// What a run of the real program came to.
struct Run {
  int status = -1;  ///< exit status; 128 + signal when it was killed
  std::string out;
  std::string err;
};

/// Runs build/rackside with arguments and standard input; the environment holds no book and no colours.
Run run_rackside(const std::vector<std::string>& arguments, const std::string& input = {});
/// Any other program, looked up in PATH.
Run run_program(const std::string& program, const std::vector<std::string>& arguments, const std::string& input = {});

/// A folder of its own that goes with the object.
class Folder {
 public:
  /// `memory`: where the system has files in memory, else on the disk. For many small books whose syncing is not
  /// judged.
  enum class On { disk, memory };
  explicit Folder(On on = On::disk);
  ~Folder();
  Folder(const Folder&) = delete;
  Folder& operator=(const Folder&) = delete;
  std::string operator/(const std::string& name) const { return (path_ / name).string(); }
  std::string str() const { return path_.string(); }

 private:
  std::filesystem::path path_;
};

void write_text(const std::string& path, const std::string& text);
std::string read_text(const std::string& path);

/// The string value of a member in a line of JSON that the program printed.
std::string member(const std::string& json, const std::string& name);

}  // namespace rackside::tests
