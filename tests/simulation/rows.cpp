#include "tests/simulation/rows.h"

#include <algorithm>
#include <sstream>

namespace rackside::simulation {

using namespace core;

namespace {

std::string joined(std::vector<std::string> words) {
  std::sort(words.begin(), words.end());
  std::string out;
  for (const std::string& word : words) out += (out.empty() ? "" : ",") + word;
  return "[" + out + "]";
}

std::string names(const std::vector<EventRef>& refs) {
  std::vector<std::string> out;
  for (const EventRef& ref : refs) out.push_back(short_name(ref));
  return joined(std::move(out));
}

template <typename... Parts>
std::string line(const Parts&... parts) {
  std::ostringstream out;
  ((out << parts << ' '), ...);
  return out.str();
}

/// Reads the folded tables. Row numbers become names.
class Reading {
 public:
  explicit Reading(Book& book) : log_(book.log()), database_(book.database()) {
    auto query = database_.prepare("SELECT id, text FROM code");
    while (query.step()) codes_[query.integer(0)] = std::string(query.text(1));
  }

  Rows run() {
    events();
    accounts();
    scans();
    stays();
    matters();
    fields();
    settings();
    return std::move(rows_);
  }

 private:
  void add(std::string row) { rows_.insert(std::move(row)); }
  EventRef ref(EventRow row) { return log_.ref_of(row); }
  std::vector<EventRef> refs(std::string_view numbers) {
    std::vector<EventRef> out;
    std::istringstream in{std::string(numbers)};
    for (EventRow row = 0; in >> row;) out.push_back(ref(row));
    return out;
  }

  void events() {
    auto query = database_.prepare("SELECT id, at, mark FROM event");
    while (query.step()) {
      const std::int64_t mark = query.integer(2);
      add(text(EventRowText{.event = ref(query.integer(0)),
                            .at = query.integer(1),
                            .kind = static_cast<Kind>(mark >> kMarkKindShift),
                            .read = (mark & kRead) != 0,
                            .sure = (mark & kSure) != 0,
                            .said = (mark & kSaid) != 0,
                            .gone = (mark & kGone) != 0,
                            .disputed = (mark & kDisputed) != 0}));
    }
  }
  void accounts() {
    auto query = database_.prepare("SELECT subject, at, event FROM account");
    while (query.step()) add(account_text(codes_.at(query.integer(0)), query.integer(1), ref(query.integer(2))));
  }
  void scans() {
    auto query = database_.prepare("SELECT place, at, event, how, bound FROM scan");
    while (query.step()) {
      std::set<std::string> bound;
      std::istringstream in{std::string(query.text(4))};
      for (Thing thing = 0; in >> thing;) bound.insert(codes_.at(thing));
      add(scan_text(codes_.at(query.integer(0)), query.integer(1), ref(query.integer(2)),
                    static_cast<int>(query.integer(3)), bound));
    }
  }
  void stays() {
    auto query = database_.prepare("SELECT animal, since, by, until, place, role, partner, ended_by FROM stay");
    while (query.step()) {
      StayRowText stay{.animal = codes_.at(query.integer(0)), .place = codes_.at(query.integer(4))};
      stay.since = query.integer(1);
      if (!query.null(3)) stay.until = query.integer(3);
      stay.visit = query.integer(5) == 1;
      if (!query.null(6)) stay.partner = codes_.at(query.integer(6));
      stay.by = ref(query.integer(2));
      if (query.integer(7) != 0) stay.ended_by = ref(query.integer(7));
      add(text(stay));
    }
  }
  void matters() {
    auto query = database_.prepare(
        "SELECT rule, subject, at, lead, outcome, amount, asks, answers, members, detail FROM matter");
    while (query.step()) {
      MatterRowText matter{.rule = static_cast<RuleId>(query.integer(0)), .at = query.integer(2)};
      if (query.integer(1) != 0) matter.subject = codes_.at(query.integer(1));
      matter.lead = ref(query.integer(3));
      matter.outcome = std::string(query.text(4));
      matter.amount = query.integer(5);
      matter.asks = query.integer(6) != 0;
      std::istringstream answers{std::string(query.text(7))};
      for (std::string answer; std::getline(answers, answer);) matter.answers.push_back(answer);
      matter.members = refs(query.text(8));
      const Value detail = parse_strict(query.text(9)).value;
      if (const Value::Object* facts = detail.as_object()) {
        for (const auto& [name, value] : *facts) matter.detail[name] = write_compact(value);
      }
      add(text(matter));
    }
  }
  void fields() {
    auto query = database_.prepare("SELECT subject, name, value, event, others FROM field");
    while (query.step()) {
      add(field_text(codes_.at(query.integer(0)), std::string(query.text(1)), std::string(query.text(2)),
                     ref(query.integer(3)), refs(query.text(4))));
    }
  }
  void settings() {
    auto query = database_.prepare("SELECT key, value FROM setting");
    while (query.step()) add(setting_text(std::string(query.text(0)), std::string(query.text(1))));
    auto standing = database_.prepare(
        "SELECT device.name, role, clock, retired, read_until, text FROM standing JOIN device ON device.id = "
        "standing.device");
    while (standing.step()) {
      std::optional<EventRef> until;
      if (!standing.null(4)) until = ref(standing.integer(4));
      add(standing_text(standing.bytes<8>(0), static_cast<Role>(standing.integer(1)), standing.integer(2) != 0,
                        standing.integer(3) != 0, until, std::string(standing.text(5))));
    }
  }

