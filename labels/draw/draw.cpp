#include "labels/draw/draw.h"

#include <cairo-pdf.h>
#include <cairo-svg.h>

#include <cmath>

#include "core/base/error.h"
#include "labels/draw/canvas.h"
#include "labels/draw/pango.h"

namespace rackside::labels {
namespace {

constexpr double kMmPerInch = 25.4;
constexpr std::uint8_t kInkBelow = 128;

// A page says nothing of when it was made, so that equal labels give equal files.
constexpr const char* kFixedDate = "2000-01-01T00:00:00Z";

void expect_fine(cairo_status_t status) {
  if (status == CAIRO_STATUS_SUCCESS) return;
  throw core::Error(core::Fault::internal, std::string("A page could not be drawn: ") + cairo_status_to_string(status) +
                                               ". Please report this with the labels' names.");
}

cairo_status_t append(void* out, const unsigned char* data, unsigned int length) {
  static_cast<std::string*>(out)->append(reinterpret_cast<const char*>(data), length);
  return CAIRO_STATUS_SUCCESS;
}

int pixels(double mm, int dpi) {
  return static_cast<int>(std::lround(mm * dpi / kMmPerInch));
}

SurfacePointer draw_raster(const Picture& picture, int dpi, cairo_format_t format) {
  SurfacePointer surface(cairo_image_surface_create(format, pixels(picture.width, dpi), pixels(picture.height, dpi)));
  const CairoPointer cairo(cairo_create(surface.get()));
  cairo_set_source_rgb(cairo.get(), 1, 1, 1);
  cairo_paint(cairo.get());
  cairo_scale(cairo.get(), dpi / 72.0, dpi / 72.0);
  paint(cairo.get(), picture);
  cairo_surface_flush(surface.get());
  expect_fine(cairo_status(cairo.get()));
  expect_fine(cairo_surface_status(surface.get()));
  return surface;
}

const std::uint32_t* row_of(cairo_surface_t* surface, int y) {
  const auto offset = static_cast<std::ptrdiff_t>(y) * cairo_image_surface_get_stride(surface);
  return reinterpret_cast<const std::uint32_t*>(cairo_image_surface_get_data(surface) + offset);
}

template <class Visit>
void for_each_pixel(cairo_surface_t* surface, Visit visit) {
  const int width = cairo_image_surface_get_width(surface);
  const int height = cairo_image_surface_get_height(surface);
  for (int y = 0; y < height; ++y) {
    const std::uint32_t* row = row_of(surface, y);
    for (int x = 0; x < width; ++x) visit(x, y, row[x]);
  }
}

}  // namespace

std::string draw_pdf(const std::vector<Picture>& pages, const std::string& title) {
  if (pages.empty()) throw core::Error(core::Fault::bad_input, "There is nothing to print: no label was given.");
  std::string out;
  const SurfacePointer surface(
      cairo_pdf_surface_create_for_stream(append, &out, pages[0].width * kPointsPerMm, pages[0].height * kPointsPerMm));
  cairo_pdf_surface_set_metadata(surface.get(), CAIRO_PDF_METADATA_TITLE, title.c_str());
  cairo_pdf_surface_set_metadata(surface.get(), CAIRO_PDF_METADATA_CREATE_DATE, kFixedDate);
  const CairoPointer cairo(cairo_create(surface.get()));
  for (const Picture& page : pages) {
    cairo_pdf_surface_set_size(surface.get(), page.width * kPointsPerMm, page.height * kPointsPerMm);
    paint(cairo.get(), page);
    cairo_show_page(cairo.get());
  }
  cairo_surface_finish(surface.get());
  expect_fine(cairo_status(cairo.get()));
  expect_fine(cairo_surface_status(surface.get()));
  return out;
}

std::string draw_svg(const Picture& picture) {
  std::string out;
  const SurfacePointer surface(
      cairo_svg_surface_create_for_stream(append, &out, picture.width * kPointsPerMm, picture.height * kPointsPerMm));
  const CairoPointer cairo(cairo_create(surface.get()));
  paint(cairo.get(), picture);
  cairo_surface_finish(surface.get());
  expect_fine(cairo_status(cairo.get()));
  expect_fine(cairo_surface_status(surface.get()));
  return out;
}

GrayImage draw_gray(const Picture& picture, int dpi) {
  const SurfacePointer surface = draw_raster(picture, dpi, CAIRO_FORMAT_RGB24);
  GrayImage image(pixels(picture.width, dpi), pixels(picture.height, dpi));
  for_each_pixel(surface.get(), [&](int x, int y, std::uint32_t pixel) {
    // Black ink on white paper: one channel tells all.
    image.at(x, y) = static_cast<std::uint8_t>((pixel >> 8) & 0xff);
  });
  return image;
}

ColorImage draw_color(const Picture& picture, int dpi) {
  const SurfacePointer surface = draw_raster(picture, dpi, CAIRO_FORMAT_RGB24);
  ColorImage image(pixels(picture.width, dpi), pixels(picture.height, dpi));
  for_each_pixel(surface.get(), [&](int x, int y, std::uint32_t pixel) {
    std::uint8_t* target = image.pixels.data() + image.index(x, y);
    target[0] = static_cast<std::uint8_t>((pixel >> 16) & 0xff);
    target[1] = static_cast<std::uint8_t>((pixel >> 8) & 0xff);
    target[2] = static_cast<std::uint8_t>(pixel & 0xff);
  });
  return image;
}

GrayImage draw_one_bit(const Picture& picture, int dpi) {
  GrayImage image = draw_gray(picture, dpi);
  for (std::uint8_t& pixel : image.pixels) pixel = pixel < kInkBelow ? 0 : 255;
  return image;
}

}  // namespace rackside::labels
