// Digests and the check: what two books that hold the same events have in common, whatever order they came in.
#include <algorithm>
#include <set>
#include <sstream>

#include "core/book/book.h"
#include "core/book/fold_all.h"
#include "core/crypto/sha256.h"

namespace rackside::core {
namespace {

/// A hash of a multiset of rows: the sum of their SHA-256 modulo 2^256, so that no order and no sorting is needed.
/// It finds accidents; against forgers stand the signatures.
class RowSum {
 public:
  void add(std::string_view row) {
    const Hash hash = sha256(as_bytes(row));
    unsigned carry = 0;
    for (std::size_t i = sum_.size(); i-- > 0;) {
      const unsigned byte = sum_[i] + hash[i] + carry;
      sum_[i] = static_cast<std::uint8_t>(byte & 0xff);
      carry = byte >> 8;
    }
    ++rows_;
  }
  Hash total(std::string_view label) const {
    return sha256({as_bytes(label), as_bytes(std::to_string(rows_)), ByteSpan(sum_)});
  }

 private:
  Hash sum_{};
  std::size_t rows_ = 0;
};

/// Writes folded rows in words that mean the same in every book.
class StateReader {
 public:
  explicit StateReader(LogStore& log) : log_(log), database_(log.database()) {}

  Hash digest() {
    events();
    accounts();
    scans();
    stays();
    matters();
    fields();
    settings();
    return sum_.total("rackside state " + std::to_string(kRuleSet));
  }

 private:
  std::string ref(EventRow row) { return row == 0 ? "-" : to_text(log_.ref_of(row)); }

  std::string refs(std::string_view rows) {
    std::set<std::string> out;
    for_each_number(rows, [&](std::int64_t row) { out.insert(ref(row)); });
    std::string text;
    for (const std::string& one : out) text += one + ",";
    return text;
  }

  const std::string& code(Thing thing) {
    auto found = codes_.find(thing);
    if (found != codes_.end()) return found->second;
    auto query = database_.prepare("SELECT text FROM code WHERE id = ?");
    return codes_[thing] = query.bind(thing).step() ? std::string(query.text(0)) : std::string("-");
  }

  template <typename Use>
  static void for_each_number(std::string_view text, const Use& use) {
    std::istringstream in{std::string(text)};
    for (std::int64_t number = 0; in >> number;) use(number);
  }

  template <typename... Parts>
  void row(const Parts&... parts) {
    std::ostringstream out;
    ((out << parts << '|'), ...);
    sum_.add(out.str());
  }

  void events() {
    auto query = database_.prepare("SELECT id, at, mark FROM event");
    while (query.step()) row("event", ref(query.integer(0)), query.integer(1), query.integer(2));
  }
  void accounts() {
    auto query = database_.prepare("SELECT subject, at, event FROM account");
    while (query.step()) row("account", code(query.integer(0)), query.integer(1), ref(query.integer(2)));
  }
  void scans() {
    auto query = database_.prepare("SELECT place, at, event, how, bound FROM scan");
    while (query.step()) {
      std::set<std::string> bound;
      for_each_number(query.text(4), [&](Thing thing) { bound.insert(code(thing)); });
      std::string text;
      for (const std::string& one : bound) text += one + ",";
      row("scan", code(query.integer(0)), query.integer(1), ref(query.integer(2)), query.integer(3), text);
    }
  }
  void stays() {
    auto query = database_.prepare("SELECT animal, since, by, until, place, role, partner, ended_by FROM stay");
    while (query.step()) {
      row("stay", code(query.integer(0)), query.integer(1), ref(query.integer(2)),
          query.null(3) ? std::string("-") : std::to_string(query.integer(3)), code(query.integer(4)), query.integer(5),
          query.null(6) ? std::string("-") : code(query.integer(6)), ref(query.integer(7)));
    }
  }
  void matters() {
    auto query = database_.prepare(
        "SELECT rule, subject, at, lead, outcome, amount, asks, answers, members, detail FROM matter");
    while (query.step()) {
      // A withdrawal's `at` is the row of what it withdraws: a number of this book alone.
      const bool local_time = query.integer(0) == static_cast<int>(RuleId::withdrawal);
      row("matter", query.integer(0), code(query.integer(1)), local_time ? 0 : query.integer(2), ref(query.integer(3)),
          query.text(4), query.integer(5), query.integer(6), query.text(7), refs(query.text(8)), query.text(9));
    }
  }
  void fields() {
    auto query = database_.prepare("SELECT subject, name, value, event, others FROM field");
    while (query.step()) {
      row("field", code(query.integer(0)), query.text(1), query.text(2), ref(query.integer(3)), refs(query.text(4)));
    }
  }
  void settings() {
    auto query = database_.prepare("SELECT key, value FROM setting");
    while (query.step()) row("setting", query.text(0), query.text(1));
    auto standing = database_.prepare(
        "SELECT device.name, role, clock, retired, read_until, text FROM standing JOIN device ON device.id = "
        "standing.device");
    while (standing.step()) {
      row("standing", to_hex(standing.blob(0)), standing.integer(1), standing.integer(2), standing.integer(3),
          standing.null(4) ? std::string("-") : ref(standing.integer(4)), standing.text(5));
    }
  }

