#include "core/entry/compose.h"

#include <algorithm>

#include "core/entry/warnings.h"

namespace rackside::core {
namespace {

constexpr Instant kSameEggs = 48 * kHour;
constexpr DayNumber kSameShed = 7;

bool is_meal(Kind kind) {
  return kind == Kind::fed || kind == Kind::ate;
}

bool is_feeding(Kind kind) {
  return is_meal(kind) || kind == Kind::refused || kind == Kind::offered || kind == Kind::leftover;
}

/// True of the tub, whoever is in it.
bool is_of_tub(Kind kind) {
  return kind == Kind::cleaned || kind == Kind::watered;
}

bool names_animals_itself(Kind kind) {
  return info_of(kind).rebinding == Rebinding::never || kind == Kind::locked;
}

/// Whether an earlier account belongs to the matter that an entry speaks of now.
bool in_matter(const Scene& scene, Kind entry, const Seen& seen) {
  switch (entry) {
    case Kind::fed:
    case Kind::ate:
    case Kind::refused:
    case Kind::offered:
    case Kind::leftover:
      return is_feeding(seen.kind) && seen.at >= scene.night.start && seen.at < scene.night.end;
    case Kind::laid:
      return seen.kind == Kind::laid && std::abs(scene.at - seen.at) < kSameEggs;
    case Kind::shed:
    case Kind::cleared:
      return (seen.kind == Kind::shed || seen.kind == Kind::cleared) && std::abs(scene.at - seen.at) < kSameShed * kDay;
    case Kind::treated:
      return seen.kind == Kind::treated && std::abs(scene.at - seen.at) < kDay;
    default:
      return false;
  }
}

std::string relation_text(Kind kind, Relation relation) {
  const bool eggs = kind == Kind::laid;
  switch (relation) {
    case Relation::again:
      return eggs ? "more eggs since" : "a second serving";
    case Relation::same:
      return eggs ? "the same eggs, counted alike" : "the same meal, told twice";
    case Relation::replaces:
      return eggs ? "a recount: the earlier one was wrong" : "a correction: the earlier entry was wrong";
    default:
      return "seen";
  }
}

std::string account_phrase(Kind kind) {
  switch (kind) {
    case Kind::laid:
      return "eggs were counted within 48 hours already";
    default:
      return "it was fed this night already";
  }
}

class Composer {
 public:
  Composer(const Scene& scene, const Entry& entry, const Choices& choices, const Scene* target)
      : scene_(scene), entry_(entry), target_(target), relation_(choices.relation ? choices.relation : entry.relation) {
    choose(choices);
  }

  Composition compose() {
    out_.draft.kind = entry_.kind;
    out_.draft.own = entry_.own;
    if (!entry_.note.empty()) out_.draft.text = write_compact(Value::Object{{"note", mend_text(entry_.note)}});
    switch (entry_.kind) {
      case Kind::paired:
        pair();
        break;
      case Kind::moved:
        move();
        break;
      case Kind::separated:
        separate();
        break;
      default:
        tell();
    }
    warn_of(scene_, entry_, told_, out_.warnings, out_.notices);
    return std::move(out_);
  }

 private:
  /// Whom the entry tells of: all that are found, or the picked one.
  void choose(const Choices& choices) {
    for (const Resident& one : scene_.found) {
      if (!choices.animal || one.code == *choices.animal || one.animal.code == *choices.animal) told_.push_back(&one);
    }
    picked_ = choices.animal && told_.size() == 1;
  }

  void answer(const EventRef& ref, Relation relation) {
    auto& re = out_.draft.re;
    const auto known = std::find_if(re.begin(), re.end(), [&](const Answer& one) { return one.event == ref; });
    if (known == re.end()) {
      re.push_back({ref, relation});
    } else if (relation != Relation::saw) {
      known->relation = relation;
    }
  }

  void name_subject(const Resident& one) {
    out_.draft.of.push_back(one.code);
    out_.about.push_back(one.animal);
  }

  // ---- what is seen

