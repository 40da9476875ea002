#pragma once

#include <functional>
#include <map>
#include <optional>
#include <set>
#include <string>
#include <string_view>
#include <unordered_map>
#include <vector>

#include "core/book/book.h"
#include "core/time/zone.h"

namespace rackside::core {

/// A thing of the register as people know it.
struct Named {
  Thing thing = 0;
  std::string code;  ///< the ten characters; a joined code is followed to the thing's own
  std::string kind;  ///< "animal", "place", "rack", "helper", "shortcut", …; empty when only scanned, never registered
  std::string label;  ///< the keeper's short ID, else a helper's name, else the code
};

/// Where an animal is, or who is at a place.
struct Lodging {
  Thing animal = 0;
  Thing place = 0;
  Stay::Role role = Stay::Role::home;
  Instant since = 0;
  std::optional<Instant> until;
  EventRef by;                   ///< the move that began it
  std::optional<Thing> partner;  ///< for a visit: who lives there
};

/// What one feeding night of an animal came to.
struct NightOutcome {
  Night night;
  std::string outcome;      ///< ate, refused, offered, offered-lapsed, check-tub
  std::int64_t amount = 0;  ///< servings the plan counts
  std::string caution;      ///< "", fed-twice, perhaps-fed-twice
  bool asks = false;
  bool offer_open = false;
  Instant last_at = 0;             ///< of its newest account
  std::vector<EventRef> accounts;  ///< ascending by time
  std::string prey;                ///< of its newest meal or offer
};

/// One line of an animal's, place's or helper's story, newest first.
struct StoryLine {
  EventRef ref;
  Kind kind = Kind::unknown;
  std::string kind_name;
  Instant at = 0;
  bool sure = false;
  bool said = false;
  bool gone = false;      ///< withdrawn
  bool disputed = false;  ///< its withdrawal is a question
  bool read = true;       ///< false: its device is not admitted, or was retired before
  std::string by;         ///< label of the helper
  std::string device;     ///< hex of the device
  std::shared_ptr<const Event> event;
  std::string note;  ///< sealed free text, where it is here and not erased
};

/// Two accounts that cannot both be true, or a settled one.
struct Question {
  std::string id;  ///< short and the same in every book: 8 hex digits
  RuleId rule = RuleId::feeding;
  Thing subject = 0;  ///< animal or place; 0 for withdrawals
  Instant at = 0;
  std::string outcome;  ///< the belief held meanwhile
  std::int64_t amount = 0;
  std::vector<std::string> answers;
  std::vector<EventRef> members;
  Value detail;
};

/// Reads what people ask of a book. Sees one state: call within one thread, and again after a merge.
class Reader {
 public:
  explicit Reader(Book& book);

  const FoldSettings& settings() const { return settings_; }
  /// A further setting as compact JSON; empty when not set.
  std::string setting(const std::string& key);

  std::optional<Thing> thing_of(std::string_view code);
  Named named(Thing thing);
  std::string label(Thing thing) { return named(thing).label; }
  /// Things of a kind, by label in natural order (B-2 before B-10).
  std::vector<Named> all(std::string_view kind);
  /// Things whose short ID is that text, any case.
  std::vector<Named> with_short_id(std::string_view text);
  /// A field's believed value: a string's text, a number in digits; empty when unknown.
  std::string field(Thing thing, const std::string& name);
  std::map<std::string, std::string> fields(Thing thing);
  /// A field of everything that has it.
  std::unordered_map<Thing, std::string> field_of_all(std::string_view name);
  /// The same, without keeping them: `take` gets the thing and its value.
  void each_field(std::string_view name, const std::function<void(Thing, const std::string&)>& take);
  /// Values that other people entered unawares and that are not believed.
  std::vector<std::string> other_values(Thing thing, const std::string& name);
  /// The event that gave a field's value: a form that showed it names it in `re`.
  std::optional<EventRef> field_source(Thing thing, const std::string& name);

  /// Where the animal is: a visit before its home. Empty when nowhere.
  std::vector<Lodging> lodgings_of(Thing animal, Instant at);
  /// Who is found at a place: visitors included, those visiting elsewhere left out.
  std::vector<Lodging> found_at(Thing place, Instant at);
  /// Whose home a place is, here or on a visit.
  std::vector<Lodging> homes_at(Thing place, Instant at);

  /// Feeding nights with an account, newest first, at most `limit`.
  std::vector<NightOutcome> nights(Thing animal, int limit);
  std::optional<NightOutcome> night(Thing animal, DayNumber number);
  /// When, since `since`, it was last treated in two accounts that may be of one dose.
  std::optional<Instant> dose_in_doubt(Thing animal, Instant since);
  /// The newest live account of one of the kinds, if any.
  std::optional<StoryLine> latest(Thing thing, std::initializer_list<Kind> kinds);
  /// Neither left nor died. Sold still eats here until it has left.
  bool lives_here(Thing animal);
  /// The whole story, newest first; withdrawn entries too when `limit` allows.
  std::vector<StoryLine> story(Thing thing, int limit);
  StoryLine line(const EventRef& ref);
  StoryLine line(EventRow row);
  /// This device's newest events of the kinds that a person can take back, newest first.
  std::vector<StoryLine> own_latest(int limit);

  /// Those that are open, or also those that people have settled.
  std::vector<Question> questions(bool open_only = true, std::optional<RuleId> rule = {});
  std::optional<Question> question(std::string_view id);

  /// The rack of a place and the place's position in the walk: fields "rack" (code) and "position".
  std::optional<Thing> rack_of(Thing place);
  /// Places of a rack in walking order.
  std::vector<Thing> places_of(Thing rack);
  /// Racks in the order of the walk (field "walk"), quarantine ones last.
  std::vector<Named> racks();

  Book& book() { return book_; }

 private:
  void learn_names(std::string_view kind);
  StoryLine line_of(EventRow row);
  NightOutcome outcome_of(Thing animal, const Night& night);

  Book& book_;
  Database& database_;
  FoldSettings settings_;
  std::map<Thing, Named> named_;
};

/// Compares labels as people do: digits by their value. -1, 0 or 1.
int compare_naturally(std::string_view a, std::string_view b);

}  // namespace rackside::core
