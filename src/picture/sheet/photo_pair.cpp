#include "picture/sheet/photo_pair.hpp"
#include "picture/canvas.hpp"
#include "picture/document/logo.hpp"
#include "units/quantity.hpp"
#include <algorithm>
#include <cairo.h>
#include <fmt/format.h>
#include <memory>

namespace sparecoat::picture::sheet {
namespace {

constexpr long most_pixels = 50'000'000;

/// Numbers in a file, in either order of bytes; 0 beyond its end.
struct Numbers {
    std::string_view bytes;
    bool little = false;
    unsigned at(std::size_t from, std::size_t count) const {
        if (from > bytes.size() || bytes.size() - from < count) return 0;
        unsigned value = 0;
        for (std::size_t k = 0; k < count; ++k)
            value = value << 8U | static_cast<unsigned char>(bytes[from + (little ? count - 1 - k : k)]);
        return value;
    }
};

/// Orientation and DateTimeOriginal of a TIFF block, as Exif has it.
void read_exif(std::string_view tiff, TakenPhoto& photo) {
    const Numbers in{tiff, tiff.starts_with("II")};
    constexpr unsigned orientation = 0x0112, exif_block = 0x8769, taken = 0x9003, entry_bytes = 12;
    std::size_t next = 0;
    const auto read_block = [&](std::size_t from) {
        const unsigned entries = std::min(in.at(from, 2), 200U);
        for (unsigned k = 0; k < entries; ++k) {
            const std::size_t entry = from + 2 + k * entry_bytes;
            const unsigned tag = in.at(entry, 2);
            if (tag == orientation) photo.turned = static_cast<int>(in.at(entry + 8, 2));
            if (tag == exif_block) next = in.at(entry + 8, 4);
            const std::size_t text = in.at(entry + 8, 4);
            if (tag == taken && text < tiff.size() && tiff.size() - text >= 19)
                photo.taken = tiff.substr(text, 19);
        }
    };
    read_block(in.at(4, 4));
    if (next > 0) read_block(next);
    if (photo.turned < 1 || photo.turned > 8) photo.turned = 1;
    if (photo.taken.size() == 19 && photo.taken[4] == ':' && photo.taken[7] == ':')
        photo.taken[4] = '-', photo.taken[7] = '-';
    else photo.taken.clear();
}

bool read_jpeg(TakenPhoto& photo) {
    const Numbers in{photo.bytes};
    for (std::size_t at = 2; at + 4 <= photo.bytes.size();) {
        if (in.at(at, 1) != 0xFF) return false;
        const unsigned marker = in.at(at + 1, 1), length = in.at(at + 2, 2);
        const bool frame =
            marker >= 0xC0 && marker <= 0xCF && marker != 0xC4 && marker != 0xC8 && marker != 0xCC;
        if (frame) {
            photo.height = static_cast<int>(in.at(at + 5, 2)),
            photo.width = static_cast<int>(in.at(at + 7, 2));
            return true;
        }
        const std::string_view body =
            std::string_view(photo.bytes).substr(at + 4, length < 2 ? 0 : length - 2);
        constexpr std::string_view exif{"Exif\0\0", 6};
        if (marker == 0xE1 && body.starts_with(exif)) read_exif(body.substr(exif.size()), photo);
        if (length < 2) return false;
        at += 2 + length;
    }
    return false;
}

using Surface = std::shared_ptr<cairo_surface_t>;

/// A JPEG goes into PDF and SVG as it is: its pixels are never unpacked here.
Surface surface_of(const TakenPhoto& photo) {
    if (!photo.jpeg) return document::png_surface(photo.bytes);
    Surface surface{cairo_image_surface_create(CAIRO_FORMAT_RGB24, photo.width, photo.height),
                    cairo_surface_destroy};
    auto* bytes = new std::string(photo.bytes);
    cairo_surface_set_mime_data(
        surface.get(), CAIRO_MIME_TYPE_JPEG, reinterpret_cast<const unsigned char*>(bytes->data()),
        bytes->size(), [](void* held) { delete static_cast<std::string*>(held); }, bytes);
    return surface;
}

constexpr double gap_pt = 12, tallest_pt = 210, caption_pt = 16;

bool on_its_side(const TakenPhoto& photo) { return photo.turned >= 5; }

/// pt for a pixel.
double scale_of(const TakenPhoto& photo) {
    const double wide = on_its_side(photo) ? photo.height : photo.width,
                 high = on_its_side(photo) ? photo.width : photo.height;
    return std::min((document::widest_pt - gap_pt) / 2 / wide, tallest_pt / high);
}

void draw_photo(const Canvas& canvas, double x, double y, const TakenPhoto& photo, cairo_surface_t* surface) {
    cairo_t* const c = canvas.cairo();
    const double scale = scale_of(photo), w = photo.width, h = photo.height;
    cairo_save(c);
    cairo_translate(c, x, y);
    cairo_scale(c, scale, scale);
    // Exif 2.3, Orientation: where the stored picture's first row and column lie.
    const cairo_matrix_t turns[] = {{1, 0, 0, 1, 0, 0},   {-1, 0, 0, 1, w, 0}, {-1, 0, 0, -1, w, h},
                                    {1, 0, 0, -1, 0, h},  {0, 1, 1, 0, 0, 0},  {0, 1, -1, 0, h, 0},
                                    {0, -1, -1, 0, h, w}, {0, -1, 1, 0, 0, w}};
    cairo_transform(c, &turns[photo.turned - 1]);
    cairo_set_source_surface(c, surface, 0, 0);
    cairo_paint(c);
    cairo_restore(c);
}

} // namespace

std::optional<TakenPhoto> read_photo(std::string bytes) {
    TakenPhoto photo;
    photo.bytes = std::move(bytes);
    const Numbers in{photo.bytes};
    constexpr std::string_view png{"\x89PNG\r\n\x1a\n", 8};
    if (photo.bytes.starts_with(png)) {
        photo.width = static_cast<int>(in.at(16, 4) & 0xFFFFFU),
        photo.height = static_cast<int>(in.at(20, 4) & 0xFFFFFU);
    } else {
        photo.jpeg = photo.bytes.starts_with("\xFF\xD8");
        if (!photo.jpeg || !read_jpeg(photo)) return std::nullopt;
    }
    if (photo.width < 1 || photo.height < 1 || static_cast<long>(photo.width) * photo.height > most_pixels)
        return std::nullopt;
    if (cairo_surface_status(surface_of(photo).get()) != CAIRO_STATUS_SUCCESS) return std::nullopt;
    return photo;
}

PhotoPair pair_of(std::vector<TakenPhoto> photos, const std::string& visit_date) {
    std::erase_if(photos, [](const TakenPhoto& photo) { return photo.taken.empty(); });
    std::ranges::stable_sort(photos, {}, &TakenPhoto::taken);
    PhotoPair pair;
    std::vector<TakenPhoto> that_day;
    for (TakenPhoto& photo : photos) {
        const std::string day = photo.taken.substr(0, 10);
        if (day < visit_date) pair.before = std::move(photo);
        else if (day > visit_date) pair.after = std::move(photo);
        else that_day.push_back(std::move(photo));
    }
    if (that_day.size() >= 2) {
        pair.before = std::move(that_day.front());
        if (!pair.after) pair.after = std::move(that_day.back());
    } else if (that_day.size() == 1) {
        if (pair.before && !pair.after) pair.after = std::move(that_day[0]);
        else if (pair.after && !pair.before) pair.before = std::move(that_day[0]);
        else if (!pair.before) pair.that_day = std::move(that_day[0]);
    }
    return pair;
}

document::Picture picture_of(const PhotoPair& pair) {
    struct Shown {
        TakenPhoto photo;
        std::string words;
        Surface surface;
    };
    auto shown = std::make_shared<std::vector<Shown>>();
    std::string words;
    double tallest = 0;
    const auto show = [&](const std::optional<TakenPhoto>& photo, std::string_view when) {
        if (!photo) return;
        std::string line = fmt::format("{}, {}", when, photo->taken.substr(0, 10));
        if (!photo->caption.empty()) line += ": " + photo->caption;
        words += (words.empty() ? "" : "; ") + line;
        tallest = std::max(tallest, scale_of(*photo) * (on_its_side(*photo) ? photo->width : photo->height));
        shown->push_back({*photo, line, surface_of(*photo)});
    };
    show(pair.before, "Before"), show(pair.that_day, "On the day"), show(pair.after, "After");
    return {document::widest_pt, tallest + caption_pt, words,
            [shown, tallest](const Canvas& canvas, double x, double y) {
                for (std::size_t k = 0; k < shown->size(); ++k) {
                    const Shown& one = (*shown)[k];
                    const double left = x + static_cast<double>(k) * (document::widest_pt + gap_pt) / 2;
                    draw_photo(canvas, left, y, one.photo, one.surface.get());
                    canvas.text(left, y + tallest + caption_pt - 5, one.words, TextStyle{.size = 9});
                }
            }};
}

} // namespace sparecoat::picture::sheet
