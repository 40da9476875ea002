#include "labels/image/load.h"

#include <filesystem>
#include <fstream>

#include "core/base/error.h"
#include "labels/image/jpeg.h"
#include "labels/image/png.h"

namespace rackside::labels {
namespace {

using core::Error;
using core::Fault;

constexpr std::uintmax_t kMostFileBytes = 200'000'000;

std::string what_it_looks_like(core::ByteSpan bytes) {
  const std::string_view text(reinterpret_cast<const char*>(bytes.data()), bytes.size());
  if (text.empty()) return "it is empty";
  if (text.substr(0, 4) == "%PDF") return "it is a PDF";
  if (text.size() >= 12 && text.substr(4, 4) == "ftyp") return "it looks like HEIC or AVIF: set the camera to JPEG";
  if (text.substr(0, 4) == "RIFF") return "it looks like WebP";
  if (text.substr(0, 3) == "GIF") return "it is a GIF";
  return "its first bytes are those of neither";
}

}  // namespace

GrayImage read_picture(core::ByteSpan bytes, const std::string& name) {
  if (is_jpeg(bytes)) return read_jpeg(bytes, name);
  if (is_png(bytes)) return read_png(bytes, name);
  throw Error(Fault::unreadable_image, name + " is no JPEG or PNG picture: " + what_it_looks_like(bytes) + ".");
}

std::string load_picture_file(const std::string& path) {
  std::error_code failed;
  const auto size = std::filesystem::file_size(path, failed);
  if (failed) throw Error(Fault::bad_input, path + " cannot be read: " + failed.message() + ". Check the name.");
  if (size > kMostFileBytes) {
    throw Error(Fault::unreadable_image, path + " has over 200 MB; a photo has a few. Is it another kind of file?");
  }
  std::string bytes(static_cast<std::size_t>(size), '\0');
  std::ifstream file(path, std::ios::binary);
  if (!file.read(bytes.data(), static_cast<std::streamsize>(bytes.size()))) {
    throw Error(Fault::disk_fault, path + " could not be read to its end. Check the disk or card.");
  }
  return bytes;
}

}  // namespace rackside::labels
