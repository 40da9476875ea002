#include "sync/coding/gzip.h"

#include <zlib.h>

#include <algorithm>
#include <array>
#include <new>

#include "core/base/error.h"

namespace rackside::sync::coding {
namespace {

using core::Error;
using core::Fault;

constexpr int kGzipWindow = 15 + 16;  // 32 KiB, and the gzip form instead of zlib's
constexpr int kMemoryLevel = 8;
constexpr std::size_t kPiece = 32 * 1024;
/// What is fed at once, so that the ratio is looked at often.
constexpr std::size_t kSlice = 16 * 1024;
constexpr std::size_t kWritersInflation = kMostInflation / 4;

[[noreturn]] void broken(const std::string& what) {
  throw Error(Fault::protocol,
              "What came compressed cannot be read: " + what + ". Try again; what was stored before stays.");
}

Bytef* bytes_of(std::string_view text) {
  return reinterpret_cast<Bytef*>(const_cast<char*>(text.data()));  // zlib does not write there
}

std::string_view first_of(std::string_view& rest, std::size_t most) {
  const std::string_view out = rest.substr(0, most);
  rest.remove_prefix(out.size());
  return out;
}

}  // namespace

// ---- writing

class GzipWriter::Impl {
 public:
  Impl() {
    if (deflateInit2(&stream_, level_, Z_DEFLATED, kGzipWindow, kMemoryLevel, Z_DEFAULT_STRATEGY) != Z_OK)
      throw std::bad_alloc();
  }
  ~Impl() { deflateEnd(&stream_); }

  void take(std::string_view piece, std::string& out) {
    while (!piece.empty()) {
      choose_level(out);
      const std::string_view slice = first_of(piece, kSlice);
      stream_.next_in = bytes_of(slice);
      stream_.avail_in = static_cast<uInt>(slice.size());
      taken_ += slice.size();
      do write(out, [&] { return deflate(&stream_, Z_NO_FLUSH); });
      while (stream_.avail_out == 0 || stream_.avail_in > 0);
    }
  }

  void finish(std::string& out) {
    stream_.avail_in = 0;
    while (write(out, [&] { return deflate(&stream_, Z_FINISH); }) != Z_STREAM_END) continue;
  }

 private:
  /// A text that repeats itself for ever is stored as it is from time to time, so that no honest reader takes it for a
  /// bomb.
  void choose_level(std::string& out) {
    const bool dense = taken_ > kFreeInflation / 4 + kWritersInflation * written_;
    const int level = dense ? Z_NO_COMPRESSION : Z_DEFAULT_COMPRESSION;
    if (level == level_) return;
    level_ = level;
    stream_.avail_in = 0;
    // A full buffer is answered with Z_BUF_ERROR and wants another call.
    while (write(out, [&] { return deflateParams(&stream_, level, Z_DEFAULT_STRATEGY); }) == Z_BUF_ERROR) continue;
  }

  template <class Call>
  int write(std::string& out, const Call& call) {
    stream_.next_out = reinterpret_cast<Bytef*>(buffer_.data());
    stream_.avail_out = static_cast<uInt>(buffer_.size());
    const int result = call();
    const std::size_t count = buffer_.size() - stream_.avail_out;
    out.append(buffer_.data(), count);
    written_ += count;
    return result;
  }

  z_stream stream_{};
  int level_ = Z_DEFAULT_COMPRESSION;
  std::size_t taken_ = 0;
  std::size_t written_ = 0;
  std::array<char, kPiece> buffer_;
};

GzipWriter::GzipWriter() : impl_(std::make_unique<Impl>()) {}
GzipWriter::~GzipWriter() = default;
void GzipWriter::take(std::string_view piece, std::string& out) {
  impl_->take(piece, out);
}
void GzipWriter::finish(std::string& out) {
  impl_->finish(out);
}

// ---- reading

class GzipReader::Impl {
 public:
  explicit Impl(std::size_t most) : most_(most) {
    if (inflateInit2(&stream_, kGzipWindow) != Z_OK) throw std::bad_alloc();
  }
  ~Impl() { inflateEnd(&stream_); }

