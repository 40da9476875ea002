#include "core/fold/admission.h"

#include <algorithm>
#include <array>
#include <set>

namespace rackside::core {
namespace {

constexpr std::array<std::pair<Role, std::string_view>, 5> kWords = {{
    {Role::none, "none"},
    {Role::viewer, "viewer"},
    {Role::helper, "helper"},
    {Role::keeper, "keeper"},
    {Role::root, "root"},
}};

struct Change {
  int depth = 0;  ///< of its author
  const AdmissionEvent* event = nullptr;
};
using Changes = std::vector<Change>;
using Devices = std::set<DeviceId>;

/// Nearest to the root first, then the greatest reference.
bool outranks(const Change& a, const Change& b) {
  return a.depth != b.depth ? a.depth < b.depth : a.event->ref > b.event->ref;
}

const Change* admitting_change(const Changes& changes) {
  const Change* best = nullptr;
  for (const Change& change : changes) {
    if (change.event->kind == Kind::retired) continue;
    if (!best || outranks(change, *best)) best = &change;
  }
  return best;
}

class Reader {
 public:
  Reader(const DeviceId& root, const std::vector<AdmissionEvent>& events, const OnLine& on_line) : on_line_(on_line) {
    for (const AdmissionEvent& event : events) said_by_[event.ref.device].push_back(&event);
    read_[root] = {.role = Role::root, .roles = {{0, Role::root}}};
  }

  Admission read_from(const DeviceId& root) {
    Devices level{root};
    for (int depth = 0; !level.empty(); ++depth) {
      Devices next;
      for (const DeviceId& author : level) collect(author, depth, next);
      for (const DeviceId& device : next) admit(device, depth + 1);
      level = std::move(next);
    }
    return std::move(read_);
  }

 private:
  /// Takes what an author says of others, as far as the author is read and may say it.
  void collect(const DeviceId& author, int depth, Devices& next) {
    for (const AdmissionEvent* event : said_by_[author]) {
      if (read_.contains(event->device) || !may_say(read_.at(author), *event)) continue;
      changes_[event->device].push_back({depth, event});
      if (event->kind != Kind::retired) next.insert(event->device);
    }
  }

  bool may_say(const Standing& author, const AdmissionEvent& event) const {
    if (author.retired && !(author.read_until && on_line_(event.ref, *author.read_until))) return false;
    const Role role = author.role_at(event.ref.seq);
    if (event.kind == Kind::succeeded) return role != Role::none;
    return role == Role::root || role == Role::keeper;
  }

  void admit(const DeviceId& device, int depth) {
    const Change parent = *admitting_change(changes_.at(device));
    const DeviceId author = parent.event->ref.device;
    Devices above = ancestors_[author];
    above.insert(author);
    Standing standing = judge(changes_.at(device), above);
    standing.depth = depth;
    standing.admitted_by = author;
    ancestors_[device] = std::move(above);
    read_[device] = std::move(standing);
  }

  /// Only its ancestors' words count: the others' are shown and judge nothing.
  Standing judge(Changes changes, const Devices& above) const {
    std::erase_if(changes, [&](const Change& change) { return !above.contains(change.event->ref.device); });
    std::sort(changes.begin(), changes.end(), outranks);
    const Change& winner = changes.front();
    Standing standing;
    if (winner.event->kind == Kind::retired) {
      standing.retired = true;
      standing.read_until = winner.event->head;
    }
    const DeviceId speaker = admitting_change(changes)->event->ref.device;
    for (auto change = changes.rbegin(); change != changes.rend(); ++change) {
      if (change->event->kind != Kind::retired && change->event->ref.device == speaker)
        add_role(standing, *change->event);
    }
    return standing;
  }

  /// In ascending order of the speaker's events: the newest is the standing's own.
  void add_role(Standing& standing, const AdmissionEvent& event) const {
    const bool succeeded = event.kind == Kind::succeeded;
    const Standing& author = read_.at(event.ref.device);
    standing.role = succeeded ? author.role : event.role;
    standing.clock = succeeded ? author.clock : event.clock;
    standing.roles.emplace_back(event.from, standing.role);
  }

  std::map<DeviceId, std::vector<const AdmissionEvent*>> said_by_;
  const OnLine& on_line_;
  Admission read_;
  std::map<DeviceId, Changes> changes_;
  std::map<DeviceId, Devices> ancestors_;
};

}  // namespace

std::string_view word_of(Role role) {
  return kWords.at(static_cast<std::size_t>(role)).second;
}

std::optional<Role> role_of(std::string_view word) {
  for (const auto& [role, name] : kWords) {
    if (name == word) return role;
  }
  return std::nullopt;
}

Admission read_admissions(const DeviceId& root, const std::vector<AdmissionEvent>& events, const OnLine& on_line) {
  return Reader(root, events, on_line).read_from(root);
}

Role Standing::role_at(std::uint32_t seq) const {
  Role held_then = Role::none;
  for (const auto& [from, held] : roles) {
    if (from <= seq) held_then = held;
  }
  return held_then;
}

}  // namespace rackside::core
