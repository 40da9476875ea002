#include "core/book/book.h"

#include <sys/stat.h>

#include <algorithm>
#include <filesystem>

#include "core/book/fold_all.h"
#include "core/book/page_cache.h"
#include "core/book/schema.h"
#include "core/crypto/sha256.h"

namespace rackside::core {
namespace {

constexpr int kLockWaitMs = 20'000;
constexpr std::uintmax_t kLargeLog = 16U << 20;
constexpr std::uintmax_t kWorthTidying = 256U << 10;
/// A device marks its clock before a sync when its last event no longer tells it.
constexpr std::int64_t kClockDrift = 10'000;

Value::Object object(std::initializer_list<Value::Member> members) {
  return Value::Object(members);
}

std::string number_bytes(std::uint64_t number) {
  std::string out(8, '\0');
  for (int i = 7; i >= 0; --i, number >>= 8) out[static_cast<std::size_t>(i)] = static_cast<char>(number & 0xff);
  return out;
}

std::string_view as_text(ByteSpan bytes) {
  return {reinterpret_cast<const char*>(bytes.data()), bytes.size()};
}

/// A book holds its device's secret key: nobody else may read it. SQLite gives its companion files the same rights.
void keep_private(const std::string& path) {
  if (path == ":memory:") return;
  std::error_code ignored;
  std::filesystem::permissions(path, std::filesystem::perms::owner_read | std::filesystem::perms::owner_write, ignored);
}

void refuse_existing(const std::string& path) {
  if (path != ":memory:" && std::filesystem::exists(path)) {
    throw Error(Fault::book_exists, "There is already a file at " + path +
                                        ". Choose another name with --book, or use the book that is there.");
  }
}

/// Tells "no book" from "no database" before SQLite would create or misread something.
void look_at_file(const std::string& path) {
  std::error_code error;
  if (!std::filesystem::exists(path, error)) {
    throw Error(Fault::no_book,
                "There is no book at " + path + ". Start one with `rackside init`, or name another with --book.");
  }
  if (!std::filesystem::is_regular_file(path, error))
    throw Error(Fault::not_a_book, path + " is not a file, so it is no book.");
}

}  // namespace

std::string head_message(const CollectionId& collection, const DeviceId& device, std::uint32_t seq, const Hash& hash) {
  std::string message = "rackside head 1";
  message.push_back('\0');
  message += as_text(collection);
  message += as_text(device);
  message += number_bytes(seq);
  message += as_text(hash);
  return message;
}

Book::Book(std::unique_ptr<Database> database) : database_(std::move(database)) {
  if (needs_migration(*database_)) {
    std::optional<BookLock> lock;
    if (!database_->in_memory()) lock.emplace(database_->path() + "-lock", kLockWaitMs);
    migrate(*database_);
  }
  log_ = std::make_unique<LogStore>(*database_);
}

void Book::write(const std::function<void()>& work) {
  if (writes_each_) {
    spoiled_ = true;
    work();
    log_->flush();
    log_->forget();
    spoiled_ = false;
    return;
  }
  std::optional<BookLock> lock;
  if (!database_->in_memory()) lock.emplace(database_->path() + "-lock", kLockWaitMs);
  database_->execute("BEGIN IMMEDIATE");
  try {
    refresh();
    work();
    log_->flush();
    database_->execute("COMMIT");
  } catch (...) {
    try {
      database_->execute("ROLLBACK");
    } catch (const Error&) {
      // SQLite rolled back by itself already.
    }
    forget_failed_work();
    throw;
  }
  log_->forget();
  checkpoint_if_large();
}

/// What was kept in memory of work that was taken back. On a disk that no longer answers this fails too: the error that
/// came first is the one to tell, and the next use reads all anew or fails by itself.
void Book::forget_failed_work() noexcept {
  try {
    log_->reload();
    if (const auto device = array_from_hex<8>(own_value("device").value_or(""))) device_ = *device;
  } catch (const std::exception&) {
    data_version_ = 0;
  }
}

std::vector<std::exception_ptr> Book::write_each(const std::vector<std::function<void()>>& works) {
  std::vector<std::exception_ptr> failures(works.size());
  if (works.size() > 1) {
    try {
      write([&] {
        writes_each_ = true;
        spoiled_ = false;
        try {
          for (const auto& work : works) work();
          if (spoiled_) throw Error(Fault::internal, "A work was left halfway.");
        } catch (...) {
          writes_each_ = false;
          throw;
        }
        writes_each_ = false;
      });
      return failures;
    } catch (...) {
      // All was taken back. Which of them it was shows when each has a transaction of its own.
    }
  }
  for (std::size_t i = 0; i < works.size(); ++i) {
    try {
      works[i]();
    } catch (...) {
      failures[i] = std::current_exception();
    }
  }
  return failures;
}

void Book::refresh() {
  auto query = database_->prepare("PRAGMA data_version");
  query.step();
  const int version = static_cast<int>(query.integer(0));
  if (version != data_version_) {
    log_->reload();
    // Another process may have succeeded this book's device.
    if (const auto device = array_from_hex<8>(own_value("device").value_or(""))) device_ = *device;
  }
  data_version_ = version;
}

std::uintmax_t Book::pending_bytes() const {
  if (database_->in_memory()) return 0;
  std::error_code error;
  const auto size = std::filesystem::file_size(database_->path() + "-wal", error);
  return error ? 0 : size;
}

void Book::checkpoint_if_large() {
  if (pending_bytes() > kLargeLog) database_->checkpoint();
}

void Book::tidy() {
  if (pending_bytes() == 0) return;
  try {
    const BookLock lock(database_->path() + "-lock", 0);
    database_->checkpoint();
  } catch (const Error&) {
    // Another writer is at work; what is in the write-ahead log is as safe there.
  }
}

Book::~Book() {
  // A single entry leaves the file alone: its one fsync is all that a scan should wait for.
  if (database_ && pending_bytes() > kWorthTidying) tidy();
}

Hash Book::chain_start(const DeviceId& device) const {
  return sha256({ByteSpan(collection_), ByteSpan(device)});
}

// ---- founding, joining, opening

Book Book::create(const std::string& path, const Founding& founding, const ClockReading& now) {
  refuse_existing(path);
  auto database = std::make_unique<Database>(path, Database::Mode::create);
  keep_private(path);
  Book book(std::move(database));
  const Hash id = sha256({ByteSpan(founding.root.public_key()), ByteSpan(founding.salt)});
  std::copy_n(id.begin(), book.collection_.size(), book.collection_.begin());
  const DeviceId root = device_id_of(founding.root.public_key());
  const DeviceId device = device_id_of(founding.device.public_key());
  book.device_ = device;
  book.write([&] {
    book.database_->prepare("INSERT INTO meta(key, value) VALUES('collection', ?)")
        .bind(to_hex(book.collection_))
        .run();
    book.set_own_value("ruleset", std::to_string(kRuleSet));
    book.set_own_value("secret", to_hex(founding.device.secret()));
    book.set_own_value("device", to_hex(device));
    book.set_own_value("by", founding.keeper_code.str());
    book.by_ = founding.keeper_code.str();
    const std::int64_t root_row = book.log_->device_row(root);
    book.log_->set_key(root_row, founding.root.public_key());
    const std::int64_t root_line = book.log_->new_branch(root_row, std::nullopt, 0, book.chain_start(root));
    Draft founded{.kind = Kind::founded};
    founded.own = object({{"key", to_hex(founding.root.public_key())}, {"salt", to_hex(founding.salt)}});
    book.append_own(root_line, founded, now);
    Draft admitted{.kind = Kind::admitted};
    admitted.own = object({{"device", to_hex(device)}, {"role", "keeper"}, {"clock", true}});
    const EventRow last = book.append_own(root_line, admitted, now);
    const Head head{root, seq_of(last), book.log_->hash_of(last)};
    book.log_->sign(last, founding.root.sign(as_bytes(head_message(book.collection_, root, head.seq, head.hash))));
    book.begin_log(founding.device, now);
    const std::int64_t line = book.own_branch();
    Value::Array steps;
    for (const Zone::Step& step : founding.zone.steps)
      steps.push_back(object({{"from", step.from}, {"minutes", step.minutes_east}}));
    book.append_own(line, {.kind = Kind::set, .own = object({{"key", "zone"}, {"value", std::move(steps)}})}, now);
    Draft keeper{.kind = Kind::helper,
                 .of = {founding.keeper_code.str()},
                 .own = object({{"set", object({{"role", "keeper"}})}})};
    if (!founding.keeper.empty()) keeper.text = write_compact(object({{"name", mend_text(founding.keeper)}}));
    book.append_own(line, keeper, now);
    book.last_fold_ = Refold(*book.log_).run();
  });
  return book;
}

Book Book::create_member(const std::string& path, const CollectionId& collection, const KeyPair& device,
                         const std::string& by, const ClockReading& now) {
  refuse_existing(path);
  auto database = std::make_unique<Database>(path, Database::Mode::create);
  keep_private(path);
  Book book(std::move(database));
  book.collection_ = collection;
  book.device_ = device_id_of(device.public_key());
  book.by_ = by;
  book.write([&] {
    book.database_->prepare("INSERT INTO meta(key, value) VALUES('collection', ?)").bind(to_hex(collection)).run();
    book.set_own_value("ruleset", std::to_string(kRuleSet));
    book.set_own_value("secret", to_hex(device.secret()));
    book.set_own_value("device", to_hex(book.device_));
    book.set_own_value("by", by);
    book.begin_log(device, now);
    book.last_fold_ = Refold(*book.log_).run();
  });
  return book;
}

/// The first event of a device carries its key.
void Book::begin_log(const KeyPair& device, const ClockReading& now) {
  const DeviceId id = device_id_of(device.public_key());
  const std::int64_t row = log_->device_row(id);
  log_->set_key(row, device.public_key());
  const std::int64_t line = log_->new_branch(row, std::nullopt, 0, chain_start(id));
  append_own(line, {.kind = Kind::clock_marked, .own = object({{"key", to_hex(device.public_key())}})}, now);
}

Book Book::open(const std::string& path, const Progress& folding) {
  look_at_file(path);
  Book book(std::make_unique<Database>(path, Database::Mode::open));
  book.load_identity();
  book.fold_by_rules_of_today(folding);
  return book;
}

/// Another program version, older or newer, may have folded it by other rules.
///
/// A large book is folded in several transactions, so that the write-ahead log stays small and no work is lost when it
/// is cut off. Until the last one the book names no finished rule set, but a mark: whoever opens it goes on from there,
/// also while another process does the same; a program that does not know the mark folds by its own rules from nothing.
void Book::fold_by_rules_of_today(const Progress& folding) {
  constexpr std::size_t kFoldedAtOnce = 65'536;
  std::optional<PageCache> cache;
  const std::string today = std::to_string(kRuleSet);
  const std::string unfinished = today + " unfinished: ";
  std::size_t share = 0;
  for (std::string held = own_value("ruleset").value_or(""); held != today;) {
    if (!cache) cache.emplace(*database_, kCacheOfWholeFold);
    if (folding) folding(share, FoldAll::kWhole);
    write([&] {
      held = own_value("ruleset").value_or("");
      if (held == today) return;
      std::optional<FoldMark> mark;
      if (held.starts_with(unfinished)) mark = parse_fold_mark(std::string_view(held).substr(unfinished.size()));
      FoldAll fold(*log_, mark);
      fold.go_on(kFoldedAtOnce);
      share = fold.share_done();
      held = fold.done() ? today : unfinished + to_text(fold.mark());
      set_own_value("ruleset", held);
    });
  }
}

void Book::fold_anew(const Progress& folding) {
  constexpr std::size_t kBetweenNews = 8192;
  const PageCache cache(*database_, kCacheOfWholeFold);
  write([&] {
    FoldAll fold(*log_);
    while (!fold.done()) {
      if (folding) folding(fold.share_done(), FoldAll::kWhole);
      fold.go_on(kBetweenNews);
    }
    set_own_value("ruleset", std::to_string(kRuleSet));
  });
}

void Book::load_identity() {
  auto query = database_->prepare("SELECT value FROM meta WHERE key = 'collection'");
  const auto collection = query.step() ? array_from_hex<16>(query.text(0)) : std::nullopt;
  const auto device = array_from_hex<8>(own_value("device").value_or(""));
  if (!collection || !device) {
    throw Error(
        Fault::not_a_book,
        "The file " + path() + " is an unfinished book: its founding was interrupted. Delete it and start again.");
  }
  collection_ = *collection;
  device_ = *device;
  by_ = own_value("by").value_or("");
}

std::optional<std::string> Book::own_value(const std::string& key) {
  auto query = database_->prepare("SELECT value FROM own WHERE key = ?");
  if (!query.bind(key).step()) return std::nullopt;
  return std::string(query.text(0));
}

void Book::set_own_value(const std::string& key, const std::string& value) {
  database_->prepare("INSERT OR REPLACE INTO own(key, value) VALUES(?, ?)").bind(key, value).run();
}

KeyPair Book::own_key() {
  const auto secret = array_from_hex<32>(own_value("secret").value_or(""));
  if (!secret)
    throw Error(Fault::corrupt, "The book at " + path() + " has lost its device key. Restore it from a backup.");
  return KeyPair::from_secret(*secret);
}

// ---- writing

std::int64_t Book::own_branch() {
  const auto branches = log_->branches_of(log_->device_row(device_));
  if (branches.empty())
    throw Error(Fault::corrupt, "The book at " + path() + " has no log of its own. Restore it from a backup.");
  return branches.front()->id;
}

EventRow Book::append_own(std::int64_t branch_id, const Draft& draft, const ClockReading& now) {
  const Branch& branch = log_->branch(branch_id);
  Event event{.kind = draft.kind,
              .kind_name = std::string(word_of(draft.kind)),
              .of = draft.of,
              .place = draft.place,
              .shown = draft.shown,
              .by = draft.by,
              .clock = now,
              .said = draft.said,
              .re = draft.re,
              .own = draft.own};
  if (event.by.empty() && info_of(draft.kind).kind_class != KindClass::administration) event.by = by_;
  std::optional<SealedPart> part;
  if (draft.text) {
    if (draft.text->size() > kMaxSealedBytes) {
      throw Error(Fault::too_large, "A note or name holds at most " + std::to_string(kMaxSealedBytes / 1024) +
                                        " KiB. Shorten it; nothing was recorded.");
    }
    part = SealedPart{random_array<16>(), *draft.text};
    event.seal = seal_digest(*part);
  }
  const std::string bytes = encode_event(event);
  // Decoded from its bytes, so that author and readers judge the very same thing.
  const EventRow row = log_->append(branch_id, bytes, sha256({ByteSpan(branch.head_hash), as_bytes(bytes)}),
                                    std::make_shared<const Event>(*decode_event(bytes).event));
  if (part) log_->keep_sealed(row, *part);
  return row;
}

void Book::sign_head(std::int64_t branch_id) {
  const Branch& branch = log_->branch(branch_id);
  const std::string message = head_message(collection_, device_, branch.head_seq, branch.head_hash);
  log_->sign(make_row(branch_id, branch.head_seq), own_key().sign(as_bytes(message)));
}

namespace {

/// Bytes of events and of the texts beside them in (after, to] of a branch.
std::size_t size_of(Database& database, EventRow after, EventRow to) {
  auto query = database.prepare(
      "SELECT (SELECT total(length(CAST(bytes AS BLOB))) FROM event WHERE id > ?1 AND id <= ?2) + "
      "(SELECT total(length(CAST(text AS BLOB))) FROM sealed WHERE event > ?1 AND event <= ?2)");
  return query.bind(after, to).step() ? static_cast<std::size_t>(query.integer(0)) : 0;
}

}  // namespace

std::vector<EventRef> Book::record(std::vector<Draft> drafts, const ClockReading& now) {
  std::vector<EventRef> refs;
  write([&] {
    const std::int64_t line = own_branch();
    const std::uint32_t head = log_->branch(line).head_seq;
    const std::uint32_t signed_to = std::max(log_->last_signed(line, head), log_->branch(line).base_seq);
    std::size_t unsigned_bytes = size_of(*database_, make_row(line, signed_to), make_row(line, head));
    for (const Draft& draft : drafts) {
      const EventRow row = append_own(line, draft, now);
      refs.push_back(log_->ref_of(row));
      unsigned_bytes += log_->bytes_of(row).size() + (draft.text ? draft.text->size() : 0);
      if (seq_of(row) % kSegmentEvents == 0 || unsigned_bytes >= kSegmentBytes / 2) {
        sign_head(line);
        unsigned_bytes = 0;
      }
    }
    last_fold_ = Refold(*log_).run();
  });
  return refs;
}

bool Book::has_double() {
  return own_value("double").value_or("") == "yes";
}

void Book::succeed(const ClockReading& now) {
  const KeyPair next = KeyPair::generate();
  write([&] {
    const DeviceId old = device_;
    const DeviceId heir = device_id_of(next.public_key());
    const std::int64_t line = own_branch();
    append_own(line, {.kind = Kind::succeeded, .own = object({{"device", to_hex(heir)}})}, now);
    sign_head(line);
    set_own_value("secret", to_hex(next.secret()));
    set_own_value("device", to_hex(heir));
    set_own_value("double", "no");
    if (!own_value("known_as")) set_own_value("known_as", to_hex(old));
    device_ = heir;
    begin_log(next, now);
    sign_head(own_branch());
    last_fold_ = Refold(*log_).run();
  });
}

DeviceId Book::known_as() {
  return array_from_hex<8>(own_value("known_as").value_or("")).value_or(device_);
}

void Book::prepare_sync(const ClockReading& now) {
  refresh();
  const Branch& before = log_->branch(own_branch());
  const auto last = log_->event_of(make_row(before.id, before.head_seq));
  const std::int64_t drift = (now.wall_ms - now.run_ms) - (last->clock.wall_ms - last->clock.run_ms);
  // A check speaks for 24 hours from the event it names: after a day without an own event, one of today must be named.
  const Zone zone = load_settings(*database_).zone;
  const bool of_today = zone.day_of(last->clock.wall_ms) == zone.day_of(now.wall_ms);
  const bool told = last->clock.run == now.run && std::abs(drift) <= kClockDrift && of_today;
  const bool is_signed = log_->signature_of(make_row(before.id, before.head_seq)).has_value();
  if ((told || is_clock()) && is_signed) return;
  write([&] {
    const std::int64_t line = own_branch();
    if (!told && !is_clock()) {
      append_own(line, {.kind = Kind::clock_marked}, now);
      last_fold_ = Refold(*log_).run();
    }
    sign_head(line);
  });
}

bool Book::is_clock() {
  auto query = database_->prepare(
      "SELECT standing.clock FROM standing JOIN device ON device.id = standing.device WHERE device.name = ?");
  return query.bind(device_).step() && query.integer(0) != 0;
}

bool Book::check_clock(const EventRef& named, std::int64_t offset_ms, const ClockReading& now) {
  if (named.device == device_ || !is_clock()) return false;
  const std::string key = "clock:" + to_hex(named.device);
  const DayNumber today = load_settings(*database_).zone.day_of(now.wall_ms);
  const Value last = parse_strict(own_value(key).value_or("null")).value;
  const bool same_day = last.number("day", -1) == today && last.number("run_seq") <= named.seq;
  if (same_day && std::abs(last.number("offset") - offset_ms) <= kClockDrift) return false;
  Draft draft{.kind = Kind::clock_checked, .re = {{named, Relation::saw}}, .own = object({{"offset", offset_ms}})};
  write([&] {
    const std::int64_t line = own_branch();
    append_own(line, draft, now);
    sign_head(line);
    set_own_value(
        key, write_compact(
                 object({{"day", std::int64_t{today}}, {"offset", offset_ms}, {"run_seq", std::int64_t{named.seq}}})));
    last_fold_ = Refold(*log_).run();
  });
  return true;
}

}  // namespace rackside::core
