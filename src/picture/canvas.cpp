#include "picture/canvas.hpp"
#include "units/error.hpp"
#include <algorithm>
#include <cairo-pdf.h>
#include <cairo-svg.h>
#include <cctype>
#include <cmath>
#include <fstream>
#include <stdexcept>

namespace sparecoat::picture {
namespace {

// DejaVu Sans has every sign used here (µ, °, the true minus) and is on every Debian desktop; where it is
// missing fontconfig picks the nearest sans.
constexpr const char* font_family = "DejaVu Sans";

void set_font(cairo_t* context, const TextStyle& style) {
    cairo_select_font_face(context, font_family, CAIRO_FONT_SLANT_NORMAL,
                           style.bold ? CAIRO_FONT_WEIGHT_BOLD : CAIRO_FONT_WEIGHT_NORMAL);
    cairo_set_font_size(context, style.size);
    cairo_font_options_t* options = cairo_font_options_create();
    // Unhinted grey glyphs: widths then scale with the page and turned text keeps its shape.
    cairo_font_options_set_hint_style(options, CAIRO_HINT_STYLE_NONE);
    cairo_font_options_set_hint_metrics(options, CAIRO_HINT_METRICS_OFF);
    cairo_font_options_set_antialias(options, CAIRO_ANTIALIAS_GRAY);
    cairo_set_font_options(context, options);
    cairo_font_options_destroy(options);
}

/// A page of one pixel to measure text on before the real page's height is known.
cairo_t* measuring_context() {
    struct Scratch {
        cairo_surface_t* surface = cairo_image_surface_create(CAIRO_FORMAT_RGB24, 1, 1);
        cairo_t* context = cairo_create(surface);
        ~Scratch() {
            cairo_destroy(context);
            cairo_surface_destroy(surface);
        }
    };
    thread_local Scratch scratch;
    return scratch.context;
}

/// Length of the valid UTF-8 sequence at the start of text, 0 where there is none (RFC 3629, section 4).
std::size_t sequence_length(std::string_view text) {
    const auto byte = [&](std::size_t n) { return static_cast<unsigned char>(text[n]); };
    const unsigned lead = byte(0);
    if (lead < 0x80) return lead == 0 ? 0 : 1;
    const std::size_t length = lead >= 0xc2 && lead < 0xe0   ? 2
                               : (lead & 0xf0) == 0xe0       ? 3
                               : lead >= 0xf0 && lead < 0xf5 ? 4
                                                             : 0;
    if (length == 0 || text.size() < length) return 0;
    for (std::size_t n = 1; n < length; ++n)
        if ((byte(n) & 0xc0) != 0x80) return 0;
    const unsigned second = byte(1);
    const bool overlong = (lead == 0xe0 && second < 0xa0) || (lead == 0xf0 && second < 0x90);
    const bool surrogate = lead == 0xed && second > 0x9f;
    const bool beyond = lead == 0xf4 && second > 0x8f;
    return overlong || surrogate || beyond ? 0 : length;
}

/// The first word, a number together with the word that follows it.
std::string_view first_word(std::string_view text) {
    const std::size_t space = text.find(' ');
    const std::string_view word = text.substr(0, space);
    const bool number = !word.empty() && word.find_first_not_of("0123456789.") == std::string_view::npos;
    return number && space != std::string_view::npos ? text.substr(0, text.find(' ', space + 1)) : word;
}

/// As many whole characters of `word` as fit into `width`, at least one.
std::size_t fitting_length(std::string_view word, const TextStyle& style, double width) {
    std::size_t end = sequence_length(word);
    while (end < word.size()) {
        const std::size_t next = end + sequence_length(word.substr(end));
        if (text_width(word.substr(0, next), style) > width) break;
        end = next;
    }
    return end;
}

/// Cairo numbers the surfaces that a program makes: the same picture is to be the same bytes.
void drop_surface_number(std::string& svg) {
    constexpr std::string_view name = "id=\"surface";
    const std::size_t at = svg.find(name);
    if (at == std::string::npos) return;
    const std::size_t from = at + name.size();
    svg.erase(from, svg.find_first_not_of("0123456789", from) - from);
}

cairo_status_t append_bytes(void* bytes, const unsigned char* data, unsigned int length) {
    static_cast<std::string*>(bytes)->append(reinterpret_cast<const char*>(data), length);
    return CAIRO_STATUS_SUCCESS;
}

} // namespace

std::string valid_utf8(std::string_view text) {
    std::string valid;
    while (!text.empty()) {
        const std::size_t length = sequence_length(text);
        if (length == 0) valid += '?';
        else valid += text.substr(0, length);
        text.remove_prefix(length == 0 ? 1 : length);
    }
    return valid;
}

double text_width(std::string_view words, const TextStyle& style) {
    cairo_t* context = measuring_context();
    set_font(context, style);
    cairo_text_extents_t extents;
    cairo_text_extents(context, valid_utf8(words).c_str(), &extents);
    return extents.x_advance;
}

std::vector<std::string> wrap_text(std::string_view words, const TextStyle& style, double width) {
    const std::string valid = valid_utf8(words);
    std::string_view rest = valid;
    std::vector<std::string> lines;
    std::string line;
    while (!rest.empty()) {
        std::string_view word = first_word(rest);
        rest.remove_prefix(std::min(word.size() + 1, rest.size())); // and the space after it
        if (!line.empty() && text_width(line + ' ' + std::string(word), style) > width) {
            lines.push_back(std::move(line));
            line.clear();
        }
        while (line.empty() && text_width(word, style) > width) {
            const std::size_t length = fitting_length(word, style, width);
            if (length >= word.size()) break;
            lines.emplace_back(word.substr(0, length));
            word.remove_prefix(length);
        }
        line += (line.empty() ? "" : " ") + std::string(word);
    }
    if (!line.empty()) lines.push_back(std::move(line));
    return lines;
}

PageFormat page_format(const std::filesystem::path& file) {
    std::string ending = file.extension().string();
    std::ranges::transform(ending, ending.begin(),
                           [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
    if (ending == ".png") return PageFormat::png;
    if (ending == ".svg") return PageFormat::svg;
    if (ending == ".pdf") return PageFormat::pdf;
    throw InputError(file.string(), "",
                     ending.empty() ? "a file name without an ending" : "\"" + ending + "\"",
                     "a picture that ends in .png, .svg or .pdf");
}

Canvas::Canvas(double width, double height, double pixels_per_unit, Rgb paper)
    : Canvas(PageFormat::png, width, height, paper, pixels_per_unit) {}

Canvas::Canvas(PageFormat format, double width, double height, Rgb paper, double pixels_per_unit)
    : format_(format), width_(width), height_(height),
      pixels_per_unit_(format == PageFormat::png ? pixels_per_unit : 1), paper_(paper) {
    if (format == PageFormat::png) {
        const double columns = std::ceil(width * pixels_per_unit - 1e-6);
        const double rows = std::ceil(height * pixels_per_unit - 1e-6);
        if (!(columns >= 1 && rows >= 1 && columns <= 32000 && rows <= 32000))
            throw std::invalid_argument("Canvas: a picture needs 1 to 32000 pixels a side");
        surface_ =
            cairo_image_surface_create(CAIRO_FORMAT_RGB24, static_cast<int>(columns), static_cast<int>(rows));
    } else if (format == PageFormat::svg) {
        surface_ = cairo_svg_surface_create_for_stream(append_bytes, &bytes_, width, height);
    } else {
        surface_ = cairo_pdf_surface_create_for_stream(append_bytes, &bytes_, width, height);
    }
    context_ = cairo_create(surface_);
    cairo_scale(context_, pixels_per_unit_, pixels_per_unit_);
    cairo_set_line_join(context_, CAIRO_LINE_JOIN_ROUND);
    cairo_set_line_cap(context_, CAIRO_LINE_CAP_ROUND);
    lay_paper();
}

void Canvas::lay_paper() const {
    set_colour(paper_);
    cairo_paint(context_);
}

void Canvas::next_page() {
    if (format_ != PageFormat::pdf) throw std::logic_error("only a PDF has more than one page");
    cairo_show_page(context_);
    lay_paper();
}

void Canvas::describe(std::string_view title, std::string_view author) const {
    if (format_ != PageFormat::pdf) return;
    cairo_pdf_surface_set_metadata(surface_, CAIRO_PDF_METADATA_TITLE, valid_utf8(title).c_str());
    cairo_pdf_surface_set_metadata(surface_, CAIRO_PDF_METADATA_AUTHOR, valid_utf8(author).c_str());
    cairo_pdf_surface_set_metadata(surface_, CAIRO_PDF_METADATA_CREATE_DATE, "");
}

Canvas::~Canvas() {
    cairo_destroy(context_);
    cairo_surface_finish(surface_); // while the bytes that it appends to are there
    cairo_surface_destroy(surface_);
}

void Canvas::set_colour(Rgb colour, double opacity) const {
    cairo_set_source_rgba(context_, colour.r, colour.g, colour.b, opacity);
}

void Canvas::text(double x, double y, std::string_view words, const TextStyle& style, Align align) const {
    const double width = align == Align::left ? 0 : text_width(words, style);
    set_font(context_, style);
    set_colour(style.colour);
    cairo_move_to(context_, x - (align == Align::right ? width : align == Align::centre ? width / 2 : 0), y);
    cairo_show_text(context_, valid_utf8(words).c_str());
    cairo_new_path(context_);
}

void Canvas::text_on_line(double x, double y, double angle, std::string_view words, const TextStyle& style,
                          Rgb halo) const {
    cairo_save(context_);
    cairo_translate(context_, x, y);
    cairo_rotate(context_, angle);
    set_font(context_, style);
    cairo_move_to(context_, -text_width(words, style) / 2, 0.36 * style.size); // digits are 0.73 em tall
    cairo_text_path(context_, valid_utf8(words).c_str());
    set_colour(halo);
    cairo_set_line_width(context_, 0.32 * style.size);
    cairo_stroke_preserve(context_);
    set_colour(style.colour);
    cairo_fill(context_);
    cairo_restore(context_);
}

std::string Canvas::bytes() {
    cairo_surface_flush(surface_);
    cairo_status_t status = cairo_status(context_);
    if (status == CAIRO_STATUS_SUCCESS) {
        if (format_ == PageFormat::png) {
            bytes_.clear();
            status = cairo_surface_write_to_png_stream(surface_, append_bytes, &bytes_);
        } else {
            cairo_surface_finish(surface_);
            status = cairo_surface_status(surface_);
            if (format_ == PageFormat::svg) drop_surface_number(bytes_);
        }
    }
    if (status != CAIRO_STATUS_SUCCESS) throw std::runtime_error(cairo_status_to_string(status));
    return bytes_;
}

void Canvas::write(const std::filesystem::path& file) { write_picture(file, bytes()); }

void write_picture(const std::filesystem::path& file, const std::string& whole) {
    std::ofstream out(file, std::ios::binary);
    out.write(whole.data(), static_cast<std::streamsize>(whole.size()));
    out.close();
    if (!out)
        throw InputError(file.string(), "", "a file that cannot be written",
                         "a picture file that can be written");
}

void Canvas::write_png(const std::filesystem::path& png) const {
    cairo_surface_flush(surface_);
    cairo_status_t status = cairo_status(context_);
    if (status == CAIRO_STATUS_SUCCESS) status = cairo_surface_write_to_png(surface_, png.string().c_str());
    if (status != CAIRO_STATUS_SUCCESS)
        throw InputError(png.string(), "", cairo_status_to_string(status),
                         "a picture file that can be written");
}

} // namespace sparecoat::picture
