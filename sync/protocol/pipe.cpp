#include "sync/protocol/pipe.h"

#include <errno.h>
#include <poll.h>
#include <unistd.h>

namespace rackside::sync {

using core::Error;
using core::Fault;
using core::Value;

bool PipeLines::fill() {
  held_.erase(0, begin_);
  begin_ = 0;
  pollfd waiting{in_, POLLIN, 0};
  int ready = 0;
  while ((ready = ::poll(&waiting, 1, silence_ms_)) < 0 && errno == EINTR) {
  }
  if (ready == 0)
    throw Error(Fault::unreachable, "The other side has been silent for too long. Try again; what was stored stays.");
  char piece[64 * 1024];
  ssize_t count = 0;
  while ((count = ::read(in_, piece, sizeof piece)) < 0 && errno == EINTR) {
  }
  if (count < 0)
    throw Error(Fault::unreachable, "The other side cannot be read from any more. Try again; what was stored stays.");
  held_.append(piece, static_cast<std::size_t>(count));
  return count > 0;
}

std::optional<std::string_view> PipeLines::next() {
  std::size_t looked = begin_;
  for (;;) {
    const std::size_t end = held_.find('\n', looked);
    if (end != held_.npos) {
      const std::string_view line = std::string_view(held_).substr(begin_, end - begin_);
      begin_ = end + 1;
      return line;
    }
    looked = held_.size() - begin_;  // after fill() the held text begins at the line
    if (looked > kMostLine)
      throw Error(Fault::too_large, "The other side sent a line without an end. Is it Rackside at all?");
    if (fill()) continue;
    if (!held_.empty()) cut_off();
    return std::nullopt;
  }
}

void PipeLines::write(std::string_view text) {
  while (!text.empty()) {
    const ssize_t count = ::write(out_, text.data(), text.size());
    if (count < 0 && errno == EINTR) continue;
    if (count <= 0) throw Error(Fault::unreachable, "The other side has gone. Try again; what was stored stays.");
    text.remove_prefix(static_cast<std::size_t>(count));
  }
}

// ---- asking

void PipePeer::ask(std::string_view what, std::string_view body) {
  lines_.write(to_line(Value::Object{{"ask", what}}));
  lines_.write(body);
}

std::string_view PipePeer::line() {
  const auto line = lines_.next();
  if (!line)
    throw Error(Fault::unreachable,
                "The other side ended before the exchange was over. Try again; what was stored stays.");
  return *line;
}

VectorMessage PipePeer::ask_vector(std::string_view what, const VectorMessage& message) {
  ask(what, to_text(message));
  VectorReader reader;
  while (!reader.done()) reader.line(line());
  return reader.take();
}

void PipePeer::pull(const VectorMessage& mine, StreamReader& reader) {
  ask("pull", to_text(mine));
  while (!reader.done()) reader.line(line());
}

Receipt PipePeer::push(const std::string& body) {
  ask("push", body);
  return receipt_from_text(line());
}

void PipePeer::leave() {
  ask("leave", "");
}

// ---- answering

namespace {

class PipeServer {
 public:
  PipeServer(Responder& responder, PipeLines& lines) : responder_(responder), lines_(lines) {}

  /// False when the other side has left.
  bool answer_one() {
    const auto asked = lines_.next();
    if (!asked) return false;
    const std::string what(parse_line(*asked).text("ask"));
    if (what == "leave") return false;
    if (what == "heads") {
      lines_.write(to_text(responder_.heads(vector())));
    } else if (what == "ladders") {
      lines_.write(to_text(responder_.ladders(vector())));
    } else if (what == "pull") {
      pull();
    } else if (what == "push") {
      push();
    } else {
      bad_message("it asks for \"" + what + "\"");
    }
    return true;
  }

 private:
  VectorMessage vector() {
    VectorReader reader;
    while (!reader.done()) reader.line(next());
    return reader.take();
  }

  void pull() {
    responder_.pull(vector(), [&](std::string_view piece) {
      lines_.write(piece);
      return true;
    });
  }

  /// The whole stream is there before anything of it is stored, as with a hub.
  void push() {
    std::string body;
    std::size_t size = 0;
    StreamReader watcher(responder_.collection(), [](std::vector<core::Segment>&&) {});
    while (!watcher.done()) {
      const std::string_view line = next();
      size += line.size() + 1;
      if (size > 2 * kBatchBytes)
        throw Error(Fault::too_large, "More than two megabytes were sent at once. Nothing of it was stored.");
      body.append(line).push_back('\n');
      watcher.line(line);
    }
    lines_.write(to_text(responder_.push(body)));
  }

  std::string_view next() {
    const auto line = lines_.next();
    if (!line) cut_off();
    return *line;
  }

  Responder& responder_;
  PipeLines& lines_;
};

}  // namespace

void serve_pipe(Responder& responder, int in, int out) {
  PipeLines lines(in, out);
  PipeServer server(responder, lines);
  try {
    while (server.answer_one()) {
    }
  } catch (const Error& error) {
    try {
      lines.write(error_line(error));
    } catch (const Error&) {
      // It cannot be told any more: our own report is what remains.
    }
    throw;
  }
}

}  // namespace rackside::sync
