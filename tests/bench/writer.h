#pragma once

#include <fstream>
#include <optional>
#include <string>
#include <vector>

#include "core/book/book.h"

namespace rackside::bench {

/// One made-up device: chains, signs and writes its events to a file of its own, past Book::record, which would fold
/// and sync to disk each time.
class DeviceWriter {
 public:
  DeviceWriter(const core::CollectionId& collection, core::KeyPair key, const std::string& path);

  /// Fills in the clock and writes. `time` is the true time; the device's own is off by `clock_error_ms`.
  core::EventRef write(core::Event event, core::Instant time, const std::optional<core::SealedPart>& part = {});
  /// Signs and writes what is left.
  void finish();
  /// Finishes the file; what comes goes into another.
  void go_on_in(const std::string& path);

  const core::DeviceId& id() const { return id_; }
  const core::KeyPair& key() const { return key_; }
  std::uint32_t count() const { return seq_; }
  const core::EventRef& last() const { return last_; }
  std::size_t bytes() const { return bytes_; }
  /// A segment in the device's file.
  struct Written {
    core::Instant begins = 0;  ///< the true time of its first event
    std::size_t bytes = 0;
  };
  /// Those in the file at hand, in its order.
  const std::vector<Written>& segments() const { return segments_; }
  const std::string& path() const { return path_; }

  std::int64_t clock_error_ms = 0;
  std::uint64_t run = 1;  ///< change it to restart the device
  core::Instant run_began = 0;

 private:
  void end_segment();

  core::CollectionId collection_;
  core::KeyPair key_;
  core::DeviceId id_;
  core::Hash hash_;
  std::uint32_t seq_ = 0;
  core::EventRef last_;
  core::Segment segment_;
  core::Instant segment_begins_ = 0;
  std::size_t bytes_ = 0;
  std::vector<Written> segments_;
  std::string path_;
  std::ofstream out_;
};

/// A key that depends on nothing but the name.
core::KeyPair key_named(const std::string& name);

}  // namespace rackside::bench
