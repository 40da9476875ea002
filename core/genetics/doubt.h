#pragma once

#include <memory>
#include <vector>

#include "core/genetics/collection.h"
#include "core/genetics/evidence.h"

// Which records are probably wrong, by what everything else says.
namespace rackside::core::genetics {

/// How often people err, before anything is known of the case. Our choice, no source.
struct DoubtSettings {
  double wrong_sire = 0.01;           ///< a recorded sire is another male
  double wrong_dam = 0.003;           ///< a recorded dam is another female: swapped tubs
  double wrong_look = 0.005;          ///< a look, sure at the time, was misread or entered for the wrong animal
  double hidden_carrier = 0.002;      ///< an animal without known parents carries what nobody knew of
  double told_at = 20;                ///< odds against a record from which on it is told
  std::size_t most_candidates = 400;  ///< other animals that are weighed as the true parent
  Settings inference;
};

/// One record that may be the wrong one.
struct Suspect {
  enum class Kind : std::uint8_t { sire, dam, statement };
  Kind kind = Kind::statement;
  RecordId record = 0;
  AnimalIndex about = kNobody;     ///< whose record it is; of a clutch its first young
  AnimalIndex recorded = kNobody;  ///< the parent that it names
  AnimalIndex instead = kNobody;   ///< the likeliest other parent; kNobody: one that the book does not know
  double share = 0;                ///< of what explains the doubt, of all suspects together 1
};

struct Doubt {
  double odds = 0;                 ///< that something is wrong, to one; infinite where what is recorded cannot be
  std::vector<AnimalIndex> young;  ///< the clutch, or the animals that do not fit together
  std::vector<Suspect> suspects;   ///< likeliest first
};

/// Doubts of the recorded sires and dams of every clutch whose young were looked at, and of looks that no parents
/// explain. Each clutch is weighed by itself, the rest of the book taken as recorded: exact where the inference is.
/// Heaviest first. A doubt tells what to look at; it changes nothing.
std::vector<Doubt> doubts(const std::shared_ptr<const Species>& species, const Collection& collection,
                          const DoubtSettings& settings = {});

}  // namespace rackside::core::genetics