  void tell() {
    if (entry_.kind == Kind::locked && !picked_ && told_.size() <= 2) return tell_of_lock();
    if (names_animals_itself(entry_.kind)) return tell_of_one();
    if (told_.size() > 1 && !is_of_tub(entry_.kind)) ask_which(Needed::no);
    if (scene_.is_place) show_place();
    for (const Resident* one : told_) {
      if (scene_.is_place && !picked_) {
        out_.about.push_back(one->animal);
      } else {
        name_subject(*one);
      }
      answer_accounts(*one);
    }
  }

  void show_place() {
    out_.draft.place = scene_.code;
    for (const Resident& one : scene_.found) out_.draft.shown.push_back(one.code);
    for (const EventRef& move : scene_.moves) answer(move, Relation::saw);
  }

  /// A death, a sale: never of a place.
  void tell_of_one() {
    const Resident& one = one_of_scene();
    name_subject(one);
    answer_lodgings(one);
  }

  /// A lock is of both.
  void tell_of_lock() {
    if (scene_.is_place) show_place();
    for (const Resident* one : told_) {
      name_subject(*one);
      if (const Lodging* visit = one->visit()) answer(visit->by, Relation::saw);
    }
    if (told_.size() != 1 || !told_.front()->company) return;
    const Company& company = *told_.front()->company;
    out_.draft.of.push_back(company.animal.code);
    out_.about.push_back(company.animal);
    answer(company.by, Relation::saw);
  }

  enum class Needed : std::uint8_t { no, yes };

  void ask_which(Needed needed) {
    out_.ask.about = Ask::About::animal;
    out_.ask.needed = needed == Needed::yes;
    out_.ask.text = "Two animals are here. Which one?";
    if (told_.size() > 2) out_.ask.text = std::to_string(told_.size()) + " animals are here. Which one?";
    for (const Resident* one : told_) {
      const std::string sex = one->sex == "male" ? " ♂" : one->sex == "female" ? " ♀" : "";
      out_.ask.options.push_back({one->code, Relation::saw, one->animal.label, one->animal.label + sex});
    }
  }

  void answer_accounts(const Resident& one) {
    const Seen* earlier = nullptr;
    for (const Seen& seen : one.recent) {
      if (!in_matter(scene_, entry_.kind, seen)) continue;
      answer(seen.ref, Relation::saw);
      if (!earlier && is_same_matter(entry_.kind, seen.kind)) earlier = &seen;
    }
    answer_offers(one);
    relate(one, earlier);
  }

  /// An outcome answers the offers that wait; a leftover or "ate" takes the accounts of the offer's night with it.
  void answer_offers(const Resident& one) {
    if (!is_feeding(entry_.kind)) return;
    for (const Seen& offer : one.open_offers) answer(offer.ref, Relation::saw);
    const bool speaks_of_offer = entry_.kind == Kind::leftover || entry_.kind == Kind::ate;
    if (!speaks_of_offer || one.open_offers.empty() || !one.last_night) return;
    for (const EventRef& ref : one.last_night->accounts) answer(ref, Relation::saw);
  }

  /// `same` and `again` answer the newest account alike, `replaces` the newest of the matter where none is alike.
  void relate(const Resident& one, const Seen* earlier) {
    if (!earlier && relation_ == Relation::replaces) {
      const auto any = std::find_if(one.recent.begin(), one.recent.end(),
                                    [&](const Seen& seen) { return in_matter(scene_, entry_.kind, seen); });
      if (any != one.recent.end()) earlier = &*any;
    }
    if (!earlier) {
      if (relation_ && *relation_ != Relation::saw)
        out_.notices.push_back("nothing earlier to answer with “" + std::string(word_of(*relation_)) +
                               "”: saved as a plain entry");
      return;
    }
    if (relation_) return answer(earlier->ref, *relation_);
    if (out_.ask.about != Ask::About::nothing) return;
    out_.ask.about = Ask::About::relation;
    out_.ask.text = one.animal.label + ": " + account_phrase(entry_.kind) + ". What is this entry?";
    for (const Relation relation : {Relation::again, Relation::same, Relation::replaces}) {
      out_.ask.options.push_back({"", relation, std::string(word_of(relation)), relation_text(entry_.kind, relation)});
    }
  }

  // ---- moves