  LogStore& log_;
  Database& database_;
  std::map<Thing, std::string> codes_;
  Rows rows_;
};

}  // namespace

std::string short_name(const EventRef& ref) {
  return to_hex(ref.device).substr(0, 4) + ":" + std::to_string(ref.seq) + ":" + to_hex(ref.hash).substr(0, 8);
}

std::string text(const EventRowText& row) {
  return line("event", short_name(row.event), word_of(row.kind), "at", row.at, row.read ? "read" : "unread",
              row.sure ? "sure" : "unsure", row.said ? "said" : "", row.gone ? "gone" : "",
              row.disputed ? "disputed" : "");
}
std::string text(const StayRowText& row) {
  return line("stay", row.animal, row.visit ? "visits" : "lives", row.place, "from", row.since, "to",
              row.until ? std::to_string(*row.until) : "-", "by", short_name(row.by), "ended by",
              row.ended_by ? short_name(*row.ended_by) : "-", "with", row.partner.empty() ? "-" : row.partner);
}

std::string text(const MatterRowText& row) {
  // What stands in `at` of these two is a number of the book alone.
  const bool no_time = row.rule == RuleId::withdrawal || row.rule == RuleId::field;
  std::string detail;
  for (const auto& [name, value] : row.detail) detail += name + "=" + value + ";";
  std::vector<std::string> answers = row.answers;
  return line("matter", rule_of(row.rule).name, row.subject.empty() ? "-" : row.subject, "at", no_time ? 0 : row.at,
              "lead", short_name(row.lead), row.asks ? "asks" : "tells", row.outcome, row.amount, "answers",
              joined(std::move(answers)), "members", names(row.members), detail);
}

std::string account_text(const std::string& subject, Instant at, const EventRef& event) {
  return line("account", subject, "at", at, short_name(event));
}
std::string scan_text(const std::string& place, Instant at, const EventRef& event, int how,
                      const std::set<std::string>& bound) {
  return line("scan", place, "at", at, short_name(event), "how", how, "bound",
              joined(std::vector<std::string>(bound.begin(), bound.end())));
}
std::string field_text(const std::string& subject, const std::string& name, const std::string& value,
                       const EventRef& event, const std::vector<EventRef>& others) {
  return line("field", subject, name, value, "by", short_name(event), "others", names(others));
}
std::string setting_text(const std::string& key, const std::string& value) {
  return line("setting", key, value);
}
std::string standing_text(const DeviceId& device, Role role, bool clock, bool retired,
                          const std::optional<EventRef>& read_until, const std::string& roles) {
  return line("standing", to_hex(device).substr(0, 4), word_of(role), clock ? "clock" : "", retired ? "retired" : "",
              "until", read_until ? short_name(*read_until) : "-", "roles", roles);
}

Rows rows_of(Book& book) {
  book.refresh();
  return Reading(book).run();
}

std::vector<std::string> differences(const Rows& book, const Rows& reference, std::size_t most) {
  std::vector<std::string> out;
  const auto note = [&](const Rows& one, const Rows& other, const std::string& whose) {
    for (const std::string& row : one) {
      if (!other.contains(row) && out.size() < most) out.push_back("only " + whose + ": " + row);
    }
  };
  note(book, reference, "the book");
  most += out.size();
  note(reference, book, "the reference");
  return out;
}

}  // namespace rackside::simulation
