#include "library/plate.hpp"
#include "formats/csv.hpp"
#include "formats/reference.hpp"
#include "units/error.hpp"
#include "units/quantity.hpp"
#include "units/text.hpp"
#include <algorithm>
#include <fmt/format.h>

namespace sparecoat::library {
namespace {

using nlohmann::json;

constexpr double least_side_m = 0.02, most_side_m = 4;
constexpr double corner_m = 0.005;
/// Of a body line: those of the shipped rear door's waist line.
constexpr double line_height_m = 0.006, line_crest_m = 0.008, line_flank_m = 0.045, line_fade_m = 0.06;

constexpr const char* a_plate = "width x height such as \"1200x800 mm\" or \"1.2x0.8 m\", and after commas "
                                "\"crown 3 m\", \"line y 400 mm\", "
                                "\"corner 20 mm\", \"plastic\"";

std::string length_text(double metres) { return fmt::format("{:g} mm", metres / mm); }

class PlateReader {
public:
    explicit PlateReader(std::string text) : text_(std::move(text)) {}

    /// A digit first, and an x that follows nothing but a number and its unit.
    bool starts_as_a_size() const {
        if (text_.empty() || text_[0] < '0' || text_[0] > '9') return false;
        const auto after = text_.find_first_not_of("0123456789. ");
        if (after == std::string::npos) return false;
        std::string_view rest = std::string_view(text_).substr(after);
        for (const std::string_view unit : {"mm", "cm", "m"})
            if (rest.starts_with(unit)) {
                rest = trimmed(rest.substr(unit.size()));
                break;
            }
        return rest.starts_with("x");
    }

    Plate read() {
        const std::vector<std::string> parts = csv_values(text_);
        read_size(parts.front());
        for (std::size_t k = 1; k < parts.size(); ++k) read_part(parts[k]);
        check();
        return write();
    }

private:
    [[noreturn]] void refuse(std::string found, std::string allowed) const {
        throw InputError("", "the plate \"" + text_ + "\"", std::move(found), std::move(allowed));
    }

    double length(const std::string& text, const char* allowed) const {
        try {
            return parse_quantity(text, Dim::length);
        } catch (const std::invalid_argument& error) {
            refuse(error.what(), allowed);
        }
    }

    void read_size(const std::string& part) {
        const auto by = part.find('x');
        std::string width(trimmed(part.substr(0, by))), height(trimmed(part.substr(by + 1)));
        const auto unit_in = [](const std::string& side) {
            const auto from = side.find_first_not_of("0123456789.");
            return from == std::string::npos ? std::string() : std::string(trimmed(side.substr(from)));
        };
        const std::string unit = unit_in(height);
        if (unit.empty() && unit_in(width).empty()) width += " mm", height += " mm";
        else if (unit_in(width).empty()) width += " " + unit;
        width_m_ = length(width, a_plate), height_m_ = length(height, a_plate);
        for (const double side_m : {width_m_, height_m_})
            if (side_m < least_side_m || side_m > most_side_m)
                refuse(fmt::format("a side of {}", length_text(side_m)), "sides of 20 mm to 4 m");
    }

    void read_part(const std::string& part) {
        const auto blank = part.find(' ');
        const std::string word = lower_case(part.substr(0, blank));
        std::string rest(blank == std::string::npos ? std::string_view() : trimmed(part.substr(blank)));
        const auto along = [&](char one, char other) { // takes a letter in front off
            if (rest.size() < 2 || (rest[0] != one && rest[0] != other) || rest[1] != ' ') return '\0';
            const char letter = rest[0];
            rest = trimmed(rest.substr(1));
            return letter;
        };
        if (word == "crown") {
            const char way = along('u', 'v');
            const double radius_m = length(rest, "a radius, such as \"crown 3 m\" or \"crown v 3 m\"");
            if (way != 'v') crown_u_m_ = radius_m;
            if (way != 'u') crown_v_m_ = radius_m;
        } else if (word == "line") {
            const char* const allowed =
                "\"line y 400 mm\" for one across, \"line x 300 mm\" for an upright one";
            const char way = along('x', 'y');
            if (way == '\0') refuse(fmt::format("\"{}\"", part), allowed);
            lines_.push_back({way, length(rest, allowed)});
        } else if (word == "corner") {
            corner_m_ = length(rest, "a radius, such as \"corner 20 mm\"");
        } else if (word == "substrate" && !rest.empty()) {
            substrate_ = rest;
        } else if (rest.empty() && (word == "steel" || word == "aluminium" || word == "plastic")) {
            substrate_ = word;
        } else {
            refuse(fmt::format("\"{}\"", part), a_plate);
        }
    }

