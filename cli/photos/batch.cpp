#include "cli/photos/batch.h"

#include <algorithm>
#include <atomic>
#include <condition_variable>
#include <filesystem>
#include <map>
#include <mutex>
#include <thread>

namespace rackside::cli {

using core::Error;
using core::Fault;

namespace {

bool is_picture_name(const std::filesystem::path& path) {
  std::string ending = path.extension().string();
  std::transform(ending.begin(), ending.end(), ending.begin(),
                 [](char c) { return c >= 'A' && c <= 'Z' ? c + 32 : c; });
  return ending == ".jpg" || ending == ".jpeg" || ending == ".png";
}

std::vector<std::string> pictures_in(const std::string& folder) {
  std::vector<std::string> found;
  std::error_code failed;
  for (const auto& entry : std::filesystem::directory_iterator(folder, failed)) {
    std::error_code unknown;
    if (is_picture_name(entry.path()) && entry.is_regular_file(unknown)) found.push_back(entry.path().string());
  }
  if (failed) throw Error(Fault::bad_input, folder + " cannot be listed: " + failed.message() + ".");
  if (found.empty())
    throw Error(Fault::bad_input, folder + " holds no picture: no file in it ends in .jpg, .jpeg or .png.");
  std::sort(found.begin(), found.end());
  return found;
}

/// Workers take the next number each; the caller waits for the lowest that is not handed over yet.
class Batch {
 public:
  Batch(const std::vector<std::string>& paths, labels::ReadScope scope) : paths_(paths), scope_(scope) {
    const std::size_t cores = std::max(1U, std::thread::hardware_concurrency());
    for (std::size_t i = 0; i < std::min(cores, paths.size()); ++i) threads_.emplace_back([this] { work(); });
  }
  ~Batch() {
    next_ = paths_.size();
    for (std::thread& thread : threads_) thread.join();
  }

  PictureOutcome wait_for(std::size_t number, const std::function<void(std::size_t)>& progress) {
    std::unique_lock lock(mutex_);
    std::size_t told = 0;
    while (!done_.contains(number)) {
      changed_.wait(lock);
      if (finished_ != told) progress(told = finished_);
    }
    return std::move(done_.extract(number).mapped());
  }

 private:
  void work() {
    PictureWorker worker(scope_);
    for (std::size_t number = next_++; number < paths_.size(); number = next_++) {
      PictureOutcome outcome;
      try {
        outcome = worker.read_file(paths_[number]);
      } catch (const Error& error) {
        outcome.fault = error.fault();
        outcome.message = error.what();
      }
      const std::scoped_lock lock(mutex_);
      done_.emplace(number, std::move(outcome));
      ++finished_;
      changed_.notify_all();
    }
  }

  const std::vector<std::string>& paths_;
  labels::ReadScope scope_;
  std::atomic<std::size_t> next_ = 0;
  std::mutex mutex_;
  std::condition_variable changed_;
  std::map<std::size_t, PictureOutcome> done_;
  std::size_t finished_ = 0;
  std::vector<std::thread> threads_;
};

}  // namespace

std::vector<std::string> pictures_of(const std::vector<std::string>& names) {
  std::vector<std::string> all;
  for (const std::string& name : names) {
    std::error_code unknown;
    if (!std::filesystem::is_directory(name, unknown)) {
      all.push_back(name);
      continue;
    }
    const std::vector<std::string> found = pictures_in(name);
    all.insert(all.end(), found.begin(), found.end());
  }
  return all;
}

void read_batch(const std::vector<std::string>& paths, labels::ReadScope scope,
                const std::function<void(std::size_t, const PictureOutcome&)>& take,
                const std::function<void(std::size_t)>& progress) {
  Batch batch(paths, scope);
  for (std::size_t number = 0; number < paths.size(); ++number) take(number, batch.wait_for(number, progress));
}

}  // namespace rackside::cli
