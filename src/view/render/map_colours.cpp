// Colours and scales of the maps.
#include "finish/clearing.hpp"
#include "picture/canvas.hpp"
#include "picture/map_drawing.hpp"
#include "picture/risk_folder.hpp"
#include "study/risk.hpp"
#include "units/error.hpp"
#include "units/quantity.hpp"
#include "view/render/camera.hpp"
#include "view/render/gl.hpp"
#include "view/render/map_labels.hpp"
#include "view/render/offscreen.hpp"
#include "view/render/scene.hpp"
#include "view/render/shot.hpp"
#include "view/run/window_draws.hpp"
#include <algorithm>
#include <cctype>
#include <charconv>
#include <cmath>
#include <fmt/format.h>
#include <system_error>

namespace sparecoat::view {

MapKind map_kind(std::string_view id) {
    std::string known;
    for (int n = 0; n < map_kinds; ++n) {
        const auto kind = static_cast<MapKind>(n);
        if (id == map_info(kind).id) return kind;
        known += (n ? ", " : "") + std::string(map_info(kind).id);
    }
    throw InputError("", "--map", fmt::format("\"{}\"", id), known + ", lamp");
}

const ColourMap& colours_of(MapKind kind) {
    // Straw by green to deep blue: lightness falls steadily, so that it reads without hue.
    static const ColourMap activity({95, 24, {14, 34, 20, 26, 24}, {100, 118, 165, 240, 272}});
    switch (kind) {
    case MapKind::film_lost:
    case MapKind::friction_work:
    case MapKind::chance: return film_lost_colours();
    case MapKind::temperature:
    case MapKind::peak_temperature: return temperature_colours();
    case MapKind::clear_left: return clear_left_colours();
    case MapKind::pressure_now:
    case MapKind::speed_now:
    case MapKind::contact_time: return activity;
    }
    return activity;
}

Scale map_scale(std::span<const float> values, double factor) {
    float low = INFINITY, high = -INFINITY;
    for (const float value : values)
        if (std::isfinite(value)) low = std::min(low, value), high = std::max(high, value);
    if (!(low <= high)) return round_scale(0, 0);
    return round_scale(factor * static_cast<double>(low), factor * static_cast<double>(high));
}

Scale temperature_scale(double air_c, double hottest_c) {
    const double high = std::max(hottest_c, air_c + 10), step = round_step(high - air_c, 6);
    Scale scale{std::floor(air_c / step + 1e-9) * step, std::ceil(high / step - 1e-9) * step, step, {}};
    for (double tick = scale.low; tick < scale.high + 0.5 * step; tick += step) scale.ticks.push_back(tick);
    return scale;
}

Scale chance_scale(double most_percent) {
    return with_chance_ticks({0, std::clamp(std::ceil(most_percent / 5) * 5, 5.0, 100.0), 1, {}});
}

Scale with_chance_ticks(const Scale& range) {
    Scale scale{range.low, range.high, range.high < 5 ? 0.1 : 1, {range.low}};
    for (const double level : chance_levels)
        if (level > scale.low && level < scale.high) scale.ticks.push_back(level);
    scale.ticks.push_back(scale.high);
    return scale;
}

} // namespace sparecoat::view
