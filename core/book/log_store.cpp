#include "core/book/log_store.h"

#include <algorithm>

#include "core/crypto/sha256.h"

namespace rackside::core {
namespace {

/// So many older events are kept decoded, however many a run looks at.
constexpr std::size_t kMostOlder = 2048;

Error damaged(EventRow row) {
  return {Fault::corrupt, "The book is damaged: event " + std::to_string(seq_of(row)) + " of line " +
                              std::to_string(branch_of(row)) +
                              " is missing or unreadable. Restore the last backup and sync."};
}

}  // namespace

void LogStore::reload() {
  devices_.clear();
  device_names_.clear();
  branches_.clear();
  device_branches_.clear();
  forget();
  memory_ = {};
  auto devices = database_.prepare("SELECT id, name FROM device");
  while (devices.step()) {
    const auto name = devices.bytes<8>(1);
    devices_[name] = devices.integer(0);
    device_names_[devices.integer(0)] = name;
  }
  auto rows = database_.prepare("SELECT id, device, parent, base_seq, head_seq, head_hash FROM branch");
  while (rows.step()) {
    Branch branch{.id = rows.integer(0), .device = rows.integer(1)};
    if (!rows.null(2)) branch.parent = rows.integer(2);
    branch.base_seq = static_cast<std::uint32_t>(rows.integer(3));
    branch.head_seq = static_cast<std::uint32_t>(rows.integer(4));
    branch.head_hash = rows.bytes<32>(5);
    branches_[branch.id] = branch;
    device_branches_.emplace(branch.device, branch.id);
  }
}

std::optional<std::int64_t> LogStore::find_device(const DeviceId& device) const {
  const auto found = devices_.find(device);
  if (found == devices_.end()) return std::nullopt;
  return found->second;
}

std::int64_t LogStore::device_row(const DeviceId& device) {
  if (const auto known = find_device(device)) return *known;
  database_.prepare("INSERT INTO device(name) VALUES(?)").bind(device).run();
  const std::int64_t row = database_.last_row();
  devices_[device] = row;
  device_names_[row] = device;
  return row;
}

std::optional<PublicKey> LogStore::key_of(const DeviceId& device) {
  auto query = database_.prepare("SELECT key FROM device WHERE name = ? AND key IS NOT NULL");
  if (!query.bind(device).step()) return std::nullopt;
  return query.bytes<65>(0);
}

void LogStore::set_key(std::int64_t device, const PublicKey& key) {
  database_.prepare("UPDATE device SET key = ? WHERE id = ?").bind(key, device).run();
}

std::vector<const Branch*> LogStore::branches_of(std::int64_t device) const {
  std::vector<const Branch*> out;
  const auto [begin, end] = device_branches_.equal_range(device);
  for (auto it = begin; it != end; ++it) out.push_back(&branches_.at(it->second));
  return out;
}

std::vector<const Branch*> LogStore::children_of(std::int64_t branch) const {
  std::vector<const Branch*> out;
  for (const Branch* one : branches_of(branches_.at(branch).device)) {
    if (one->parent == branch) out.push_back(one);
  }
  return out;
}

EventRow LogStore::find(const EventRef& ref) {
  const auto device = find_device(ref.device);
  if (!device) return 0;
  for (const Branch* branch : branches_of(*device)) {
    if (ref.seq <= branch->base_seq || ref.seq > branch->head_seq) continue;
    const EventRow row = make_row(branch->id, ref.seq);
    if (shorten(hash_of(row)) == ref.hash) return row;
  }
  return 0;
}

EventRow LogStore::row_on_line(std::int64_t branch, std::uint32_t seq) const {
  const Branch* line = &branches_.at(branch);
  while (seq <= line->base_seq && line->parent) line = &branches_.at(*line->parent);
  return seq == 0 ? 0 : make_row(line->id, seq);
}

bool LogStore::on_line(EventRow event, EventRow head) const {
  if (seq_of(event) > seq_of(head)) return false;
  // Groups ask this of each pair: most are of two lines, or of one that did not fork in between.
  const Branch& line = branches_.at(branch_of(head));
  if (seq_of(event) > line.base_seq) return branch_of(event) == line.id;
  return row_on_line(line.id, seq_of(event)) == event;
}

EventRef LogStore::ref_of(EventRow row) {
  return {device_name(branch(branch_of(row)).device), seq_of(row), shorten(hash_of(row))};
}

std::optional<std::size_t> LogStore::fresh_index(EventRow row) const {
  if (fresh_.empty()) return std::nullopt;
  const auto line = fresh_lines_.find(branch_of(row));
  if (line == fresh_lines_.end() || seq_of(row) < line->second.first_seq) return std::nullopt;
  const std::size_t at = seq_of(row) - line->second.first_seq;
  return at < line->second.index.size() ? std::optional(line->second.index[at]) : std::nullopt;
}

std::vector<std::pair<EventRow, EventRow>> LogStore::fresh_spans() const {
  std::vector<std::pair<EventRow, EventRow>> spans;
  for (const auto& [branch, line] : fresh_lines_) {
    const auto last = line.first_seq + static_cast<std::uint32_t>(line.index.size()) - 1;
    spans.emplace_back(make_row(branch, line.first_seq), make_row(branch, last));
  }
  std::sort(spans.begin(), spans.end());
  return spans;
}

void LogStore::put_at_hand(FreshEvent&& event) {
  FreshLine& line = fresh_lines_[branch_of(event.row)];
  if (line.index.empty()) line.first_seq = seq_of(event.row);
  line.index.push_back(fresh_.size());
  fresh_.push_back(std::move(event));
}

/// Reads a whole row at once: whoever asks for one part of an older event mostly asks for the others.
LogStore::Older& LogStore::older(EventRow row) {
  const auto found = older_.find(row);
  if (found != older_.end()) return found->second;
  if (older_.size() >= kMostOlder) older_.clear();
  auto query = database_.prepare("SELECT hash, at, mark, bytes FROM event WHERE id = ?");
  if (!query.bind(row).step()) throw damaged(row);
  Older read{.hash = query.bytes<32>(0), .bytes = std::string(query.text(3))};
  if (!query.null(1)) read.judged.at = query.integer(1);
  read.judged.mark = query.integer(2);
  return older_.emplace(row, std::move(read)).first->second;
}

/// Keeps nothing: a digest asks for every event's.
Hash LogStore::hash_of(EventRow row) {
  if (const auto at = fresh_index(row)) return fresh_[*at].hash;
  if (const auto held = older_.find(row); held != older_.end()) return held->second.hash;
  auto query = database_.prepare("SELECT hash FROM event WHERE id = ?");
  if (!query.bind(row).step()) throw damaged(row);
  return query.bytes<32>(0);
}

std::string LogStore::bytes_of(EventRow row) {
  if (const auto at = fresh_index(row); at && !fresh_[*at].bytes.empty()) return fresh_[*at].bytes;
  auto query = database_.prepare("SELECT bytes FROM event WHERE id = ?");
  if (!query.bind(row).step()) throw damaged(row);
  return std::string(query.text(0));
}

std::shared_ptr<const Event> LogStore::event_of(EventRow row) {
  if (const auto at = fresh_index(row)) return fresh_[*at].event;
  Older& held = older(row);
  if (!held.event) {
    DecodedEvent decoded = decode_event(held.bytes);
    if (!decoded.event) throw damaged(row);
    held.event = std::make_shared<const Event>(std::move(*decoded.event));
    held.bytes = {};
  }
  return held.event;
}

Judged LogStore::judged_of(EventRow row) {
  if (const auto at = fresh_index(row)) return fresh_[*at].judged;
  if (const auto held = older_.find(row); held != older_.end()) return held->second.judged;
  auto query = database_.prepare("SELECT at, mark FROM event WHERE id = ?");
  if (!query.bind(row).step()) throw damaged(row);
  Judged judged{.mark = query.integer(1)};
  if (!query.null(0)) judged.at = query.integer(0);
  return judged;
}

Instant LogStore::time_of(EventRow row) {
  const auto judged = judged_of(row).at;
  return judged ? *judged : event_of(row)->clock.wall_ms;
}

void LogStore::judge(EventRow row, const Judged& judged) {
  const auto at = fresh_index(row);
  Judged& held = at ? fresh_[*at].judged : older(row).judged;
  if (held == judged) return;
  held = judged;
  if (at && *at >= flushed_) return;
  database_.prepare("UPDATE event SET at = ?, mark = ? WHERE id = ?").bind(judged.at, judged.mark, row).run();
}

EventRow LogStore::append(std::int64_t branch_id, std::string_view bytes, const Hash& hash,
                          std::shared_ptr<const Event> event) {
  Branch& branch = branches_.at(branch_id);
  const EventRow row = make_row(branch_id, branch.head_seq + 1);
  branch.head_seq += 1;
  branch.head_hash = hash;
  moved_heads_.insert(branch_id);
  put_at_hand({.row = row, .hash = hash, .bytes = std::string(bytes), .event = std::move(event)});
  return row;
}

void LogStore::take_up(std::int64_t branch, std::uint32_t first, std::uint32_t last) {
  auto query = database_.prepare("SELECT id, hash, bytes FROM event WHERE id BETWEEN ? AND ? ORDER BY id");
  query.bind(make_row(branch, first), make_row(branch, last));
  while (query.step()) {
    DecodedEvent decoded = decode_event(query.text(2));
    if (!decoded.event) throw damaged(query.integer(0));
    put_at_hand({.row = query.integer(0),
                 .hash = query.bytes<32>(1),
                 .event = std::make_shared<const Event>(std::move(*decoded.event)),
                 .stored = true});
  }
}

void LogStore::flush() {
  for (; flushed_ < fresh_.size(); ++flushed_) {
    const FreshEvent& one = fresh_[flushed_];
    if (one.stored) {
      database_.prepare("UPDATE event SET at = ?, mark = ? WHERE id = ?")
          .bind(one.judged.at, one.judged.mark, one.row)
          .run();
    } else {
      database_.prepare("INSERT INTO event(id, hash, bytes, at, mark) VALUES(?, ?, ?, ?, ?)")
          .bind(one.row, one.hash, one.bytes, one.judged.at, one.judged.mark)
          .run();
    }
  }
  for (const std::int64_t id : moved_heads_) {
    const Branch& branch = branches_.at(id);
    database_.prepare("UPDATE branch SET head_seq = ?, head_hash = ? WHERE id = ?")
        .bind(branch.head_seq, branch.head_hash, id)
        .run();
  }
  moved_heads_.clear();
}

void LogStore::forget() {
  older_.clear();
  fresh_.clear();
  fresh_lines_.clear();
  flushed_ = 0;
  moved_heads_.clear();
}

std::int64_t LogStore::new_branch(std::int64_t device, std::optional<std::int64_t> parent, std::uint32_t base_seq,
                                  const Hash& base_hash) {
  database_.prepare("INSERT INTO branch(device, parent, base_seq, head_seq, head_hash) VALUES(?, ?, ?, ?, ?)")
      .bind(device, parent, base_seq, base_seq, base_hash)
      .run();
  const std::int64_t id = database_.last_row();
  branches_[id] = {id, device, parent, base_seq, base_seq, base_hash};
  device_branches_.emplace(device, id);
  return id;
}

void LogStore::sign(EventRow row, const Signature& signature) {
  database_.prepare("INSERT OR IGNORE INTO signature(event, bytes) VALUES(?, ?)").bind(row, signature).run();
}

std::optional<Signature> LogStore::signature_of(EventRow row) {
  auto query = database_.prepare("SELECT bytes FROM signature WHERE event = ?");
  if (!query.bind(row).step()) return std::nullopt;
  return query.bytes<64>(0);
}

std::uint32_t LogStore::last_signed(std::int64_t branch, std::uint32_t seq) {
  auto query =
      database_.prepare("SELECT event FROM signature WHERE event > ? AND event <= ? ORDER BY event DESC LIMIT 1");
  return query.bind(make_row(branch, 0), make_row(branch, seq)).step() ? seq_of(query.integer(0)) : 0;
}

void LogStore::keep_sealed(EventRow row, const SealedPart& part) {
  auto erased = database_.prepare("SELECT 1 FROM erased WHERE event = ?");
  if (erased.bind(row).step()) return;
  database_.prepare("INSERT OR IGNORE INTO sealed(event, salt, text) VALUES(?, ?, ?)")
      .bind(row, part.salt, part.text)
      .run();
}

std::optional<SealedPart> LogStore::sealed_of(EventRow row) {
  auto query = database_.prepare("SELECT salt, text FROM sealed WHERE event = ?");
  if (!query.bind(row).step()) return std::nullopt;
  return SealedPart{query.bytes<16>(0), std::string(query.text(1))};
}

}  // namespace rackside::core
