#pragma once

#include <memory>
#include <span>
#include <string>
#include <vector>

#include "cli/session.h"
#include "core/genetics/inference.h"
#include "core/genetics/kinship.h"
#include "core/genetics/pairing.h"
#include "core/read/lineage.h"

// What the verbs about genes share: the animals of one species with their odds, and how both are written.
namespace rackside::cli {

/// The lineage that an animal belongs to, with its odds. `lineages` must outlive it.
class Odds {
 public:
  /// Errors: bad_input where the animal's species is unknown or has no catalogue.
  Odds(Session& session, const core::Lineages& lineages, const core::Named& animal);

  const core::Lineage& lineage() const { return *lineage_; }
  const core::genetics::Species& species() const { return *lineage_->species; }
  const core::genetics::Inference& inference() const { return *inference_; }
  /// Errors: bad_input where the animal is of another species.
  core::genetics::AnimalIndex index(const core::Named& animal) const;
  core::genetics::Kinship kinship() const;

 private:
  const core::Lineage* lineage_ = nullptr;
  std::unique_ptr<core::genetics::Inference> inference_;
};

/// "het anery (basis: bought), of C-2, 3 Oct 2025 by Ada": one record, for people.
std::string record_text(Session& session, core::Reader& reader, core::genetics::RecordId record);

/// What cannot be, with the animals and the records at fault, for people.
std::string problem_text(Session& session, core::Reader& reader, const core::Lineage& lineage,
                         const core::genetics::Problem& problem);

void show_genes(Session& session, const std::string& animal, bool all);

struct OddsOptions {
  std::string sire, dam, wanted;
  unsigned eggs = 0;
};
void show_odds(Session& session, const OddsOptions& options);

struct ProveOptions {
  std::string animal, gene, mate;
};
void show_prove(Session& session, const ProveOptions& options);

void show_kinship(Session& session, const std::string& first, const std::string& second);
void show_inbreeding(Session& session, const std::string& animal);

void show_doubts(Session& session);

struct PlanOptions {
  std::vector<std::string> wanted;
  std::string species;
  unsigned most = 5;
};
void show_plan(Session& session, const PlanOptions& options);

void list_catalogues(Session& session);
void show_catalogue(Session& session, const std::string& name);
void use_catalogue(Session& session, const std::string& path, bool dry_run);
void drop_catalogue(Session& session, const std::string& name);

/// What to consider where these animals do not fit together and a clutch is among them or their young, for its young
/// are taken to have one father: where several males may be it or, `of_sire`, where the one that is said is doubted.
/// Else empty.
std::string two_fathers_text(const core::genetics::Collection& collection,
                             std::span<const core::genetics::AnimalIndex> animals, bool of_sire);

/// What cannot be, of these animals and their family, or of the whole lineage where none is given: told after every
/// answer that it may touch. Of others only how many there are.
void tell_problems(Session& session, core::Reader& reader, const Odds& odds,
                   std::span<const core::genetics::AnimalIndex> of);

}  // namespace rackside::cli
