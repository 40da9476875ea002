#include "tests/simulation/minimise.h"

#include <algorithm>

namespace rackside::simulation {
namespace {

class Minimiser {
 public:
  Minimiser(Script script, const std::function<bool(const Script&)>& fails, int most)
      : script_(std::move(script)), fails_(fails), left_(most) {}

  Script run() {
    for (std::size_t before = 0; before != script_.actions.size() && left_ > 0;) {
      before = script_.actions.size();
      leave_out();
    }
    fewer_devices();
    plainer_numbers();
    return std::move(script_);
  }

 private:
  bool keep_if_failing(Script candidate) {
    if (left_ <= 0) return false;
    --left_;
    if (!fails_(candidate)) return false;
    script_ = std::move(candidate);
    return true;
  }

  void leave_out() {
    for (std::size_t piece = std::max<std::size_t>(1, script_.actions.size() / 2); piece >= 1; piece /= 2) {
      for (std::size_t at = 0; at + piece <= script_.actions.size() && left_ > 0;) {
        Script fewer = script_;
        const auto begin = fewer.actions.begin() + static_cast<std::ptrdiff_t>(at);
        fewer.actions.erase(begin, begin + static_cast<std::ptrdiff_t>(piece));
        if (!keep_if_failing(std::move(fewer))) at += piece;
      }
    }
  }

  void fewer_devices() {
    while (script_.setup.devices.size() > 2) {
      Script fewer = script_;
      fewer.setup.devices.pop_back();
      if (!keep_if_failing(std::move(fewer))) return;
    }
  }

  void plainer_numbers() {
    for (std::size_t i = 0; i < script_.actions.size(); ++i) {
      for (int Action::*number : {&Action::b, &Action::c, &Action::a}) {
        if (script_.actions[i].*number == 0) continue;
        Script plainer = script_;
        plainer.actions[i].*number = 0;
        keep_if_failing(std::move(plainer));
      }
    }
  }

  Script script_;
  const std::function<bool(const Script&)>& fails_;
  int left_;
};

}  // namespace

Script minimised(Script script, const std::function<bool(const Script&)>& fails, int most) {
  return Minimiser(std::move(script), fails, most).run();
}

}  // namespace rackside::simulation
