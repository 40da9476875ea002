#include "tests/simulation/disk.h"

#include <sqlite3.h>

#include <algorithm>
#include <cstring>
#include <filesystem>
#include <fstream>
#include <utility>

#include "tests/simulation/fleet.h"

namespace rackside::simulation {
namespace {

constexpr std::size_t kSector = 512;

std::map<std::string, Disk*>& disks() {
  static std::map<std::string, Disk*> all;
  return all;
}

void carry_out(std::vector<std::uint8_t>& content, const SimulatedFile::Step& step) {
  if (step.truncates) {
    content.resize(step.offset);
    return;
  }
  if (content.size() < step.offset + step.bytes.size()) content.resize(step.offset + step.bytes.size());
  std::copy(step.bytes.begin(), step.bytes.end(), content.begin() + static_cast<std::ptrdiff_t>(step.offset));
}

/// What of a write survives: sectors, each by the dice.
void carry_out_torn(std::vector<std::uint8_t>& content, const SimulatedFile::Step& step, Dice& dice) {
  if (step.truncates) {
    if (dice.percent(50)) carry_out(content, step);
    return;
  }
  for (std::size_t at = 0; at < step.bytes.size(); at += kSector) {
    const std::size_t end = std::min(at + kSector, step.bytes.size());
    if (dice.percent(50)) continue;
    carry_out(content, {step.offset + at,
                        {step.bytes.begin() + static_cast<std::ptrdiff_t>(at),
                         step.bytes.begin() + static_cast<std::ptrdiff_t>(end)},
                        false});
  }
}

}  // namespace

Disk::Disk(std::string folder) : folder_(std::move(folder)) {
  std::filesystem::create_directories(folder_);
  disks()[folder_] = this;
}

Disk::~Disk() {
  disks().erase(folder_);
  std::error_code ignored;
  std::filesystem::remove_all(folder_, ignored);
}

void Disk::arm(int step, DiskFault fault, std::uint64_t seed) {
  steps_left_ = step + 1;
  armed_ = fault;
  seed_ = seed;
}

bool Disk::struck() {
  return std::exchange(struck_, false);
}

/// The fault that happens at this step, if one does.
DiskFault Disk::next_step() {
  if (full_for_ > 0) --full_for_;
  if (armed_ == DiskFault::none || --steps_left_ > 0) return DiskFault::none;
  struck_ = true;
  if (armed_ == DiskFault::full) full_for_ = 1 + static_cast<int>(seed_ % 40);
  return std::exchange(armed_, DiskFault::none);
}

/// All, nothing, the first part, or any sectors of what was on its way survives; one disk, so one order for all files.
void Disk::crash() {
  Dice dice(seed_);
  const int way = dice.below(4);
  for (auto& [name, file] : files_) {
    std::size_t whole = way == 0 ? 0 : file->pending.size();
    if (way == 2 && whole > 0) whole = static_cast<std::size_t>(dice.below(static_cast<int>(whole) + 1));
    for (std::size_t i = 0; i < file->pending.size(); ++i) {
      if (way == 3 || (way == 2 && i == whole)) {
        carry_out_torn(file->durable, file->pending[i], dice);
      } else if (i < whole) {
        carry_out(file->durable, file->pending[i]);
      }
    }
  }
  dead_ = true;
}

void Disk::power_on() {
  armed_ = DiskFault::none;
  full_for_ = 0;
  struck_ = false;
  if (!std::exchange(dead_, false)) return;
  for (auto& [name, file] : files_) {
    file->seen = file->durable;
    file->pending.clear();
    file->shared_memory.clear();
    mirror(name, file->seen.size());
  }
}

int Disk::write(SimulatedFile& file, std::size_t offset, const std::uint8_t* bytes, std::size_t count) {
  if (dead_) return SQLITE_IOERR_WRITE;
  const DiskFault fault = next_step();
  SimulatedFile::Step step{offset, {bytes, bytes + count}, false};
  if (full_for_ > 0 && offset + count > file.seen.size()) {
    struck_ = true;
    return SQLITE_FULL;
  }
  if (fault == DiskFault::fail_write) step.bytes.resize(count / 2);
  carry_out(file.seen, step);
  file.pending.push_back(std::move(step));
  if (fault == DiskFault::crash) crash();
  return fault == DiskFault::crash || fault == DiskFault::fail_write ? SQLITE_IOERR_WRITE : SQLITE_OK;
}

int Disk::truncate(SimulatedFile& file, std::size_t size) {
  if (dead_) return SQLITE_IOERR_TRUNCATE;
  const DiskFault fault = next_step();
  const SimulatedFile::Step step{size, {}, true};
  carry_out(file.seen, step);
  file.pending.push_back(step);
  if (fault == DiskFault::crash) crash();
  return fault == DiskFault::crash ? SQLITE_IOERR_TRUNCATE : SQLITE_OK;
}

int Disk::sync(const std::string& name, SimulatedFile& file) {
  if (dead_) return SQLITE_IOERR_FSYNC;
  const DiskFault fault = next_step();
  if (fault == DiskFault::crash) crash();
  if (fault == DiskFault::crash || fault == DiskFault::fail_sync) return SQLITE_IOERR_FSYNC;
  for (const SimulatedFile::Step& step : file.pending) carry_out(file.durable, step);
  file.pending.clear();
  mirror(name, file.seen.size());
  return SQLITE_OK;
}

/// A book looks at its real files for their presence and size.
void Disk::mirror(const std::string& name, std::size_t size) const {
  const std::string path = folder_ + "/" + name;
  std::error_code missing;
  const auto held = std::filesystem::file_size(path, missing);
  if (missing) std::ofstream{path};
  if (missing || held != size) std::filesystem::resize_file(path, size);
}

Disk::Image Disk::image() const {
  Image out;
  for (const auto& [name, file] : files_) out[name] = file->seen;
  return out;
}

void Disk::restore(const Image& image) {
  files_.clear();
  for (const auto& [name, bytes] : image) {
    auto file = std::make_shared<SimulatedFile>();
    file->seen = bytes;
    file->durable = bytes;
    files_[name] = std::move(file);
    mirror(name, bytes.size());
  }
}

// ---- the file system that SQLite speaks to

namespace {

sqlite3_vfs* real() {
  static sqlite3_vfs* const vfs = sqlite3_vfs_find(nullptr);
  return vfs;
}

struct OpenFile {
  sqlite3_file base;
  Disk* disk;
  std::string* name;
  std::shared_ptr<SimulatedFile>* file;
};

OpenFile& open_file(sqlite3_file* file) {
  return *reinterpret_cast<OpenFile*>(file);
}

/// The disk and the file's name on it; nullptr for a path on no simulated disk.
Disk* disk_of(const char* path, std::string& name) {
  if (path == nullptr) return nullptr;
  const std::filesystem::path whole(path);
  const auto found = disks().find(whole.parent_path().string());
  name = whole.filename().string();
  return found == disks().end() ? nullptr : found->second;
}

int close_file(sqlite3_file* file) {
  OpenFile& open = open_file(file);
  delete open.name;
  delete open.file;
  return SQLITE_OK;
}

int read_file(sqlite3_file* file, void* out, int count, sqlite3_int64 offset) {
  OpenFile& open = open_file(file);
  if (open.disk->dead()) return SQLITE_IOERR_READ;
  const auto& seen = (*open.file)->seen;
  const auto from = std::min(seen.size(), static_cast<std::size_t>(offset));
  const std::size_t there = std::min(seen.size() - from, static_cast<std::size_t>(count));
  std::memset(out, 0, static_cast<std::size_t>(count));
  if (there > 0) std::memcpy(out, seen.data() + from, there);
  return there == static_cast<std::size_t>(count) ? SQLITE_OK : SQLITE_IOERR_SHORT_READ;
}

int write_file(sqlite3_file* file, const void* bytes, int count, sqlite3_int64 offset) {
  OpenFile& open = open_file(file);
  return open.disk->write(**open.file, static_cast<std::size_t>(offset), static_cast<const std::uint8_t*>(bytes),
                          static_cast<std::size_t>(count));
}

int truncate_file(sqlite3_file* file, sqlite3_int64 size) {
  OpenFile& open = open_file(file);
  return open.disk->truncate(**open.file, static_cast<std::size_t>(size));
}

int sync_file(sqlite3_file* file, int) {
  OpenFile& open = open_file(file);
  return open.disk->sync(*open.name, **open.file);
}

int file_size(sqlite3_file* file, sqlite3_int64* size) {
  *size = static_cast<sqlite3_int64>((*open_file(file).file)->seen.size());
  return SQLITE_OK;
}

// One program has one book of a device open, so nobody competes for locks.
int take_lock(sqlite3_file*, int) {
  return SQLITE_OK;
}
int nobody_reserved(sqlite3_file*, int* reserved) {
  *reserved = 0;
  return SQLITE_OK;
}
int no_control(sqlite3_file*, int, void*) {
  return SQLITE_NOTFOUND;
}
int sector_size(sqlite3_file*) {
  return 4096;
}
int characteristics(sqlite3_file*) {
  return SQLITE_IOCAP_POWERSAFE_OVERWRITE;
}

int map_shared(sqlite3_file* file, int region, int size, int extend, void volatile** out) {
  auto& memory = (*open_file(file).file)->shared_memory;
  const auto wanted = static_cast<std::size_t>(region);
  while (memory.size() <= wanted && extend)
    memory.push_back(std::make_unique<std::uint8_t[]>(static_cast<std::size_t>(size)));
  *out = memory.size() > wanted ? memory[wanted].get() : nullptr;
  return SQLITE_OK;
}
int lock_shared(sqlite3_file*, int, int, int) {
  return SQLITE_OK;
}
void barrier(sqlite3_file*) {}
int unmap_shared(sqlite3_file* file, int) {
  (*open_file(file).file)->shared_memory.clear();
  return SQLITE_OK;
}

constexpr sqlite3_io_methods kMethods = {2,          close_file,   read_file,       write_file, truncate_file,
                                         sync_file,  file_size,    take_lock,       take_lock,  nobody_reserved,
                                         no_control, sector_size,  characteristics, map_shared, lock_shared,
                                         barrier,    unmap_shared, nullptr,         nullptr};

int open(sqlite3_vfs*, const char* path, sqlite3_file* file, int flags, int* out_flags) {
  std::string name;
  Disk* disk = disk_of(path, name);
  if (!disk) return real()->xOpen(real(), path, file, flags, out_flags);
  file->pMethods = nullptr;
  if (disk->dead()) return SQLITE_CANTOPEN;
  const bool held = disk->files().contains(name);
  if (!held && !(flags & SQLITE_OPEN_CREATE)) return SQLITE_CANTOPEN;
  if (!held) disk->files()[name] = std::make_shared<SimulatedFile>();
  OpenFile& open = open_file(file);
  open.disk = disk;
  open.name = new std::string(name);
  open.file = new std::shared_ptr<SimulatedFile>(disk->files().at(name));
  open.base.pMethods = &kMethods;
  if (out_flags) *out_flags = flags;
  return SQLITE_OK;
}

int remove(sqlite3_vfs*, const char* path, int sync_folder) {
  std::string name;
  Disk* disk = disk_of(path, name);
  if (!disk) return real()->xDelete(real(), path, sync_folder);
  return disk->files().erase(name) == 0 ? SQLITE_IOERR_DELETE_NOENT : SQLITE_OK;
}

int access(sqlite3_vfs*, const char* path, int flags, int* out) {
  std::string name;
  const Disk* disk = disk_of(path, name);
  if (!disk) return real()->xAccess(real(), path, flags, out);
  *out = const_cast<Disk*>(disk)->files().contains(name) ? 1 : 0;
  return SQLITE_OK;
}

int full_path(sqlite3_vfs*, const char* path, int size, char* out) {
  return real()->xFullPathname(real(), path, size, out);
}

}  // namespace

void install_disks() {
  static sqlite3_vfs vfs = [] {
    sqlite3_vfs made = *real();
    made.szOsFile = std::max<int>(made.szOsFile, static_cast<int>(sizeof(OpenFile)));
    made.zName = "rackside-simulation";
    made.pNext = nullptr;
    made.xOpen = open;
    made.xDelete = remove;
    made.xAccess = access;
    made.xFullPathname = full_path;
    return made;
  }();
  static const int registered = sqlite3_vfs_register(&vfs, 1);
  static_cast<void>(registered);
}

}  // namespace rackside::simulation
