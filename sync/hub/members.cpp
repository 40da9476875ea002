#include "sync/hub/members.h"

#include <algorithm>
#include <map>

#include "core/read/reader.h"
#include "sync/hub/presence.h"

namespace rackside::sync::hub {

using core::Book;
using core::DeviceId;
using core::Draft;
using core::Error;
using core::EventRow;
using core::Fault;
using core::Kind;
using core::Role;
using core::Value;

namespace {

std::string lower(std::string text) {
  std::transform(text.begin(), text.end(), text.begin(), [](unsigned char c) { return std::tolower(c); });
  return text;
}

std::string sealed_name(Book& book, EventRow row) {
  const auto part = book.sealed_of(row);
  return part ? std::string(core::parse_strict(part->text).value.text("name")) : std::string();
}

/// The names under which devices were admitted, the newest of each.
std::map<DeviceId, std::string> admitted_names(Book& book) {
  std::vector<EventRow> rows;
  auto query = book.database().prepare("SELECT event FROM administration WHERE kind = ? ORDER BY event");
  query.bind(static_cast<int>(Kind::admitted));
  while (query.step()) rows.push_back(query.integer(0));
  std::map<DeviceId, std::string> out;
  for (const EventRow row : rows) {
    const auto device = core::array_from_hex<8>(book.log().event_of(row)->own.text("device"));
    const std::string name = sealed_name(book, row);
    if (device && !name.empty()) out[*device] = name;
  }
  return out;
}

void read_standing(Book& book, std::int64_t device_row, Member& member) {
  auto query = book.database().prepare("SELECT role, clock, retired FROM standing WHERE device = ?");
  if (!query.bind(device_row).step()) return;
  member.role = static_cast<Role>(query.integer(0));
  member.is_clock = query.integer(1) != 0;
  member.is_retired = query.integer(2) != 0;
}

void read_lines(Book& book, std::int64_t device_row, Member& member) {
  const auto branches = book.log().branches_of(device_row);
  member.lines = branches.size();
  for (const core::Branch* branch : branches) {
    member.events += branch->head_seq - branch->base_seq;
    auto query = book.database().prepare("SELECT at FROM event WHERE id = ?");
    if (!query.bind(core::make_row(branch->id, branch->head_seq)).step() || query.null(0)) continue;
    member.last_entry_ms = std::max(member.last_entry_ms.value_or(INT64_MIN), query.integer(0));
  }
}

void read_own_values(Book& book, Member& member) {
  const std::string device = core::to_hex(member.device);
  if (const auto check = book.own_value("clock:" + device)) {
    member.offset_ms = core::parse_strict(*check).value.number("offset");
  }
  if (const auto told = kept(book, device)) {
    member.seen_ms = told->seen_ms;
    member.unsent = told->unsent;
    member.oldest_ms = told->oldest_ms;
  }
}

Member member_of(Book& book, const DeviceId& device) {
  Member member{.device = device, .is_self = device == book.device()};
  if (const auto row = book.log().find_device(device)) {
    read_standing(book, *row, member);
    read_lines(book, *row, member);
  }
  read_own_values(book, member);
  return member;
}

std::optional<std::string> registered_helper(Book& book, const std::string& person) {
  core::Reader reader(book);
  for (const core::Named& helper : reader.all("helper")) {
    if (lower(helper.label) == lower(person) || helper.code == person) return helper.code;
  }
  return std::nullopt;
}

/// The newest number that is held of a device; 0 for none.
std::uint32_t newest_number(Book& book, const DeviceId& device) {
  std::uint32_t newest = 0;
  for (const core::Head& head : book.heads()) {
    if (head.device == device) newest = std::max(newest, head.seq);
  }
  return newest;
}

Draft admission(const DeviceId& device, join::Role role, std::uint32_t from, const std::string& device_name) {
  Draft draft{.kind = Kind::admitted};
  draft.own = Value::Object{{"device", core::to_hex(device)}, {"role", role_name(role)}, {"from", std::int64_t{from}}};
  if (!device_name.empty()) draft.text = write_compact(Value::Object{{"name", core::mend_text(device_name)}});
  return draft;
}

Draft registration(const std::string& code, const std::string& person) {
  Draft draft{.kind = Kind::helper, .of = {code}, .own = Value::Object{{"set", Value::Object{{"role", "helper"}}}}};
  draft.text = write_compact(Value::Object{{"name", core::mend_text(person)}});
  return draft;
}

}  // namespace

std::vector<DeviceId> with_predecessors(Book& book, const DeviceId& device) {
  std::vector<DeviceId> out{device};
  std::vector<std::pair<DeviceId, DeviceId>> successions;  // heir, predecessor
  auto query = book.database().prepare("SELECT event FROM administration WHERE kind = ?");
  query.bind(static_cast<int>(Kind::succeeded));
  while (query.step()) {
    const auto heir = core::array_from_hex<8>(book.log().event_of(query.integer(0))->own.text("device"));
    if (heir) successions.emplace_back(*heir, book.log().ref_of(query.integer(0)).device);
  }
  for (std::size_t i = 0; i < out.size(); ++i) {
    for (const auto& [heir, predecessor] : successions) {
      const bool known = std::find(out.begin(), out.end(), predecessor) != out.end();
      if (heir == out[i] && !known) out.push_back(predecessor);
    }
  }
  return out;
}

bool is_or_succeeded(Book& book, const DeviceId& device, const DeviceId& heir) {
  if (device == heir) return true;
  const auto line = with_predecessors(book, heir);
  return std::find(line.begin(), line.end(), device) != line.end();
}

std::vector<Member> members(Book& book) {
  book.refresh();
  std::vector<std::int64_t> rows;
  auto query = book.database().prepare("SELECT id FROM device ORDER BY id");
  while (query.step()) rows.push_back(query.integer(0));
  const auto names = admitted_names(book);
  std::vector<Member> out;
  for (const std::int64_t row : rows) {
    Member member = member_of(book, book.log().device_name(row));
    for (const DeviceId& device : with_predecessors(book, member.device)) {
      const auto name = names.find(device);
      if (!member.name.empty() || name == names.end()) continue;
      member.name = name->second + (device == member.device ? "" : " (went on anew)");
    }
    out.push_back(std::move(member));
  }
  return out;
}

Member find_member(Book& book, const std::string& text) {
  const std::string wanted = lower(text);
  std::vector<Member> found;
  for (Member& member : members(book)) {
    const bool by_id = wanted.size() >= 4 && core::to_hex(member.device).starts_with(wanted);
    if (by_id || (!member.name.empty() && lower(member.name) == wanted)) found.push_back(std::move(member));
  }
  if (found.size() == 1) return found.front();
  if (found.empty()) {
    throw Error(Fault::unknown_code,
                "No device is called “" + text + "”. `rackside devices` lists them; nothing was changed.");
  }
  throw Error(Fault::ambiguous, "Several devices are called “" + text +
                                    "”. Give the id that `rackside devices` shows; nothing was changed.");
}

void require_keeper(Book& book) {
  book.refresh();
  if (member_of(book, book.device()).role == Role::keeper) return;
  throw Error(Fault::not_allowed,
              "This book's device is no keeper's, so it cannot let others join. Invite at the hub that it joined.");
}

std::string admit(Book& book, const DeviceId& device, join::Role role, const std::string& device_name,
                  const std::string& person, const core::ClockReading& now) {
  require_keeper(book);
  const Member known = member_of(book, device);
  if (known.is_retired) {
    throw Error(Fault::not_allowed,
                "This device was retired. Let it join with a new book: what it wrote before stays.");
  }
  const Role wanted = core::role_of(role_name(role)).value_or(Role::none);
  std::vector<Draft> drafts;
  // Who was admitted before keeps the old role for what he wrote under it.
  const std::uint32_t from = known.role == Role::none ? 0 : newest_number(book, device) + 1;
  if (known.role != wanted) drafts.push_back(admission(device, role, from, device_name));
  std::string code;
  if (!person.empty()) {
    const auto registered = registered_helper(book, person);
    code = registered ? *registered : core::Code::generate(core::CodeKind::helper, core::fill_random).str();
    if (!registered) drafts.push_back(registration(code, person));
  }
  if (!drafts.empty()) book.record(std::move(drafts), now);
  return code;
}

void retire(Book& book, const Member& member, const core::ClockReading& now) {
  if (member.is_self) {
    throw Error(Fault::usage,
                "This is the device of this very book. Retire it from the hub, or from another keeper's book.");
  }
  if (member.role == Role::root) {
    throw Error(Fault::usage, "This is the root of the collection: it cannot be retired.");
  }
  Draft draft{.kind = Kind::retired, .own = Value::Object{{"device", core::to_hex(member.device)}}};
  std::optional<core::Head> newest;
  for (const core::Head& head : book.heads()) {
    if (head.device == member.device && (!newest || newest->seq < head.seq)) newest = head;
  }
  if (newest) draft.re.push_back({{newest->device, newest->seq, core::shorten(newest->hash)}, core::Relation::saw});
  book.record_one(std::move(draft), now);
}

void rename(Book& book, const Member& member, const std::string& name, const core::ClockReading& now) {
  require_keeper(book);
  const auto role = join::role_from_name(std::string(core::word_of(member.role)));
  if (!role) throw Error(Fault::usage, "Nobody admitted that device, so it has no name to change.");
  // A name travels with an admission: the same role again, from its next event on.
  book.record_one(admission(member.device, *role, newest_number(book, member.device) + 1, name), now);
}

}  // namespace rackside::sync::hub