  LogStore& log_;
  Database& database_;
  RowSum sum_;
  std::unordered_map<Thing, std::string> codes_;
};

/// Goes along every line from its start: hashes, well-formedness, keys and signatures.
class ChainCheck {
 public:
  ChainCheck(LogStore& log, const CollectionId& collection, CheckReport& report)
      : log_(log), collection_(collection), report_(report) {}

  void run(const std::function<void(std::size_t, std::size_t)>& progress) {
    std::size_t all = 0;
    for (const auto& [id, branch] : log_.branches()) all += branch.head_seq - branch.base_seq;
    for (const auto& [id, branch] : log_.branches()) {
      check_line(branch);
      report_.events += branch.head_seq - branch.base_seq;
      if (progress) progress(report_.events, all);
      const DeviceId& name = log_.device_name(branch.device);
      if (branch.parent && std::find(report_.forked.begin(), report_.forked.end(), name) == report_.forked.end())
        report_.forked.push_back(name);
    }
  }

 private:
  void problem(const Branch& branch, std::uint32_t seq, const std::string& what) {
    report_.problems.push_back("event " + std::to_string(seq) + " of device " +
                               to_hex(log_.device_name(branch.device)) + ": " + what);
  }

  void check_line(const Branch& branch) {
    const DeviceId& device = log_.device_name(branch.device);
    Hash hash = branch.base_seq == 0 ? sha256({ByteSpan(collection_), ByteSpan(device)})
                                     : log_.hash_of(log_.row_on_line(branch.id, branch.base_seq));
    const auto key = log_.key_of(device);
    if (!key) return problem(branch, 1, "the device's key is missing");
    const Verifier verifier(*key);
    auto query = log_.database().prepare(
        "SELECT event.id, hash, event.bytes, signature.bytes FROM event LEFT JOIN signature ON signature.event = "
        "event.id "
        "WHERE event.id > ? AND event.id <= ? ORDER BY event.id");
    query.bind(make_row(branch.id, branch.base_seq), make_row(branch.id, branch.head_seq));
    std::uint32_t seq = branch.base_seq;
    while (query.step()) {
      if (seq_of(query.integer(0)) != ++seq) return problem(branch, seq, "it is missing");
      hash = sha256({ByteSpan(hash), as_bytes(query.text(2))});
      if (hash != query.bytes<32>(1)) return problem(branch, seq, "its bytes or those before it were changed");
      if (parse_event_bytes(query.text(2)).problem != Malformed::none) problem(branch, seq, "it is not well-formed");
      if (query.null(3)) continue;
      const std::string message = head_message(collection_, device, seq, hash);
      if (!verifier.verify(as_bytes(message), query.bytes<64>(3))) problem(branch, seq, "its signature is wrong");
    }
    if (seq != branch.head_seq || hash != branch.head_hash)
      problem(branch, branch.head_seq, "the line ends elsewhere than its head says");
  }

  LogStore& log_;
  const CollectionId& collection_;
  CheckReport& report_;
};

}  // namespace

Digest Book::digest() {
  refresh();
  Digest digest;
  std::vector<Head> ends;
  for (const auto& [id, branch] : log_->branches())
    ends.push_back({log_->device_name(branch.device), branch.head_seq, branch.head_hash});
  std::sort(ends.begin(), ends.end());
  std::string text;
  for (const Head& head : ends)
    text += to_hex(head.device) + ":" + std::to_string(head.seq) + ":" + to_hex(head.hash) + "\n";
  digest.log = sha256({as_bytes("rackside log 1"), ByteSpan(collection_), as_bytes(text)});
  digest.state = StateReader(*log_).digest();
  return digest;
}

CheckReport Book::check(const std::function<void(std::size_t, std::size_t)>& progress) {
  refresh();
  CheckReport report;
  if (const std::string damage = database_->integrity_problem(); !damage.empty())
    report.problems.push_back("the file is damaged: " + damage);
  ChainCheck(*log_, collection_, report).run(progress);
  {
    auto query = database_->prepare("SELECT count(*) FROM event WHERE mark & 1 = 0");
    if (query.step()) report.unread = static_cast<std::size_t>(query.integer(0));
  }
  report.digest = digest();
  Digest folded_again;
  // Folded afresh inside a transaction that is then taken back: the check changes nothing.
  struct Undo {};
  try {
    write([&] {
      fold_all(*log_);
      folded_again.state = StateReader(*log_).digest();
      throw Undo{};
    });
  } catch (const Undo&) {
  }
  if (folded_again.state != report.digest.state) {
    report.problems.push_back(
        "the folded state disagrees with the log: run `rackside check --rebuild`, and keep a copy of the book for us");
  }
  return report;
}

}  // namespace rackside::core
