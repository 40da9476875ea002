#pragma once

#include <optional>
#include <string>
#include <vector>

#include "core/entry/entry.h"
#include "core/entry/scene.h"

namespace rackside::core {

/// What the person chose where entry had to ask.
struct Choices {
  std::optional<std::string> animal;  ///< code of one of those found, where several are
  std::optional<Relation> relation;   ///< how it answers an earlier account of the same matter
};

/// What entry asks before it writes. Unless it is `needed`, nobody has to answer: the draft is good as it is.
struct Ask {
  enum class About { nothing, animal, relation } about = About::nothing;
  bool needed = false;  ///< the entry cannot be written before this is answered: nobody knows whose death it is
  std::string text;
  struct Option {
    std::string code;                   ///< of an animal
    Relation relation = Relation::saw;  ///< else a relation
    std::string word;                   ///< what may be typed: a short ID, "again" …
    std::string text;                   ///< for people
  };
  std::vector<Option> options;
};

/// An entry as it will be written.
struct Composition {
  Draft draft;
  std::vector<Named> about;           ///< whom it tells of, by this book
  Ask ask;                            ///< what a person may choose; unanswered, the draft says `saw`, or leaves the
                                      ///< animal to the keeper
  std::vector<std::string> warnings;  ///< loud: saved nevertheless, because nothing that a helper sees is refused
  std::vector<std::string> notices;
};

/// Makes the event of an entry. Pure. An animal's card: `of` names it. A place: `place` and `shown`, so that the merged
/// log can say whose it was; `of` only where the person picked one of several, and for kinds that name their animals
/// themselves (moves, locks, fates). `re` names the accounts of the same matter that the scene shows.
/// `target`: the scene of what `entry.target` names (`paired`, `moved`); needed there only.
/// Errors: usage when `target` is missing where the kind needs one, or names the wrong sort of thing.
Composition compose(const Scene& scene, const Entry& entry, const Choices& choices = {}, const Scene* target = nullptr);

/// What is said of an ask that nobody could answer: how the draft was saved.
std::string unanswered(const Ask& ask);

/// Whether two accounts of these kinds may be the same one told twice: entry then asks again, same or replaces.
bool is_same_matter(Kind a, Kind b);

}  // namespace rackside::core
