#include "view/window/settings.hpp"
#include "units/error.hpp"
#include <cmath>
#include <cstdlib>
#include <fmt/format.h>
#include <fstream>
#include <nlohmann/json.hpp>
#include <sstream>
#include <stdexcept>
#include <system_error>
#include <unistd.h>

namespace sparecoat::view {
namespace {

namespace fs = std::filesystem;
using nlohmann::json;

std::string environment(const char* name) {
    const char* value = std::getenv(name);
    return value ? value : "";
}

json to_json(const Settings& s) {
    json ranges = json::object();
    for (int k = 0; k < map_kinds; ++k)
        if (const auto& range = s.ranges[static_cast<std::size_t>(k)])
            ranges[map_info(static_cast<MapKind>(k)).id] = {range->low, range->high};
    return {{"kind", "sparecoat-settings"},
            {"theme", s.light_theme ? "light" : "dark"},
            {"unit", s.unit == FilmUnit::um ? "um" : "mil"},
            {"panel", s.panel},
            {"technique", s.technique},
            {"paint", s.paint},
            {"defects", s.defects},
            {"record", s.record},
            {"section", s.section},
            {"window", {s.width, s.height}},
            {"map", map_info(s.map).id},
            {"contours", s.contours},
            {"strip_charts", s.strip_charts},
            {"times_real_time", s.times_real_time},
            {"ranges", ranges}};
}

/// One of two words; anything else is refused.
bool is_first(const json& document, const char* key, const char* first, const char* second, bool missing) {
    if (!document.contains(key)) return missing;
    const auto word = document.at(key).get<std::string>();
    if (word != first && word != second)
        throw std::invalid_argument(
            fmt::format("/{}: found \"{}\"; allowed: {}, {}", key, word, first, second));
    return word == first;
}

double number_within(const json& value, const char* key, double low, double high) {
    const double number = value.get<double>();
    if (!(number >= low && number <= high))
        throw std::invalid_argument(fmt::format("/{}: found {}; allowed: {} to {}", key, number, low, high));
    return number;
}

Settings from_json(const json& document) {
    if (!document.is_object()) throw std::invalid_argument("found no JSON object");
    Settings s;
    s.light_theme = is_first(document, "theme", "light", "dark", s.light_theme);
    s.unit = is_first(document, "unit", "um", "mil", true) ? FilmUnit::um : FilmUnit::mil;
    s.panel = document.value("panel", s.panel);
    s.technique = document.value("technique", s.technique);
    s.paint = document.value("paint", s.paint);
    s.defects = document.value("defects", s.defects);
    s.record = document.value("record", s.record);
    s.section = document.value("section", s.section);
    if (document.contains("window")) {
        s.width = static_cast<int>(number_within(document.at("window").at(0), "window/0", 640, 16384));
        s.height = static_cast<int>(number_within(document.at("window").at(1), "window/1", 360, 16384));
    }
    s.contours = document.value("contours", s.contours);
    s.strip_charts = document.value("strip_charts", s.strip_charts);
    if (document.contains("times_real_time"))
        s.times_real_time = number_within(document.at("times_real_time"), "times_real_time", 0.25, 200);
    const std::string map = document.value("map", std::string(map_info(s.map).id));
    const json ranges = document.value("ranges", json::object());
    for (int k = 0; k < map_kinds; ++k) {
        const char* id = map_info(static_cast<MapKind>(k)).id;
        if (map == id) s.map = static_cast<MapKind>(k);
        if (!ranges.contains(id)) continue;
        const LockedRange range{ranges.at(id).at(0).get<float>(), ranges.at(id).at(1).get<float>()};
        if (!(std::isfinite(range.low) && std::isfinite(range.high) && range.low < range.high))
            throw std::invalid_argument(fmt::format("/ranges/{}: found no range from low to high", id));
        s.ranges[static_cast<std::size_t>(k)] = range;
    }
    return s;
}

} // namespace

fs::path settings_path() {
    if (const fs::path config = environment("XDG_CONFIG_HOME"); config.is_absolute())
        return config / "sparecoat" / "settings.json";
    if (const fs::path home = environment("HOME"); home.is_absolute())
        return home / ".config" / "sparecoat" / "settings.json";
    return {};
}

fs::path shop_path() {
    const fs::path settings = settings_path();
    return settings.empty() ? fs::path() : settings.parent_path() / "shop.json";
}

LoadedSettings load_settings(const fs::path& file) {
    std::error_code error;
    if (file.empty() || !fs::exists(file, error)) return {};
    std::ifstream in(file, std::ios::binary);
    std::ostringstream text;
    if (in) text << in.rdbuf();
    try {
        if (!in) throw std::invalid_argument("found a file that cannot be read");
        return {from_json(json::parse(text.str())), {}};
    } catch (const std::exception& fault) {
        return {{}, fmt::format("{}: {}. Started with the usual settings.", file.string(), fault.what())};
    }
}

void save_settings(const fs::path& file, const Settings& settings) {
    std::error_code error;
    fs::create_directories(file.parent_path(), error);
    fs::path beside = file;
    beside += fmt::format(".{}", ::getpid()); // two windows closing at once must not share it
    std::ofstream out(beside, std::ios::binary);
    out << to_json(settings).dump(2) << '\n';
    out.close();
    if (!out.fail()) fs::rename(beside, file, error);
    if (out.fail() || error) {
        std::error_code ignored;
        fs::remove(beside, ignored);
        throw InputError(file.string(), "", "a file that cannot be written",
                         "a folder with room that may be written");
    }
}

} // namespace sparecoat::view
