// Stage 1: founding, admission, settings, codes.
#include <algorithm>

#include "core/crypto/key.h"
#include "core/crypto/sha256.h"
#include "tests/simulation/reference/fold.h"

namespace rackside::simulation::reference {

using namespace core;

namespace {

struct Statement {
  int depth = 0;  ///< of who says it
  Index event = 0;
};

bool admits(Kind kind) {
  return kind == Kind::admitted || kind == Kind::succeeded;
}

Role stated_role(const Event& event) {
  for (const Role role : {Role::viewer, Role::helper, Role::keeper}) {
    if (word_of(role) == event.own.text("role")) return role;
  }
  return event.own.text("role") == "root" ? Role::keeper : Role::none;  // there is one root only
}

Role held(const Standing& standing, std::uint32_t seq) {
  Role role = Role::none;
  for (const auto& [from, word] : standing.roles) {
    if (from <= seq) role = word;
  }
  return role;
}

}  // namespace

bool Fold::founds(Index i) const {
  const Node& node = log_[i];
  const auto key = array_from_hex<65>(node.event.own.text("key"));
  const auto salt = array_from_hex<16>(node.event.own.text("salt"));
  if (node.event.kind != Kind::founded || node.ref.seq != 1 || !key || !salt) return false;
  const Hash name = sha256({ByteSpan(*key), ByteSpan(*salt)});
  return device_id_of(*key) == node.ref.device &&
         std::equal(log_.collection().begin(), log_.collection().end(), name.begin());
}

/// A tree from the root downwards, a level at a time. Of what is said about a device only its ancestors' words count:
/// nearest to the root first, then the greatest reference.
void Fold::admit() {
  std::optional<DeviceId> root;
  for (Index i = 0; i < log_.size(); ++i) {
    if (founds(i)) root = log_[i].ref.device;
  }
  if (!root) return;
  standings_[*root] = {.role = Role::root, .read_until = {}, .roles = {{0, Role::root}}};
  std::map<DeviceId, std::set<DeviceId>> ancestors;
  std::map<DeviceId, std::vector<Statement>> said;
  std::set<DeviceId> level{*root};
  const auto may_say = [&](Index i) {
    const Standing& author = standings_.at(log_[i].ref.device);
    if (author.retired) {
      const auto head = author.read_until ? log_.find(*author.read_until) : std::nullopt;
      if (!head || !log_.on_line(i, *head)) return false;
    }
    const Role role = held(author, log_[i].ref.seq);
    return log_[i].event.kind == Kind::succeeded ? role != Role::none : role >= Role::keeper;
  };
  const auto outranks = [&](const Statement& a, const Statement& b) {
    return a.depth != b.depth ? a.depth < b.depth : log_[a.event].ref > log_[b.event].ref;
  };
  for (int depth = 0; !level.empty(); ++depth) {
    std::set<DeviceId> next;
    for (Index i = 0; i < log_.size(); ++i) {
      const Event& event = log_[i].event;
      if (!level.contains(log_[i].ref.device) || !(admits(event.kind) || event.kind == Kind::retired)) continue;
      const auto device = array_from_hex<8>(event.own.text("device"));
      if (!device || standings_.contains(*device) || !may_say(i)) continue;
      said[*device].push_back({depth, i});
      if (admits(event.kind)) next.insert(*device);
    }
    std::map<DeviceId, Standing> made;
    for (const DeviceId& device : next) {
      std::vector<Statement> statements = said.at(device);
      std::sort(statements.begin(), statements.end(), outranks);
      const auto first_admission = [&] {
        return *std::find_if(statements.begin(), statements.end(),
                             [&](const Statement& one) { return admits(log_[one.event].event.kind); });
      };
      const DeviceId parent = log_[first_admission().event].ref.device;
      ancestors[device] = ancestors[parent];
      ancestors[device].insert(parent);
      std::erase_if(statements,
                    [&](const Statement& one) { return !ancestors[device].contains(log_[one.event].ref.device); });
      Standing standing;
      const Event& strongest = log_[statements.front().event].event;
      if (strongest.kind == Kind::retired) {
        standing.retired = true;
        if (!strongest.re.empty()) standing.read_until = strongest.re.front().event;
      }
      const DeviceId speaker = log_[first_admission().event].ref.device;
      for (auto one = statements.rbegin(); one != statements.rend(); ++one) {
        const Event& event = log_[one->event].event;
        if (!admits(event.kind) || log_[one->event].ref.device != speaker) continue;
        const bool succeeded = event.kind == Kind::succeeded;
        standing.role = succeeded ? standings_.at(speaker).role : stated_role(event);
        standing.clock = succeeded ? standings_.at(speaker).clock : event.own.flag("clock");
        const std::int64_t from = std::clamp<std::int64_t>(event.own.number("from"), 0, UINT32_MAX);
        standing.roles.emplace_back(static_cast<std::uint32_t>(from), standing.role);
      }
      made[device] = standing;
    }
    standings_.insert(made.begin(), made.end());
    level = std::move(next);
  }
  for (const auto& [device, standing] : standings_) {
    std::string roles;
    for (const auto& [from, role] : standing.roles)
      roles += (roles.empty() ? "" : ",") + std::to_string(from) + ":" + std::to_string(static_cast<int>(role));
    const bool head_held = standing.read_until && log_.find(*standing.read_until);
    rows_.insert(standing_text(device, standing.role, standing.clock, standing.retired,
                               head_held ? standing.read_until : std::nullopt, roles));
  }
}

Role Fold::role_of(Index i) const {
  const auto found = standings_.find(log_[i].ref.device);
  if (found == standings_.end()) return Role::none;
  const Standing& standing = found->second;
  if (standing.retired) {
    const auto head = standing.read_until ? log_.find(*standing.read_until) : std::nullopt;
    if (!head || !log_.on_line(i, *head)) return Role::none;
  }
  return held(standing, log_[i].ref.seq);
}

/// Of the keepers' values for one key the greatest (valid-from, reference) holds.
void Fold::settings() {
  std::map<std::string, std::pair<std::int64_t, Index>> best;
  for (Index i = 0; i < log_.size(); ++i) {
    const Event& event = log_[i].event;
    if (event.kind != Kind::set || role_of(i) < Role::keeper || !event.own.find("value")) continue;
    const std::pair candidate(event.own.number("from"), i);  // indexes ascend by reference
    const auto [held_now, fresh] = best.emplace(std::string(event.own.text("key")), candidate);
    if (!fresh) held_now->second = std::max(held_now->second, candidate);
  }
  for (const auto& [key, winner] : best) {
    const Value& value = *log_[winner.second].event.own.find("value");
    rows_.insert(setting_text(key, write_compact(value)));
    if (key == "night_start" && value.as_int())
      night_start_ = static_cast<int>(std::clamp<std::int64_t>(*value.as_int(), 0, 1439));
    if (key != "zone" || !value.as_array()) continue;
    for (const Value& step : *value.as_array())
      zone_.steps.push_back(
          {step.number("from"), static_cast<int>(std::clamp<std::int64_t>(step.number("minutes"), -1440, 1440))});
    std::stable_sort(zone_.steps.begin(), zone_.steps.end(),
                     [](const auto& a, const auto& b) { return a.from < b.from; });
  }
}

void Fold::codes() {
  std::map<std::string, std::string> to;
  for (Index i = 0; i < log_.size(); ++i) {  // ascending by reference: the greatest is the last
    const Event& event = log_[i].event;
    const std::string code(event.own.text("code"));
    if (event.kind != Kind::coded || role_of(i) < Role::keeper || event.of.empty() || code.empty()) continue;
    if (code != event.of.front()) to[code] = event.of.front();
  }
  for (const auto& [code, first] : to) {
    std::vector<std::string> way{code};
    std::string end = first;
    while (to.contains(end) && std::find(way.begin(), way.end(), end) == way.end()) {
      way.push_back(end);
      end = to.at(end);
    }
    const auto ring = std::find(way.begin(), way.end(), end);
    if (ring != way.end()) end = *std::min_element(ring, way.end());
    if (end != code) joined_[code] = end;
  }
}

std::string Fold::thing(const std::string& code) const {
  const auto found = joined_.find(code);
  return found == joined_.end() ? code : found->second;
}

}  // namespace rackside::simulation::reference
