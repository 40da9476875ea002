#include "labels/image/png.h"

#include <png.h>

#include <algorithm>
#include <cmath>
#include <csetjmp>
#include <cstring>

#include "core/base/error.h"
#include "labels/image/limits.h"

namespace rackside::labels {
namespace {

using core::Error;
using core::Fault;

constexpr png_alloc_size_t kMostChunkBytes = 8'000'000;
constexpr png_uint_32 kMostSide = 1'000'000;
constexpr double kMetresPerInch = 0.0254;

/// Everything that a jump out of libpng must not skip the destruction of.
struct PngRead {
  core::ByteSpan rest;
  png_structp png = nullptr;
  png_infop info = nullptr;
  char message[128] = {};
  std::vector<std::uint8_t> pixels;  ///< grey and alpha, 2 bytes a pixel
  std::vector<png_bytep> rows;
  png_uint_32 width = 0;
  png_uint_32 height = 0;

  PngRead() = default;
  PngRead(const PngRead&) = delete;
  PngRead& operator=(const PngRead&) = delete;
  ~PngRead() { png_destroy_read_struct(&png, &info, nullptr); }
};

void on_error(png_structp png, png_const_charp message) {
  char* kept = static_cast<char*>(png_get_error_ptr(png));
  if (kept != nullptr) std::strncpy(kept, message, sizeof(PngRead::message) - 1);
  png_longjmp(png, 1);
}
void on_warning(png_structp, png_const_charp) {}

void read_bytes(png_structp png, png_bytep out, size_t count) {
  auto& rest = *static_cast<core::ByteSpan*>(png_get_io_ptr(png));
  if (rest.size() < count) png_error(png, "the file ends too early");
  std::copy_n(rest.begin(), count, out);
  rest = rest.subspan(count);
}

void ask_for_gray_and_alpha(const PngRead& read) {
  png_set_expand(read.png);
  png_set_scale_16(read.png);
  const auto color = png_get_color_type(read.png, read.info);
  if ((color & PNG_COLOR_MASK_COLOR) != 0) png_set_rgb_to_gray(read.png, PNG_ERROR_ACTION_NONE, -1, -1);
  const bool has_alpha = (color & PNG_COLOR_MASK_ALPHA) != 0 || png_get_valid(read.png, read.info, PNG_INFO_tRNS) != 0;
  if (!has_alpha) png_set_add_alpha(read.png, 0xff, PNG_FILLER_AFTER);
  png_set_interlace_handling(read.png);
  png_read_update_info(read.png, read.info);
}

// setjmp: no object with a destructor lives in these two functions.

bool read_header(PngRead& read) {
  if (setjmp(png_jmpbuf(read.png)) != 0) return false;
  png_set_user_limits(read.png, kMostSide, kMostSide);
  png_set_chunk_malloc_max(read.png, kMostChunkBytes);
  png_set_read_fn(read.png, &read.rest, read_bytes);
  png_read_info(read.png, read.info);
  read.width = png_get_image_width(read.png, read.info);
  read.height = png_get_image_height(read.png, read.info);
  return true;
}

bool read_pixels(PngRead& read) {
  if (setjmp(png_jmpbuf(read.png)) != 0) return false;
  ask_for_gray_and_alpha(read);
  if (png_get_rowbytes(read.png, read.info) != 2 * static_cast<size_t>(read.width)) {
    png_error(read.png, "an unexpected form of pixels");
  }
  png_read_image(read.png, read.rows.data());
  return true;
}

void make_room(PngRead& read) {
  const std::size_t stride = 2 * static_cast<std::size_t>(read.width);
  read.pixels.resize(stride * read.height);
  read.rows.resize(read.height);
  for (std::size_t y = 0; y < read.rows.size(); ++y) read.rows[y] = read.pixels.data() + y * stride;
}

GrayImage on_white(const PngRead& read) {
  GrayImage image(static_cast<int>(read.width), static_cast<int>(read.height));
  for (std::size_t i = 0; i < image.pixels.size(); ++i) {
    const int gray = read.pixels[2 * i];
    const int alpha = read.pixels[2 * i + 1];
    image.pixels[i] = static_cast<std::uint8_t>((gray * alpha + 255 * (255 - alpha)) / 255);
  }
  return image;
}

struct PngWrite {
  png_structp png = nullptr;
  png_infop info = nullptr;
  std::string out;

