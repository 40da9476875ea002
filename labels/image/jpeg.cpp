#include "labels/image/jpeg.h"

#include <cstdio>  // jpeglib.h needs it before itself

#include <jpeglib.h>
// after jpeglib.h
#include <jerror.h>

#include <csetjmp>
#include <cstdlib>

#include "core/base/error.h"
#include "labels/image/exif.h"
#include "labels/image/limits.h"

namespace rackside::labels {
namespace {

using core::Error;
using core::Fault;

constexpr int kMostScans = 500;  ///< a progressive file of more is made to waste time
constexpr long kMostLibraryBytes = 600'000'000;

struct ErrorManager {
  jpeg_error_mgr base;  ///< first, so that the library's pointer is ours
  jmp_buf jump;
  char message[JMSG_LENGTH_MAX];
  bool ended_early;
};

ErrorManager& manager_of(j_common_ptr jpeg) {
  return *reinterpret_cast<ErrorManager*>(jpeg->err);
}

[[noreturn]] void on_error(j_common_ptr jpeg) {
  ErrorManager& manager = manager_of(jpeg);
  (*manager.base.format_message)(jpeg, manager.message);
  longjmp(manager.jump, 1);
}

void on_message(j_common_ptr jpeg, int level) {
  if (level < 0 && jpeg->err->msg_code == JWRN_JPEG_EOF) manager_of(jpeg).ended_early = true;
}

void on_progress(j_common_ptr jpeg) {
  const auto* decompress = reinterpret_cast<jpeg_decompress_struct*>(jpeg);
  if (jpeg->is_decompressor && decompress->input_scan_number > kMostScans) {
    std::snprintf(manager_of(jpeg).message, JMSG_LENGTH_MAX, "more than %d scans", kMostScans);
    longjmp(manager_of(jpeg).jump, 1);
  }
}

void set_up(ErrorManager& manager) {
  jpeg_std_error(&manager.base);
  manager.base.error_exit = on_error;
  manager.base.emit_message = on_message;
}

/// Everything that a jump out of libjpeg must not skip the destruction of.
struct JpegRead {
  jpeg_decompress_struct jpeg{};
  ErrorManager manager{};
  jpeg_progress_mgr progress{};
  int components = 1;
  int orientation = 1;
  std::vector<std::uint8_t> line;
  GrayImage image;

  JpegRead() = default;
  JpegRead(const JpegRead&) = delete;
  JpegRead& operator=(const JpegRead&) = delete;
  ~JpegRead() { jpeg_destroy_decompress(&jpeg); }
};

// setjmp: no object with a destructor lives in these two functions.

bool read_header(JpegRead& read, const std::uint8_t* bytes, std::size_t count) {
  if (setjmp(read.manager.jump) != 0) return false;
  jpeg_create_decompress(&read.jpeg);
  read.jpeg.mem->max_memory_to_use = kMostLibraryBytes;
  read.progress.progress_monitor = on_progress;
  read.jpeg.progress = &read.progress;
  jpeg_mem_src(&read.jpeg, bytes, static_cast<unsigned long>(count));
  jpeg_save_markers(&read.jpeg, JPEG_APP0 + 1, 0xffff);
  jpeg_read_header(&read.jpeg, TRUE);
  for (auto* marker = read.jpeg.marker_list; marker != nullptr && read.orientation == 1; marker = marker->next) {
    read.orientation = exif_orientation({marker->data, marker->data_length});
  }
  const bool inks = read.jpeg.jpeg_color_space == JCS_CMYK || read.jpeg.jpeg_color_space == JCS_YCCK;
  read.jpeg.out_color_space = inks ? JCS_CMYK : JCS_GRAYSCALE;
  read.components = inks ? 4 : 1;
  return true;
}

/// Ink values are stored inverted by the programs that write such files (the Adobe marker): 255 is no ink.
void gray_of_inks(const std::uint8_t* inks, std::uint8_t* gray, int width, bool inverted) {
  for (int x = 0; x < width; ++x, inks += 4) {
    const auto light = [&](int i) { return inverted ? inks[i] : 255 - inks[i]; };
    gray[x] = static_cast<std::uint8_t>((light(0) + light(1) + light(2)) / 3 * light(3) / 255);
  }
}

bool read_lines(JpegRead& read) {
  if (setjmp(read.manager.jump) != 0) return false;
  jpeg_start_decompress(&read.jpeg);
  while (read.jpeg.output_scanline < read.jpeg.output_height && !read.manager.ended_early) {
    std::uint8_t* target = read.image.pixels.data() + read.image.index(0, static_cast<int>(read.jpeg.output_scanline));
    JSAMPROW row = read.components == 4 ? read.line.data() : target;
    jpeg_read_scanlines(&read.jpeg, &row, 1);
    if (read.components == 4) gray_of_inks(row, target, read.image.width, read.jpeg.saw_Adobe_marker != 0);
  }
  return true;
}

struct JpegWrite {
  jpeg_compress_struct jpeg{};
  ErrorManager manager{};
  unsigned char* out = nullptr;
  unsigned long size = 0;

