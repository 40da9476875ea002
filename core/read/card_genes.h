#pragma once

#include <memory>
#include <string>
#include <vector>

#include "core/genetics/claims.h"
#include "core/read/lineage.h"

namespace rackside::core {

/// One thing that a card says of an animal's genes.
struct CardClaim {
  std::string text;   ///< "amel", "het anery", "66 % het anery"
  std::string basis;  ///< "by parents", "as bought", "proven by young" …
  bool seen = false;  ///< it shows: paper need not say how that is known
};

/// What a card would have to say, and nothing supports any more.
struct BrokenClaim {
  EventRow event = 0;
  std::string text;     ///< as it was said: "66 % het anery"
  std::string because;  ///< for people: "everything recorded makes it 0.4 %"
};

struct CardGenes {
  std::vector<CardClaim> certain;
  std::vector<CardClaim> possible;
  std::vector<BrokenClaim> broken;  ///< not empty: the card must not be printed
  Instant newest = 0;  ///< of the newest statement about the animal or a relative within three steps of parent and
                       ///< young, on which these claims rest; 0 for none
};

/// What the cards of a book's animals say of their genes: what was said of each, held against the odds of everything
/// recorded, and what follows from its parents. Reckons a species when the first animal of it is asked for.
/// An animal whose species is unknown, or has no catalogue, gets what was said of it.
class CardGeneSource {
 public:
  explicit CardGeneSource(Reader& reader);
  ~CardGeneSource();

  CardGenes of(Thing animal);

 private:
  struct Work;
  std::unique_ptr<Work> work_;
};

}  // namespace rackside::core
