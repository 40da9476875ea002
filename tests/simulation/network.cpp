#include "tests/simulation/network.h"

namespace rackside::simulation {
namespace {

[[noreturn]] void lost() {
  throw core::Error(core::Fault::unreachable, "The network of the simulation lost a message.");
}

}  // namespace

void RoughPeer::may_be_lost() {
  if (goes_wrong()) lost();
}

sync::VectorMessage RoughPeer::heads(const sync::VectorMessage& mine) {
  may_be_lost();
  const sync::VectorMessage answer = responder_.heads(mine);
  may_be_lost();
  return answer;
}

sync::VectorMessage RoughPeer::ladders(const sync::VectorMessage& asked) {
  may_be_lost();
  const sync::VectorMessage answer = responder_.ladders(asked);
  may_be_lost();
  return answer;
}

void RoughPeer::pull(const sync::VectorMessage& mine, sync::StreamReader& reader) {
  may_be_lost();
  std::string stream;
  responder_.pull(mine, [&](std::string_view piece) {
    stream += piece;
    return true;
  });
  int lines_until_cut = goes_wrong() ? 1 + dice_.below(40) : -1;
  sync::each_line(stream, [&](std::string_view line) {
    if (lines_until_cut == 0) lost();
    if (lines_until_cut > 0) --lines_until_cut;
    reader.line(line);
  });
}

sync::Receipt RoughPeer::push(const std::string& body) {
  if (goes_wrong()) {
    if (dice_.percent(60)) hold_(body);  // held back somewhere, or gone for good
    lost();
  }
  sync::Receipt receipt = responder_.push(body);
  if (goes_wrong()) receipt = responder_.push(body);
  if (goes_wrong()) hold_(body);  // a copy of it will come once more
  may_be_lost();
  return receipt;
}

}  // namespace rackside::simulation