  JpegWrite() = default;
  JpegWrite(const JpegWrite&) = delete;
  JpegWrite& operator=(const JpegWrite&) = delete;
  ~JpegWrite() {
    jpeg_destroy_compress(&jpeg);
    std::free(out);
  }
};

bool write_lines(JpegWrite& write, const ColorImage& image, int quality) {
  if (setjmp(write.manager.jump) != 0) return false;
  jpeg_create_compress(&write.jpeg);
  jpeg_mem_dest(&write.jpeg, &write.out, &write.size);
  write.jpeg.image_width = static_cast<JDIMENSION>(image.width);
  write.jpeg.image_height = static_cast<JDIMENSION>(image.height);
  write.jpeg.input_components = 3;
  write.jpeg.in_color_space = JCS_RGB;
  jpeg_set_defaults(&write.jpeg);
  jpeg_set_quality(&write.jpeg, quality, TRUE);
  jpeg_start_compress(&write.jpeg, TRUE);
  while (write.jpeg.next_scanline < write.jpeg.image_height) {
    // The library takes a pointer to what it may change, and does not.
    auto* row = const_cast<JSAMPROW>(image.pixels.data() + image.index(0, static_cast<int>(write.jpeg.next_scanline)));
    jpeg_write_scanlines(&write.jpeg, &row, 1);
  }
  jpeg_finish_compress(&write.jpeg);
  return true;
}

}  // namespace

bool is_jpeg(core::ByteSpan bytes) {
  return bytes.size() >= 3 && bytes[0] == 0xff && bytes[1] == 0xd8 && bytes[2] == 0xff;
}

GrayImage read_jpeg(core::ByteSpan bytes, const std::string& name) {
  JpegRead read;
  set_up(read.manager);
  read.jpeg.err = &read.manager.base;
  const bool header = read_header(read, bytes.data(), bytes.size());
  if (!header || read.manager.ended_early) {
    throw damaged_picture(name, "JPEG", header ? "the file ends too early" : read.manager.message);
  }
  check_dimensions(name, read.jpeg.image_width, read.jpeg.image_height);
  read.image = GrayImage(static_cast<int>(read.jpeg.image_width), static_cast<int>(read.jpeg.image_height));
  read.line.resize(4 * static_cast<std::size_t>(read.image.width));
  const bool whole = read_lines(read);
  if (!whole || read.manager.ended_early) {
    throw damaged_picture(name, "JPEG", whole ? "the file ends too early" : read.manager.message);
  }
  return upright(std::move(read.image), read.orientation);
}

std::string write_jpeg(const ColorImage& image, int quality) {
  JpegWrite write;
  set_up(write.manager);
  write.jpeg.err = &write.manager.base;
  if (!write_lines(write, image, quality)) {
    throw Error(Fault::internal, std::string("A JPEG picture could not be written: ") + write.manager.message + ".");
  }
  return {reinterpret_cast<const char*>(write.out), static_cast<std::size_t>(write.size)};
}

}  // namespace rackside::labels
