#pragma once

#include <optional>
#include <vector>

#include "sync/protocol/lines.h"

namespace rackside::sync {

/// Who speaks, by what clock, and what he has: the first message of an exchange, and what a pull and a ladder ask and
/// answer with. On the wire: a first line, one line a head, one a device, an end line that counts them.
struct VectorMessage {
  core::CollectionId collection{};
  core::DeviceId device{};   ///< of the book that speaks
  std::string name;          ///< for people: a path, a hub's name
  core::ClockReading clock;  ///< as it stood when the message was written
  std::optional<core::EventRef>
      newest;  ///< the speaker's own newest event, which a clock check names; where it succeeded
               ///< another device since it got its token, `device` is still that one
  std::vector<core::Head> heads;
  std::vector<core::DeviceId> devices;  ///< ask for ladder: of these; pull: `heads` hold ladders of these
};

std::string to_text(const VectorMessage& message);

/// Reads one line after the other. Errors: protocol, too_large; the Error that an error line states.
class VectorReader {
 public:
  void line(std::string_view line);
  bool done() const { return state_ == State::ended; }
  /// The whole message. Errors: protocol when its end has not come.
  VectorMessage take();

 private:
  void begin(const core::Value& value);

  enum class State { before, inside, ended } state_ = State::before;
  VectorMessage message_;
};

/// Reads a message that is there as one text.
VectorMessage vector_from_text(std::string_view text);

/// Calls `line` with each line of a text that ends in a line feed. Errors: protocol.
void each_line(std::string_view text, const std::function<void(std::string_view)>& line);

}  // namespace rackside::sync
