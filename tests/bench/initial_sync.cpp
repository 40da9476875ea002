#include <filesystem>
#include <fstream>
#include <stdexcept>

#include "sync/hub/http_peer.h"
#include "sync/protocol/exchange.h"
#include "tests/bench/benchmarks.h"
#include "tests/bench/loopback.h"
#include "tests/bench/past.h"
#include "tests/bench/writer.h"

namespace rackside::bench {
namespace {

/// All that a book holds, as one stream in a file: what a merge alone is fed with.
std::size_t write_all(const std::string& path, const std::string& book) {
  core::Book source = core::Book::open(book);
  std::ofstream out(path, std::ios::binary | std::ios::trunc);
  out << sync::stream_head(source.collection());
  std::size_t segments = 0;
  std::size_t events = 0;
  source.missing_for({}, [&](core::Segment&& segment) {
    std::string text;
    sync::append_segment(text, segment);
    out << text;
    ++segments;
    events += segment.events.size();
    return true;
  });
  out << sync::stream_end(segments);
  if (!out.flush()) throw std::runtime_error("cannot write " + path);
  return events;
}

}  // namespace

/// A new laptop's first sync of a million events, against the merge of the same stream from a file. The hub reads its
/// book, compresses and encrypts on the one side; on the other the new book unpacks, checks and folds.
std::vector<Row> initial_sync_1m(Stage& stage) {
  const Past past = past_of("1m", 200'000);
  const std::string hub_book = copied(stage, past.book, "hub.book");
  const std::string stream = stage.fresh("all.jsonl");
  const std::size_t events = write_all(stream, hub_book);
  const LoopbackHub hub(hub_book);
  std::size_t wire = 0;
  const auto sync_new_book = [&] {
    const core::KeyPair key = key_named("newcomer");
    core::Book book =
        core::Book::create_member(stage.fresh("initial.book"), past.season.collection, key, "", wall_clock()());
    const CountingPort way(hub.port());
    {
      sync::hub::HttpPeer peer(hub.client(core::to_hex(book.device()), way.port()));
      const auto result = sync::exchange(book, "newcomer", peer, wall_clock(), sync::Ways::receive);
      if (result.received < events) throw std::runtime_error("initial-sync: events are missing");
    }
    wire = way.bytes();
  };
  std::vector<Row> rows = {compare("initial-sync-1m", 3, sync_new_book, [&] {
    feed_book({.collection = past.season.collection, .path = stream}, stage.fresh("alone.book"));
  })};
  const auto count = static_cast<double>(events);
  rows.push_back({"initial-sync-wire", static_cast<double>(wire) / count,
                  static_cast<double>(std::filesystem::file_size(stream)) / count, "bytes/event"});
  return rows;
}

}  // namespace rackside::bench