    void check() const {
        // A radius of half the diagonal is a half sphere: no panel, and no pad lies on it.
        const double least_crown_m = std::max(width_m_, height_m_);
        for (const double radius_m : {crown_u_m_, crown_v_m_})
            if (radius_m != 0 && radius_m < least_crown_m)
                refuse(fmt::format("a crown of {}", length_text(radius_m)),
                       fmt::format("a radius of {} (the longer side) or more", length_text(least_crown_m)));
        const double shorter_m = std::min(width_m_, height_m_);
        if (corner_m_ < 0 || corner_m_ > shorter_m / 2)
            refuse(fmt::format("corners of {}", length_text(corner_m_)),
                   fmt::format("0 mm to {}", length_text(shorter_m / 2)));
        for (const Line& line : lines_) {
            const double across_m = line.way == 'y' ? height_m_ : width_m_;
            if (across_m < 2 * line_flank_m || (line.way == 'y' ? width_m_ : height_m_) < 4 * line_fade_m)
                refuse("a body line on a plate too small for it",
                       fmt::format("{} across it and {} along it at the least", length_text(2 * line_flank_m),
                                   length_text(4 * line_fade_m)));
            if (line.at_m < line_flank_m || line.at_m > across_m - line_flank_m)
                refuse(fmt::format("a body line at {} {}", line.way, length_text(line.at_m)),
                       fmt::format("{} to {}, so that its flanks lie on the plate", length_text(line_flank_m),
                                   length_text(across_m - line_flank_m)));
        }
    }

    Plate write() const {
        const std::string size = fmt::format("{:g}x{:g}", width_m_ / mm, height_m_ / mm);
        Plate plate{"plate-" + size, {}};
        const auto corner = [&](double x_m, double y_m, const char* edge) {
            return json{{"at", {length_text(x_m), length_text(y_m)}},
                        {"radius", length_text(corner_m_)},
                        {"edge", edge}};
        };
        plate.body = {{"kind", "panel"},
                      {"name", fmt::format("Plate {:g} x {:g} mm", width_m_ / mm, height_m_ / mm)},
                      {"substrate", substrate_},
                      {"outline",
                       {corner(0, 0, "bottom"), corner(width_m_, 0, "right"),
                        corner(width_m_, height_m_, "top"), corner(0, height_m_, "left")}}};
        const auto add = [&](std::string_view word, double metres) {
            plate.file += fmt::format("-{}-{:g}", word, metres / mm);
        };
        if (crown_u_m_ != 0) plate.body["crown"]["u"] = length_text(crown_u_m_), add("u", crown_u_m_);
        if (crown_v_m_ != 0) plate.body["crown"]["v"] = length_text(crown_v_m_), add("v", crown_v_m_);
        int number = 0;
        for (const Line& line : lines_) {
            const bool across = line.way == 'y';
            const json from = across ? json{"0 mm", length_text(line.at_m)}
                                     : json{length_text(line.at_m), "0 mm"},
                       to = across ? json{length_text(width_m_), length_text(line.at_m)}
                                   : json{length_text(line.at_m), length_text(height_m_)};
            plate.body["body_lines"].push_back({{"name", fmt::format("line {}", ++number)},
                                                {"points", json::array({from, to})},
                                                {"height", length_text(line_height_m)},
                                                {"crest_radius", length_text(line_crest_m)},
                                                {"flank", length_text(line_flank_m)},
                                                {"end_fade", length_text(line_fade_m)}});
            add(across ? "line-y" : "line-x", line.at_m);
        }
        if (corner_m_ != corner_m) add("corner", corner_m_);
        if (substrate_ != "steel") plate.file += "-" + substrate_;
        std::ranges::replace(plate.file, '.', ','); // a point would end the name
        return plate;
    }

    struct Line {
        char way = 'y';
        double at_m = 0;
    };

    std::string text_;
    double width_m_ = 0, height_m_ = 0, crown_u_m_ = 0, crown_v_m_ = 0, corner_m_ = corner_m;
    std::vector<Line> lines_;
    std::string substrate_ = "steel";
};

/// × and X are x.
std::string plain(std::string text) {
    constexpr std::string_view times = "\xC3\x97";
    for (auto at = text.find(times); at != std::string::npos; at = text.find(times))
        text.replace(at, times.size(), "x");
    std::ranges::replace(text, 'X', 'x');
    return std::string(formats::trimmed(text));
}

} // namespace

std::optional<Plate> plate_called(const std::string& reference) {
    if (formats::is_path(reference)) return std::nullopt;
    PlateReader reader(plain(reference));
    if (!reader.starts_as_a_size()) return std::nullopt;
    return reader.read();
}

} // namespace sparecoat::library
