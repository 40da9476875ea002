#include <cstdio>  // jpeglib.h needs it before itself

#include <jpeglib.h>

#include <string>
#include <vector>

#include "labels/draw/draw.h"
#include "labels/image/load.h"
#include "labels/read/read.h"
#include "tests/support/catch.h"
#include "tests/support/png_by_hand.h"
#include "tests/unit/labels_support.h"

using namespace rackside;
using namespace rackside::labels;
using namespace rackside::tests;
using rackside::tests::contains;

namespace {

struct Sample {
  std::string code = some_code(core::CodeKind::place).str();
  GrayImage image;

  Sample() {
    Picture picture;
    picture.width = picture.height = 40;
    picture.shapes.emplace_back(PlacedSymbol{8, 8, 1, make_symbol(code), code, code});
    image = draw_gray(picture, 100);
  }
};

std::vector<std::string> texts_in(const std::string& bytes) {
  std::vector<std::string> texts;
  for (const ReadSymbol& symbol : read_image(core::as_bytes(bytes), "it").symbols) texts.push_back(symbol.text);
  return texts;
}

/// `colors`: 1 grey, 3 red green blue, 4 inks. Each pixel's channels are all the grey value.
std::string jpeg_of(const GrayImage& image, int channels, bool progressive) {
  jpeg_compress_struct jpeg{};
  jpeg_error_mgr errors{};
  jpeg.err = jpeg_std_error(&errors);
  jpeg_create_compress(&jpeg);
  unsigned char* out = nullptr;
  unsigned long size = 0;
  jpeg_mem_dest(&jpeg, &out, &size);
  jpeg.image_width = static_cast<JDIMENSION>(image.width);
  jpeg.image_height = static_cast<JDIMENSION>(image.height);
  jpeg.input_components = channels;
  jpeg.in_color_space = channels == 1 ? JCS_GRAYSCALE : channels == 3 ? JCS_RGB : JCS_CMYK;
  jpeg_set_defaults(&jpeg);
  if (progressive) jpeg_simple_progression(&jpeg);
  jpeg_start_compress(&jpeg, TRUE);
  std::vector<std::uint8_t> line;
  for (int y = 0; y < image.height; ++y) {
    line.clear();
    for (int x = 0; x < image.width; ++x) line.insert(line.end(), static_cast<std::size_t>(channels), image.at(x, y));
    JSAMPROW row = line.data();
    jpeg_write_scanlines(&jpeg, &row, 1);
  }
  jpeg_finish_compress(&jpeg);
  std::string bytes(reinterpret_cast<char*>(out), size);
  jpeg_destroy_compress(&jpeg);
  std::free(out);
  return bytes;
}

/// The rows of a PNG, each value written by `put`.
template <class Put>
std::string rows_of(const GrayImage& image, Put put) {
  std::string rows;
  for (int y = 0; y < image.height; ++y) {
    rows += '\0';
    for (int x = 0; x < image.width; ++x) put(rows, image.at(x, y));
  }
  return rows;
}

std::uint32_t unsigned_of(int value) {
  return static_cast<std::uint32_t>(value);
}

}  // namespace

TEST_CASE("JPEG of every sort that cameras and programs write is read", "[labels]") {
  const Sample sample;
  for (const int channels : {1, 3, 4}) {
    for (const bool progressive : {false, true}) {
      CAPTURE(channels, progressive);
      CHECK(texts_in(jpeg_of(sample.image, channels, progressive)) == std::vector<std::string>{sample.code});
    }
  }
}

TEST_CASE("PNG with 16 bits or a palette is read", "[labels]") {
  const Sample sample;
  const auto width = unsigned_of(sample.image.width);
  const auto height = unsigned_of(sample.image.height);
  const std::string deep = rows_of(sample.image, [](std::string& rows, std::uint8_t grey) {
    rows += static_cast<char>(grey);
    rows += '\x7f';
  });
  CHECK(texts_in(png_file(width, height, 16, 0, zlib_stored(deep))) == std::vector<std::string>{sample.code});
  const std::string indexed =
      rows_of(sample.image, [](std::string& rows, std::uint8_t grey) { rows += grey < 128 ? '\1' : '\0'; });
  const std::string palette = png_chunk("PLTE", std::string("\xff\xf0\xe0\x20\x10\x30", 6));
  CHECK(texts_in(png_file(width, height, 8, 3, zlib_stored(indexed), palette)) ==
        std::vector<std::string>{sample.code});
}

TEST_CASE("a bomb in a PNG's text is skipped, or refused with a clear line", "[labels]") {
  const Sample sample;
  const std::string rows =
      rows_of(sample.image, [](std::string& out, std::uint8_t grey) { out += static_cast<char>(grey); });
  // 129 MB of zeros in 80 kB, a hundred times.
  const std::string bomb = zlib_zeros(500'000);
  std::string texts;
  for (int i = 0; i < 100; ++i) texts += png_chunk("zTXt", std::string("Comment\0\0", 9) + bomb);
  const std::string file =
      png_file(unsigned_of(sample.image.width), unsigned_of(sample.image.height), 8, 0, zlib_stored(rows), texts);
  try {
    CHECK(texts_in(file) == std::vector<std::string>{sample.code});
  } catch (const core::Error& error) {
    CHECK(error.fault() == core::Fault::unreadable_image);
    CHECK(contains(error.what(), "it is a damaged PNG picture"));
  }
}

TEST_CASE("pictures of impossible shape are refused or searched, and end soon", "[labels]") {
  const std::string column = std::string(2 * 60'000, '\0');
  CHECK(texts_in(png_file(1, 60'000, 8, 0, zlib_stored(column))).empty());
  std::string row(60'001, '\0');
  CHECK(texts_in(png_file(60'000, 1, 8, 0, zlib_stored(row))).empty());
  const core::Error huge = error_of([] { texts_in(png_file(60'000, 60'000, 8, 0, zlib_zeros(10))); });
  CHECK(huge.fault() == core::Fault::unreadable_image);
  CHECK(contains(huge.what(), "60000 x 60000"));
  // More pixels than the file has: the stream ends too early.
  CHECK(error_of([] { texts_in(png_file(3000, 3000, 8, 0, zlib_zeros(10))); }).fault() ==
        core::Fault::unreadable_image);
}
