#pragma once

#include <cstdint>
#include <map>
#include <memory>
#include <string>
#include <vector>

namespace rackside::simulation {

enum class DiskFault : std::uint8_t {
  none,
  crash,       ///< the power goes: what was not synced survives in part, sectors torn
  fail_write,  ///< one write fails, half done
  fail_sync,   ///< one sync fails; what it should have made durable is still on its way
  full,        ///< no file can grow for a while
};
constexpr int kDiskFaults = 5;

/// One file as programs see it and as the platter has it. Writes stand in `pending` until a sync.
struct SimulatedFile {
  struct Step {
    std::size_t offset = 0;
    std::vector<std::uint8_t> bytes;
    bool truncates = false;  ///< to `offset` bytes
  };
  std::vector<std::uint8_t> seen;
  std::vector<std::uint8_t> durable;
  std::vector<Step> pending;
  std::vector<std::unique_ptr<std::uint8_t[]>> shared_memory;
};

/// The disk of one device, in memory, under SQLite. Every book in `folder` lives here once `install_disks` was called;
/// only empty files of the same names are really there, because a book asks the file system whether and how large they
/// are. What a step is: a write, a sync or a truncation.
/// Not simulated: a sync that fails and for ever loses what it was to keep (no program can go on after that), a lying
/// sync, bit rot, a crash while a book is being founded.
class Disk {
 public:
  explicit Disk(std::string folder);
  ~Disk();
  Disk(const Disk&) = delete;
  Disk& operator=(const Disk&) = delete;

  const std::string& folder() const { return folder_; }
  /// At the `step`-th step from now that fault happens, once. `seed` decides what survives.
  void arm(int step, DiskFault fault, std::uint64_t seed);
  bool dead() const { return dead_; }
  /// Whether a fault has happened since this was asked last.
  bool struck();
  /// Ends every trouble. After a crash the files are what survived.
  void power_on();

  using Image = std::map<std::string, std::vector<std::uint8_t>>;
  /// The files as programs see them now, by name: a backup copy.
  Image image() const;
  /// Replaces all files. No book may be open.
  void restore(const Image& image);

  // ---- for the file system below SQLite
  std::map<std::string, std::shared_ptr<SimulatedFile>>& files() { return files_; }
  int write(SimulatedFile& file, std::size_t offset, const std::uint8_t* bytes, std::size_t count);
  int truncate(SimulatedFile& file, std::size_t size);
  int sync(const std::string& name, SimulatedFile& file);

 private:
  DiskFault next_step();
  void crash();
  void mirror(const std::string& name, std::size_t size) const;

  std::string folder_;
  std::map<std::string, std::shared_ptr<SimulatedFile>> files_;
  int steps_left_ = 0;
  DiskFault armed_ = DiskFault::none;
  std::uint64_t seed_ = 0;
  int full_for_ = 0;  ///< steps
  bool dead_ = false;
  bool struck_ = false;
};

/// Puts the simulated disks under SQLite, once. Books elsewhere go to real files as ever.
void install_disks();

}  // namespace rackside::simulation