  void answer_lodgings(const Resident& one) {
    for (const Lodging& lodging : one.lodgings) answer(lodging.by, Relation::saw);
  }

  /// Of several, the first stands until the person has picked one.
  const Resident& one_of_scene() {
    if (told_.empty()) {
      throw Error(Fault::usage, "By the book nobody is at " + scene_.scanned.label + ", and “" +
                                    std::string(word_of(entry_.kind)) +
                                    "” is of an animal, not of a place: scan its card");
    }
    if (told_.size() > 1) ask_which(Needed::yes);
    told_.resize(1);
    return *told_.front();
  }

  void move() {
    if (!target_ || !target_->is_place)
      throw Error(Fault::usage,
                  "“" + entry_.target + "” is no place: `moved` wants the place where the animal lives from now on.");
    const Resident& one = one_of_scene();
    name_subject(one);
    out_.draft.place = target_->code;
    answer_lodgings(one);
    for (const auto* there : {&target_->found, &target_->reserved}) {
      for (const Resident& other : *there) {
        if (const Lodging* home = other.home()) answer(home->by, Relation::saw);
      }
    }
  }

  /// The visitor is whom the separation is of, whichever of the two was scanned.
  void separate() {
    std::vector<const Resident*> visitors;
    for (const auto* group : {&scene_.found, &scene_.reserved}) {
      for (const Resident& one : *group) {
        if (one.visit()) visitors.push_back(&one);
      }
    }
    if (visitors.size() > 1 && !picked_) {
      told_ = visitors;
      ask_which(Needed::yes);
    }
    if (!visitors.empty() && !picked_) told_ = {visitors.front()};
    const Resident& one = one_of_scene();
    if (!one.visit() && one.company && one.company->is_visitor) {
      out_.draft.of.push_back(one.company->animal.code);
      out_.about.push_back(one.company->animal);
      return answer(one.company->by, Relation::saw);
    }
    name_subject(one);
    answer_lodgings(one);
    if (!one.visit()) out_.warnings.push_back("by the book " + one.animal.label + " is with nobody: saved as you said");
  }

  void pair() {
    if (!target_ || target_->found.empty()) {
      throw Error(Fault::usage,
                  "“" + entry_.target +
                      "” is no animal and no place with one: `paired` wants the code or short ID of the other animal");
    }
    const Resident& other = target_->found.front();
    if (told_.size() > 1) std::erase_if(told_, [&](const Resident* one) { return one->code == other.code; });
    const Resident& scanned = one_of_scene();
    const bool scanned_visits =
        (scanned.sex == "male" && other.sex != "male" && other.home_place) || !scanned.home_place;
    const Resident& visitor = scanned_visits ? scanned : other;
    const Resident& host = scanned_visits ? other : scanned;
    name_subject(visitor);
    name_subject(host);
    if (host.home_place) {
      out_.draft.place = host.home_place->code;
    } else if (scene_.is_place) {
      out_.draft.place = scene_.code;
    }
    answer_lodgings(visitor);
    answer_lodgings(host);
    out_.notices.push_back(visitor.animal.label + " visits " + host.animal.label +
                           (host.home_place ? " at " + host.home_place->label : ""));
    told_ = {&visitor, &host};
  }

  const Scene& scene_;
  const Entry& entry_;
  const Scene* target_;
  std::optional<Relation> relation_;
  std::vector<const Resident*> told_;
  bool picked_ = false;
  Composition out_;
};

}  // namespace

std::string unanswered(const Ask& ask) {
  if (ask.about == Ask::About::animal)
    return "which of the animals here was not said: saved for the place, and the keeper is asked. Next time scan the "
           "card";
  std::string words;
  for (const Ask::Option& option : ask.options)
    words += (words.empty() ? "" : ", ") + option.word + " (" + option.text + ")";
  return "the book holds an account of this matter already: saved as a further one. Say it by a last word: " + words;
}

bool is_same_matter(Kind a, Kind b) {
  return (is_meal(a) && is_meal(b)) || (a == Kind::laid && b == Kind::laid);
}

Composition compose(const Scene& scene, const Entry& entry, const Choices& choices, const Scene* target) {
  return Composer(scene, entry, choices, target).compose();
}

}  // namespace rackside::core
