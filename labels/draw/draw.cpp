#include "labels/draw/draw.h"

#include <cairo-pdf.h>
#include <cairo-svg.h>

#include <algorithm>
#include <cmath>
#include <exception>
#include <stdexcept>

#include "core/base/error.h"
#include "labels/draw/canvas.h"
#include "labels/draw/pango.h"
#include "labels/draw/pdf_update.h"

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

/// What a raster shows: a part of a picture's pixels, and the shapes that reach into it.
SurfacePointer draw_raster(const Picture& picture, int dpi, const PixelPart& part) {
  SurfacePointer surface(cairo_image_surface_create(CAIRO_FORMAT_RGB24, part.width, part.height));
  const CairoPointer cairo(cairo_create(surface.get()));
  cairo_set_source_rgb(cairo.get(), 1, 1, 1);
  cairo_paint(cairo.get());
  cairo_translate(cairo.get(), -part.left, -part.top);
  cairo_scale(cairo.get(), dpi / 72.0, dpi / 72.0);
  paint(cairo.get(), picture);
  cairo_surface_flush(surface.get());
  expect_fine(cairo_status(cairo.get()));
  expect_fine(cairo_surface_status(surface.get()));
  return surface;
}

SurfacePointer draw_whole(const Picture& picture, int dpi) {
  const auto [width, height] = pixels_of(picture, dpi);
  return draw_raster(picture, dpi, {0, 0, width, height});
}

/// The room that a shape may ink. Text is given an em more on every side than its box.
struct Reach {
  Box operator()(const FilledBox& shape) const { return shape.box; }
  Box operator()(const OutlinedBox& shape) const { return shape.box; }
  Box operator()(const Ring& shape) const {
    const double reach = shape.radius + shape.stroke;
    return {shape.x - reach, shape.y - reach, 2 * reach, 2 * reach};
  }
  Box operator()(const Stroke& shape) const {
    const double left = std::min(shape.x1, shape.x2) - shape.width;
    const double top = std::min(shape.y1, shape.y2) - shape.width;
    return {left, top, std::max(shape.x1, shape.x2) + shape.width - left,
            std::max(shape.y1, shape.y2) + shape.width - top};
  }
  Box operator()(const TextLine& shape) const {
    return {shape.box.x - shape.size, shape.box.y - shape.size, shape.box.width + 2 * shape.size,
            shape.box.height + 2 * shape.size};
  }
  Box operator()(const PlacedSymbol& shape) const { return shape.box(); }
};

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

GrayImage gray_of(cairo_surface_t* surface) {
  GrayImage image(cairo_image_surface_get_width(surface), cairo_image_surface_get_height(surface));
  // Black ink on white paper: one channel tells all.
  const auto ink = [](std::uint32_t pixel) { return static_cast<std::uint8_t>((pixel >> 8) & 0xff); };
  for (int y = 0; y < image.height; ++y) {
    const std::uint32_t* row = row_of(surface, y);
    std::transform(row, row + image.width, image.pixels.data() + image.index(0, y), ink);
  }
  return image;
}

}  // namespace

struct PdfWriter::Document {
  explicit Document(std::function<void(std::string_view)> to) : sink(std::move(to)) {}

  /// Called by the library, which no exception may pass.
  static cairo_status_t take(void* self, const unsigned char* data, unsigned int length) {
    auto& document = *static_cast<Document*>(self);
    if (document.failure) return CAIRO_STATUS_WRITE_ERROR;
    const std::string_view bytes(reinterpret_cast<const char*>(data), length);
    try {
      document.sink(bytes);
    } catch (...) {
      document.failure = std::current_exception();
      return CAIRO_STATUS_WRITE_ERROR;
    }
    document.size += length;
    document.tail += bytes;
    if (document.tail.size() > 2 * kTail) document.tail.erase(0, document.tail.size() - kTail);
    return CAIRO_STATUS_SUCCESS;
  }

  void expect_fine_so_far() const {
    if (failure) std::rethrow_exception(failure);
    if (cairo) expect_fine(cairo_status(cairo.get()));
    if (surface) expect_fine(cairo_surface_status(surface.get()));
  }

  /// Enough for the table of a file of ten thousand pages: five objects each, twenty bytes an object.
  static constexpr std::size_t kTail = std::size_t{1} << 20;

  std::function<void(std::string_view)> sink;
  std::string tail;
  std::size_t size = 0;
  std::exception_ptr failure;
  SurfacePointer surface;
  CairoPointer cairo;
};

PdfWriter::PdfWriter(std::function<void(std::string_view)> sink, const std::string& title)
    : document_(std::make_unique<Document>(std::move(sink))) {
  Document& document = *document_;
  document.surface.reset(cairo_pdf_surface_create_for_stream(Document::take, &document, 1, 1));
  cairo_pdf_surface_restrict_to_version(document.surface.get(), CAIRO_PDF_VERSION_1_4);
  cairo_pdf_surface_set_metadata(document.surface.get(), CAIRO_PDF_METADATA_TITLE, title.c_str());
  cairo_pdf_surface_set_metadata(document.surface.get(), CAIRO_PDF_METADATA_CREATE_DATE, kFixedDate);
  document.cairo.reset(cairo_create(document.surface.get()));
}

PdfWriter::~PdfWriter() {
  // The library would write the rest of a file that nobody wants any more.
  if (!document_->failure) document_->failure = std::make_exception_ptr(std::runtime_error("abandoned"));
}

void PdfWriter::add(const Picture& page) {
  cairo_pdf_surface_set_size(document_->surface.get(), page.width * kPointsPerMm, page.height * kPointsPerMm);
  paint(document_->cairo.get(), page);
  cairo_show_page(document_->cairo.get());
  document_->expect_fine_so_far();
}

void PdfWriter::finish() {
  cairo_surface_finish(document_->surface.get());
  document_->expect_fine_so_far();
  document_->sink(unscaled_update(document_->tail, document_->size));
}

std::string draw_pdf(const std::vector<Picture>& pages, const std::string& title) {
  if (pages.empty()) throw core::Error(core::Fault::bad_input, "There is nothing to print: no label was given.");
  std::string out;
  PdfWriter writer([&out](std::string_view bytes) { out += bytes; }, title);
  for (const Picture& page : pages) writer.add(page);
  writer.finish();
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

std::pair<int, int> pixels_of(const Picture& picture, int dpi) {
  return {pixels(picture.width, dpi), pixels(picture.height, dpi)};
}

GrayImage draw_gray(const Picture& picture, int dpi) {
  return gray_of(draw_whole(picture, dpi).get());
}

GrayImage draw_gray_part(const Picture& picture, int dpi, const PixelPart& part) {
  const double mm = kMmPerInch / dpi;
  const Box room{part.left * mm, part.top * mm, part.width * mm, part.height * mm};
  Picture near;
  for (const Shape& shape : picture.shapes) {
    if (overlap(std::visit(Reach{}, shape), room, 0)) near.shapes.push_back(shape);
  }
  return gray_of(draw_raster(near, dpi, part).get());
}

ColorImage draw_color(const Picture& picture, int dpi) {
  const SurfacePointer surface = draw_whole(picture, dpi);
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
