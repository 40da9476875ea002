#pragma once

#include <condition_variable>
#include <functional>
#include <map>
#include <memory>
#include <mutex>
#include <string>
#include <thread>

#include "core/read/gene_odds.h"

namespace rackside::sync::hub {

/// The odds of genes for phones. Reckoning takes seconds in a large collection, so it is done on a thread of its own,
/// only when something changed on which the odds rest, and for at most a tenth of the time. A forecast of a pair rests
/// on the book as it stands and waits for it. Thread: safe.
class GeneDesk {
 public:
  /// Lines of the aisle's copy by their keys, "odds:A7K2M9QX4A".
  using Lines = std::map<std::string, std::string>;

  /// `open` gives a book for a while.
  explicit GeneDesk(std::function<std::shared_ptr<core::Book>()> open);
  ~GeneDesk();
  GeneDesk(const GeneDesk&) = delete;
  GeneDesk& operator=(const GeneDesk&) = delete;

  /// The book changed, perhaps in what matters here. Returns at once.
  void nudge();
  /// What was reckoned last; never null. Never waits.
  std::shared_ptr<const Lines> lines();
  /// Whether better lines are on their way.
  bool is_busy();

  /// What the pair may give, as one line for the protocol. Errors: unknown_code, and those of GeneOdds::pair.
  std::string forecast(std::string_view first, std::string_view second);

 private:
  void work();
  /// Reckons anew where the book changed in what matters. REQUIRES: `reckoning_` held.
  void refresh(core::Book& book);

  std::function<std::shared_ptr<core::Book>()> open_;
  std::mutex reckoning_;                  ///< guards what was reckoned, and reckoning itself
  std::unique_ptr<core::GeneOdds> odds_;  ///< of a book with that fingerprint
  std::uint64_t fingerprint_ = 0;
  std::mutex mutex_;  ///< guards what follows
  std::condition_variable changed_;
  std::shared_ptr<const Lines> lines_ = std::make_shared<const Lines>();
  bool nudged_ = false;
  bool busy_ = true;  ///< nothing was reckoned yet, or it is being reckoned anew
  bool ending_ = false;
  std::thread worker_;
};

}  // namespace rackside::sync::hub
