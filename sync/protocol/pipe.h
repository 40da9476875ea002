#pragma once

#include "sync/protocol/responder.h"

namespace rackside::sync {

// The same exchange over two file descriptors: a pipe, a socket, a program's input and output. Each request is a line
// {"ask":WHAT} and the message that the hub's route of that name takes; the answer is that route's answer.
// Source: sync/PROTOCOL.md, section 5.

/// Lines from and to a pair of descriptors. Does not own them. A peer that is silent for `silence_ms` is given up.
class PipeLines {
 public:
  PipeLines(int in, int out, int silence_ms = 120'000) : in_(in), out_(out), silence_ms_(silence_ms) {}
  /// The next line without its line feed, valid until the next call; nullopt at the end of the input.
  /// Errors: unreachable, too_large, protocol (the last line was cut off).
  std::optional<std::string_view> next();
  /// Errors: unreachable.
  void write(std::string_view text);

 private:
  bool fill();

  int in_;
  int out_;
  int silence_ms_;
  std::string held_;
  std::size_t begin_ = 0;
};

class PipePeer : public Peer {
 public:
  PipePeer(int in, int out) : lines_(in, out) {}
  VectorMessage heads(const VectorMessage& mine) override { return ask_vector("heads", mine); }
  VectorMessage ladders(const VectorMessage& asked) override { return ask_vector("ladders", asked); }
  void pull(const VectorMessage& mine, StreamReader& reader) override;
  Receipt push(const std::string& body) override;
  /// Tells the other side that the exchange is over.
  void leave();

 private:
  VectorMessage ask_vector(std::string_view what, const VectorMessage& message);
  void ask(std::string_view what, std::string_view body);
  std::string_view line();

  PipeLines lines_;
};

/// Answers on a pair of descriptors until the other side leaves. What goes wrong with a request is told to it and, as
/// the stream cannot be trusted then, ends the serving: the Error is thrown after it was told.
void serve_pipe(Responder& responder, int in, int out);

}  // namespace rackside::sync
