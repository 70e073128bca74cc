#pragma once
#include "picture/colour_map.hpp"
#include <cairo.h>
#include <filesystem>
#include <string>
#include <string_view>
#include <vector>

namespace sparecoat::picture {

enum class Align { left, centre, right };

struct TextStyle {
    double size = 18;
    bool bold = false;
    Rgb colour{0.13, 0.14, 0.17};
};

enum class PageFormat { png, svg, pdf };
/// By a file's ending. @throws InputError for another ending.
PageFormat page_format(const std::filesystem::path& file);

enum class PaperSize { a4, letter };
/// Page sizes in points (ISO 216; ANSI/ASME Y14.1).
inline constexpr double point_mm = 25.4 / 72;
inline constexpr double a4_width_pt = 210 / point_mm, a4_height_pt = 297 / point_mm;
inline constexpr double letter_width_pt = 612, letter_height_pt = 792;

/// A page, or in a PDF several: Cairo behind a few words. Lengths are design units: of `pixels_per_unit`
/// pixels in a PNG, of a point (1/72 inch) in PDF and SVG; x to the right, y down. Text is UTF-8; bytes that
/// are not are shown as "?".
class Canvas {
public:
    /// A PNG. @throws std::invalid_argument where the page would have no pixel or a side over 32,000.
    Canvas(double width, double height, double pixels_per_unit, Rgb paper);
    /// `pixels_per_unit` counts for a PNG alone.
    Canvas(PageFormat format, double width, double height, Rgb paper, double pixels_per_unit = 1);
    ~Canvas();
    Canvas(const Canvas&) = delete;
    Canvas& operator=(const Canvas&) = delete;

    cairo_t* cairo() const { return context_; }
    double width() const { return width_; }
    double height() const { return height_; }
    double pixels_per_unit() const { return pixels_per_unit_; }

    void set_colour(Rgb colour, double opacity = 1) const;

    /// Draws one line of text with its baseline at y.
    void text(double x, double y, std::string_view words, const TextStyle& style,
              Align align = Align::left) const;

    /// The same, middle of the text at the origin turned by `angle` (rad, clockwise), with a rim of
    /// `halo` colour so that it can lie on a line.
    void text_on_line(double x, double y, double angle, std::string_view words, const TextStyle& style,
                      Rgb halo) const;

    PageFormat format() const { return format_; }
    /// Begins another page of a PDF, of the same size. @throws std::logic_error for another format.
    void next_page();
    /// Title, author and the like of a PDF; the day of its making is left out, so that the same content gives
    /// the same bytes. Nothing for other formats.
    void describe(std::string_view title, std::string_view author) const;

    /// The whole file as bytes; nothing can be drawn after it. Names inside an SVG are the same in each, so
    /// that several on one HTML page belong into "img", not inline. @throws std::runtime_error where Cairo
    /// failed.
    std::string bytes();
    /// Writes them. @throws InputError where the file cannot be written.
    void write(const std::filesystem::path& file);
    /// The same without an end to drawing, for a PNG.
    void write_png(const std::filesystem::path& png) const;

private:
    void lay_paper() const;

    PageFormat format_;
    double width_, height_, pixels_per_unit_;
    Rgb paper_;
    std::string bytes_; ///< that a PDF or SVG has come to so far
    cairo_surface_t* surface_;
    cairo_t* context_;
};

/// A file of these bytes. @throws InputError where it cannot be written.
void write_picture(const std::filesystem::path& file, const std::string& bytes);

/// Width of a line of text in design units.
double text_width(std::string_view words, const TextStyle& style);

/// Breaks text at spaces into lines no wider than `width`, but not after a number, so that it keeps its unit.
/// A single word wider than that is broken anywhere.
std::vector<std::string> wrap_text(std::string_view words, const TextStyle& style, double width);

/// The text with every byte that is not valid UTF-8 (RFC 3629) replaced by "?".
std::string valid_utf8(std::string_view text);

} // namespace sparecoat::picture
