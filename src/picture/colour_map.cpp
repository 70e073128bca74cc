#include "picture/colour_map.hpp"
#include "picture/inks.hpp"
#include "units/quantity.hpp"
#include <algorithm>
#include <cmath>
#include <cstddef>

namespace sparecoat::picture {
namespace {

// Linear sRGB to CIE XYZ for D65 (IEC 61966-2-1); each row sums to the white point.
constexpr double xyz_from_rgb[3][3] = {{0.4123907993, 0.3575843394, 0.1804807884},
                                       {0.2126390059, 0.7151686788, 0.0721923154},
                                       {0.0193308187, 0.1191947798, 0.9505321522}};
constexpr double rgb_from_xyz[3][3] = {{3.2409699419, -1.5373831776, -0.4986107603},
                                       {-0.9692436363, 1.8759675015, 0.0415550574},
                                       {0.0556300797, -0.2039769589, 1.0569715142}};

constexpr double white(int row) { return xyz_from_rgb[row][0] + xyz_from_rgb[row][1] + xyz_from_rgb[row][2]; }

double linear_from_srgb(double s) { return s <= 0.04045 ? s / 12.92 : std::pow((s + 0.055) / 1.055, 2.4); }

double srgb_from_linear(double c) {
    return c <= 0.0031308 ? 12.92 * c : 1.055 * std::pow(c, 1 / 2.4) - 0.055;
}

// The cube root of CIE L*a*b* with its straight piece near black, and its inverse.
constexpr double knee = 6.0 / 29.0;

double lab_root(double q) {
    return q > knee * knee * knee ? std::cbrt(q) : q / (3 * knee * knee) + 4.0 / 29.0;
}

double lab_cube(double f) { return f > knee ? f * f * f : 3 * knee * knee * (f - 4.0 / 29.0); }

double bezier(const std::array<double, 5>& p, double t) {
    const double s = 1 - t;
    return s * s * s * s * p[0] + 4 * s * s * s * t * p[1] + 6 * s * s * t * t * p[2] +
           4 * s * t * t * t * p[3] + t * t * t * t * p[4];
}

Lab on_path(const ColourMap::Path& path, double t) {
    const double c = bezier(path.chroma, t);
    const double h = bezier(path.hue_deg, t) * deg;
    return {path.lightness_from + (path.lightness_to - path.lightness_from) * t, c * std::cos(h),
            c * std::sin(h)};
}

double difference_1976(Lab p, Lab q) {
    return std::sqrt((p.l - q.l) * (p.l - q.l) + (p.a - q.a) * (p.a - q.a) + (p.b - q.b) * (p.b - q.b));
}

/// Colours at equal distances along the path, ends included.
std::vector<Lab> walk_evenly(const ColourMap::Path& path, std::size_t count) {
    constexpr std::size_t fine = 8192;
    std::vector<double> walked(fine + 1, 0.0);
    const auto t_of = [](std::size_t k) { return static_cast<double>(k) / fine; };
    for (std::size_t k = 1; k <= fine; ++k)
        walked[k] = walked[k - 1] + difference_1976(on_path(path, t_of(k - 1)), on_path(path, t_of(k)));

    std::vector<Lab> colours(count);
    std::size_t k = 1;
    for (std::size_t n = 0; n < count; ++n) {
        const double wanted = walked.back() * static_cast<double>(n) / static_cast<double>(count - 1);
        while (k < fine && walked[k] < wanted) ++k;
        const double part = (wanted - walked[k - 1]) / (walked[k] - walked[k - 1]);
        colours[n] = on_path(path, (static_cast<double>(k - 1) + part) / fine);
    }
    return colours;
}

constexpr std::size_t step_count = 1025;

Rgb within_srgb(Lab colour) {
    const Rgb rgb = rgb_of(colour);
    return {std::clamp(rgb.r, 0.0, 1.0), std::clamp(rgb.g, 0.0, 1.0), std::clamp(rgb.b, 0.0, 1.0)};
}

} // namespace

Lab lab_of(Rgb colour) {
    const double lin[3] = {linear_from_srgb(colour.r), linear_from_srgb(colour.g),
                           linear_from_srgb(colour.b)};
    double f[3];
    for (int row = 0; row < 3; ++row) {
        const auto& m = xyz_from_rgb[row];
        f[row] = lab_root((m[0] * lin[0] + m[1] * lin[1] + m[2] * lin[2]) / white(row));
    }
    return {116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])};
}

Rgb rgb_of(Lab colour) {
    const double fy = (colour.l + 16) / 116;
    const double xyz[3] = {white(0) * lab_cube(fy + colour.a / 500), white(1) * lab_cube(fy),
                           white(2) * lab_cube(fy - colour.b / 200)};
    double part[3];
    for (int row = 0; row < 3; ++row) {
        const auto& m = rgb_from_xyz[row];
        part[row] = srgb_from_linear(m[0] * xyz[0] + m[1] * xyz[1] + m[2] * xyz[2]);
    }
    return {part[0], part[1], part[2]};
}

ColourMap::ColourMap(const Path& path) {
    // Finer than the 8 bits of a PNG, so reading between two of them needs no care.
    for (const Lab& colour : walk_evenly(path, step_count)) steps_.push_back(within_srgb(colour));
}

ColourMap::ColourMap(const Path& below, const Path& above) {
    std::vector<Lab> colours = walk_evenly(below, step_count / 2 + 1);
    std::ranges::reverse(colours);
    const std::vector<Lab> rest = walk_evenly(above, step_count / 2 + 1);
    colours.insert(colours.end(), rest.begin() + 1, rest.end());
    for (const Lab& colour : colours) steps_.push_back(within_srgb(colour));
}

Rgb ColourMap::at(double share) const {
    const double place = (share > 0 ? std::min(share, 1.0) : 0.0) * static_cast<double>(steps_.size() - 1);
    const auto k = std::min(static_cast<std::size_t>(place), steps_.size() - 2);
    const double w = place - static_cast<double>(k);
    const Rgb &p = steps_[k], &q = steps_[k + 1];
    return {p.r + w * (q.r - p.r), p.g + w * (q.g - p.g), p.b + w * (q.b - p.b)};
}

// The ordinates below were chosen by eye within two bounds the tests hold: every colour lies inside
// sRGB, and lightness stays monotone for normal, protan and deutan eyes.
const ColourMap& film_lost_colours() {
    static const ColourMap map({96, 20, {8, 45, 84, 60, 30}, {100, 85, 45, 20, -35}});
    return map;
}

const ColourMap& clear_left_colours() {
    static const ColourMap map({18, 96, {20, 46, 20, 38, 10}, {300, 272, 235, 185, 140}});
    return map;
}

const ColourMap& difference_colours() {
    constexpr std::array<double, 5> chroma{0, 16, 36, 44, 26};
    static const ColourMap map({96, 24, chroma, {272, 272, 272, 272, 272}},
                               {96, 24, chroma, {50, 50, 50, 50, 50}});
    return map;
}

const ColourMap& temperature_colours() {
    static const ColourMap map({95, 20, {5, 24, 59, 76, 32}, {216, 309, 341, 379, 388}});
    return map;
}

Rgb ink_over(const ColourMap& colours, double share) {
    return lab_of(colours.at(share)).l > 52 ? ink : Rgb{0.97, 0.97, 0.98};
}

} // namespace sparecoat::picture