  PngWrite() = default;
  PngWrite(const PngWrite&) = delete;
  PngWrite& operator=(const PngWrite&) = delete;
  ~PngWrite() { png_destroy_write_struct(&png, &info); }
};

void write_bytes(png_structp png, png_bytep bytes, size_t count) {
  static_cast<std::string*>(png_get_io_ptr(png))->append(reinterpret_cast<const char*>(bytes), count);
}
void flush_nothing(png_structp) {}

bool write_rows(PngWrite& write, const GrayImage& image, int bits, int dpi, const std::uint8_t* packed, size_t stride) {
  if (setjmp(png_jmpbuf(write.png)) != 0) return false;
  png_set_write_fn(write.png, &write.out, write_bytes, flush_nothing);
  png_set_IHDR(write.png, write.info, static_cast<png_uint_32>(image.width), static_cast<png_uint_32>(image.height),
               bits, PNG_COLOR_TYPE_GRAY, PNG_INTERLACE_NONE, PNG_COMPRESSION_TYPE_DEFAULT, PNG_FILTER_TYPE_DEFAULT);
  const auto per_metre = static_cast<png_uint_32>(std::lround(dpi / kMetresPerInch));
  png_set_pHYs(write.png, write.info, per_metre, per_metre, PNG_RESOLUTION_METER);
  png_write_info(write.png, write.info);
  for (int y = 0; y < image.height; ++y) png_write_row(write.png, packed + static_cast<size_t>(y) * stride);
  png_write_end(write.png, write.info);
  return true;
}

std::string write_png(const GrayImage& image, int bits, int dpi, const std::vector<std::uint8_t>& packed) {
  PngWrite write;
  write.png = png_create_write_struct(PNG_LIBPNG_VER_STRING, nullptr, on_error, on_warning);
  if (write.png != nullptr) write.info = png_create_info_struct(write.png);
  const size_t stride = packed.size() / static_cast<size_t>(image.height);
  if (write.info == nullptr || !write_rows(write, image, bits, dpi, packed.data(), stride)) {
    throw Error(Fault::internal, "A PNG picture could not be written: no memory for it. Close other programs.");
  }
  return std::move(write.out);
}

}  // namespace

bool is_png(core::ByteSpan bytes) {
  return bytes.size() >= 8 && png_sig_cmp(const_cast<png_bytep>(bytes.data()), 0, 8) == 0;
}

GrayImage read_png(core::ByteSpan bytes, const std::string& name) {
  PngRead read;
  read.rest = bytes;
  read.png = png_create_read_struct(PNG_LIBPNG_VER_STRING, read.message, on_error, on_warning);
  if (read.png != nullptr) read.info = png_create_info_struct(read.png);
  if (read.info == nullptr) throw Error(Fault::internal, "No memory to read " + name + ".");
  if (!read_header(read)) throw damaged_picture(name, "PNG", read.message);
  check_dimensions(name, read.width, read.height);
  make_room(read);
  if (!read_pixels(read)) throw damaged_picture(name, "PNG", read.message);
  return on_white(read);
}

std::string write_png_one_bit(const GrayImage& image, int dpi) {
  const size_t stride = (static_cast<size_t>(image.width) + 7) / 8;
  std::vector<std::uint8_t> packed(stride * static_cast<size_t>(image.height), 0);
  for (int y = 0; y < image.height; ++y) {
    for (int x = 0; x < image.width; ++x) {
      if (image.at(x, y) < 128) continue;
      std::uint8_t& byte = packed[static_cast<size_t>(y) * stride + static_cast<size_t>(x) / 8];
      byte = static_cast<std::uint8_t>(byte | (0x80 >> (x % 8)));
    }
  }
  return write_png(image, 1, dpi, packed);
}

std::string write_png_gray(const GrayImage& image, int dpi) {
  return write_png(image, 8, dpi, image.pixels);
}

}  // namespace rackside::labels
