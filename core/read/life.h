#pragma once

#include <optional>
#include <string>
#include <vector>

#include "core/read/clutches.h"
#include "core/read/genes.h"
#include "core/read/reader.h"

// An animal's life as one picture needs it. All lists oldest first; days are local, nights are feeding nights.
namespace rackside::core {

struct LifeNight {
  DayNumber night = 0;
  std::string outcome;  ///< ate, refused, offered, offered-lapsed, check-tub
  std::int64_t amount = 0;
  std::string prey;
};

struct LifeStay {
  Named place;
  DayNumber since = 0;
  std::optional<DayNumber> until;
  std::optional<Named> partner;  ///< for a visit: who lives there; for a guest in its own tub: who came
};

/// One thing seen on a day that the picture marks.
struct LifeMark {
  DayNumber day = 0;
  Kind kind = Kind::unknown;
  std::string text;  ///< "shed, stuck: tail"
};

/// An entry that no longer stands, or that corrects one.
struct LifeCorrection {
  DayNumber day = 0;        ///< of what was corrected
  std::string what;         ///< "ate small-rat"
  std::string by;           ///< who withdrew or corrected it; empty: not said
  DayNumber corrected = 0;  ///< when
  std::string instead;      ///< what stands in its place; empty: withdrawn
  bool disputed = false;    ///< its withdrawal is a question
};

struct Life {
  Named animal;
  std::string name, sex, species, hatched, acquired, parents;
  GeneLines genes;
  std::vector<Named> young;                                 ///< of which it is said to be a parent
  std::vector<LifeStay> homes, visits;                      ///< visits of both sorts: there, and of others here
  std::vector<std::pair<DayNumber, std::int64_t>> weights;  ///< tenths of a gram
  std::vector<LifeNight> nights;
  std::vector<DayNumber> sheds;
  std::vector<LifeMark> marks;   ///< all else that is drawn: sheds, eggs, treatments, regurgitations …
  std::vector<Clutch> clutches;  ///< newest first, as everywhere
  std::vector<LifeCorrection> corrections;
  std::size_t entries = 0;
  std::optional<DayNumber> ended;  ///< the day it left or died
  std::string end;                 ///< "left", "died"
  DayNumber today = 0;

  DayNumber first_day() const;  ///< of anything that is drawn; today where nothing is
  DayNumber last_day() const { return ended.value_or(today); }
  std::vector<int> shed_intervals() const;  ///< days
  int meals() const;
  int refusals() const;
  /// Nights between meals: the median and the longest; 0 while there are not two.
  int usual_gap() const;
  int longest_gap() const;
};

Life life_of(Reader& reader, const Named& animal, Instant now);

/// The middle of some numbers (of an even count the lower of the two); 0 of none. Pure.
int median_of(std::vector<int> numbers);

}  // namespace rackside::core
