#include "study/compare_settings.hpp"
#include "units/percent.hpp"
#include "units/quantity.hpp"
#include <algorithm>
#include <cmath>
#include <fmt/format.h>
#include <map>

namespace sparecoat::study {
namespace {

std::string length_text(double length_m) { return fmt::format("{:.4g} mm", length_m / mm); }
std::string angle_text(double angle_rad) { return fmt::format("{:.4g}°", angle_rad / deg); }

std::string pattern_text(Pattern pattern) {
    switch (pattern) {
    case Pattern::raster: return "raster";
    case Pattern::spiral: return "spiral";
    case Pattern::line: return "line";
    case Pattern::recorded: return "recorded";
    case Pattern::strips: return "strips";
    }
    return "";
}

std::string point_text(Point2 at) { return fmt::format("{:.4g} mm, {:.4g} mm", at.x / mm, at.y / mm); }

std::string strips_text(const StripsAlong& strips) {
    std::string text = strips.along + " at";
    for (std::size_t k = 0; k < strips.at_m.size(); ++k)
        text += (k == 0 ? " " : ", ") + length_text(strips.at_m[k]);
    if (strips.side != StripSide::both) text += fmt::format(", {}", name_of(strips.side));
    return text + fmt::format(", clear of others by {}", length_text(strips.clear_of_m));
}

using Settings = std::vector<std::pair<std::string, std::string>>;

void add_by_edge(Settings& out, const char* name, const std::map<std::string, double>& lengths_m) {
    for (const auto& [edge, length_m] : lengths_m)
        out.emplace_back(fmt::format("{}, {}", name, edge), length_text(length_m));
}

void add_hand(Settings& out, const HandVariation& hand) {
    out.emplace_back("hand, force", percent_as_entered(hand.force));
    out.emplace_back("hand, arm speed", percent_as_entered(hand.arm_speed));
    out.emplace_back("hand, tilt", angle_text(hand.tilt_rad));
    out.emplace_back("hand, spacing", length_text(hand.spacing_m));
    out.emplace_back("hand, correlation", fmt::format("{:.4g} s", hand.correlation_s));
}

Settings settings_of(const RunJob& job) {
    const Technique& t = job.step.technique;
    Settings out{{"machine", job.step.machine.name},
                 {"pad", job.step.pad.name},
                 {"liquid", job.step.liquid.name},
                 {"pattern", pattern_text(t.pattern)},
                 {"force", fmt::format("{:.4g} N", t.force_n)},
                 {"speed", fmt::format("{:.4g}/min", t.speed_rad_s / per_min)},
                 {"arm speed", fmt::format("{:.4g} mm/s", t.arm_speed_m_s / mm)},
                 {"arm acceleration", fmt::format("{:.4g} m/s²", t.arm_acceleration_m_s2)},
                 {"overlap", percent_as_entered(t.overlap)},
                 {"passes", std::to_string(t.passes)},
                 {"crossed passes", t.crossed ? "yes" : "no"},
                 {"hold-back", length_text(t.hold_back_m)}};
    add_by_edge(out, "hold-back", t.hold_back_edge_m);
    out.emplace_back("tape", length_text(t.tape_m));
    add_by_edge(out, "tape", t.tape_edge_m);
    out.emplace_back("tilt", angle_text(t.tilt_rad));
    if (std::abs(t.tilt_rad) > 0) out.emplace_back("tilt toward", angle_text(t.tilt_toward_rad));
    out.emplace_back("hand stiffness", std::isinf(t.hand_stiffness_nm_rad)
                                           ? "tilt imposed"
                                           : fmt::format("{:.4g} N m/rad", t.hand_stiffness_nm_rad));
    if (t.section_centre) out.emplace_back("section's centre", point_text(*t.section_centre));
    out.emplace_back("section",
                     fmt::format("{:.4g} mm x {:.4g} mm", t.section_size.x / mm, t.section_size.y / mm));
    if (t.pattern == Pattern::line) {
        out.emplace_back("line from", point_text(t.line_from));
        out.emplace_back("line to", point_text(t.line_to));
    }
    if (t.pattern == Pattern::strips) {
        for (std::size_t k = 0; k < t.strips.size(); ++k)
            out.emplace_back(fmt::format("strips {}", k + 1), strips_text(t.strips[k]));
        out.emplace_back("fresh liquid every", length_text(t.charge_every_m));
    }
    out.emplace_back("fresh liquid", t.recharge_passes > 0 ? fmt::format("after {} passes", t.recharge_passes)
                                                           : "none in between");
    add_hand(out, t.hand);
    return out;
}

} // namespace

std::vector<SettingRow> settings_that_differ(const std::vector<ComparedTechnique>& techniques) {
    std::vector<std::string> order;
    std::vector<std::map<std::string, std::string>> all;
    for (const ComparedTechnique& technique : techniques) {
        all.emplace_back();
        auto after = order.begin(); // a name that is new comes behind the one before it
        for (const auto& [name, value] : settings_of(technique.job)) {
            all.back()[name] = value;
            const auto known = std::ranges::find(order, name);
            after = known != order.end() ? known + 1 : order.insert(after, name) + 1;
        }
    }
    std::vector<SettingRow> rows;
    for (const std::string& name : order) {
        SettingRow row{name, {}};
        for (const auto& one : all) row.values.push_back(one.contains(name) ? one.at(name) : "none");
        if (std::ranges::any_of(row.values, [&](const std::string& v) { return v != row.values.front(); }))
            rows.push_back(std::move(row));
    }
    return rows;
}

} // namespace sparecoat::study