  void take(std::string_view piece, const OnPiece& on_piece) {
    while (!piece.empty()) read(first_of(piece, kSlice), on_piece);
  }

  void finish() const {
    if (!ended_) broken("it breaks off before its end");
  }

 private:
  void read(std::string_view slice, const OnPiece& on_piece) {
    stream_.next_in = bytes_of(slice);
    stream_.avail_in = static_cast<uInt>(slice.size());
    // A full buffer may mean that more waits inside.
    for (bool more = true; more;) {
      if (ended_) broken("something follows its end");
      more = step(on_piece) || stream_.avail_in > 0;
    }
  }

  /// True when the buffer was filled.
  bool step(const OnPiece& on_piece) {
    const uInt before = stream_.avail_in;
    stream_.next_out = reinterpret_cast<Bytef*>(buffer_.data());
    stream_.avail_out = static_cast<uInt>(buffer_.size());
    const int result = inflate(&stream_, Z_NO_FLUSH);
    if (result != Z_OK && result != Z_STREAM_END && result != Z_BUF_ERROR)
      broken(stream_.msg == nullptr ? "it is no gzip" : stream_.msg);
    came_ += before - stream_.avail_in;
    const std::size_t count = buffer_.size() - stream_.avail_out;
    ended_ = result == Z_STREAM_END;
    judge(count);
    if (count > 0) on_piece({buffer_.data(), count});
    return !ended_ && stream_.avail_out == 0;
  }

  void judge(std::size_t count) {
    read_ += count;
    const bool inflated = read_ > kFreeInflation && (read_ - kFreeInflation) / kMostInflation > came_;
    if (read_ <= most_ && !inflated) return;
    throw Error(Fault::too_large,
                inflated ? "What came compressed swells to over " + std::to_string(kMostInflation) +
                               " times its size, which no events do. It was turned down; what was stored before stays."
                         : "What came compressed holds over " + std::to_string(most_) +
                               " bytes, the most that is taken at once. Send it in smaller parts.");
  }

  z_stream stream_{};
  std::size_t most_;
  std::size_t came_ = 0;
  std::size_t read_ = 0;
  bool ended_ = false;
  std::array<char, kPiece> buffer_;
};

GzipReader::GzipReader(std::size_t most) : impl_(std::make_unique<Impl>(most)) {}
GzipReader::~GzipReader() = default;
void GzipReader::take(std::string_view piece, const OnPiece& on_piece) {
  impl_->take(piece, on_piece);
}
void GzipReader::finish() const {
  impl_->finish();
}

// ---- whole bodies

std::string gzip(std::string_view text) {
  GzipWriter writer;
  std::string out;
  writer.take(text, out);
  writer.finish(out);
  return out;
}

std::string gunzip(std::string_view bytes, std::size_t most) {
  GzipReader reader(most);
  std::string out;
  reader.take(bytes, [&](std::string_view piece) { out.append(piece); });
  reader.finish();
  return out;
}

// ---- agreeing on it

namespace {

std::string lower_without_spaces(std::string_view text) {
  std::string out;
  for (const char c : text) {
    if (c == ' ' || c == '\t') continue;
    out += c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
  }
  return out;
}

/// ";q=0", ";q=0.", ";q=0.000": not acceptable (RFC 9110, section 12.4.2).
bool is_ruled_out(std::string_view parameters) {
  if (!parameters.starts_with(";q=0")) return false;
  parameters.remove_prefix(4);
  return parameters.empty() || (parameters.front() == '.' && parameters.find_first_not_of(".0") == parameters.npos);
}

}  // namespace

bool takes_gzip(std::string_view accept_encoding) {
  const std::string list = lower_without_spaces(accept_encoding);
  std::string_view rest = list;
  while (!rest.empty()) {
    const std::string_view one = rest.substr(0, rest.find(','));
    rest.remove_prefix(std::min(rest.size(), one.size() + 1));
    const std::string_view name = one.substr(0, one.find(';'));
    if (name == "gzip") return !is_ruled_out(one.substr(name.size()));
  }
  return false;
}

}  // namespace rackside::sync::coding
