#include "picture/risk_folder.hpp"
#include "formats/fields_export.hpp"
#include "picture/run_folder.hpp"
#include <algorithm>
#include <cmath>
#include <fmt/format.h>
#include <nlohmann/json.hpp>

namespace sparecoat::picture {
namespace {

HeatmapSpec base_map(const RiskReport& report, std::span<const float> field, FilmUnit unit) {
    const RunJob& job = report.job;
    HeatmapSpec spec{.panel = job.panel, .field_um = field};
    spec.title = fmt::format("{}: {}", job.panel.name, job.step.technique.name);
    spec.subtitle = {
        fmt::format("{}, {}, {}; {}", job.step.machine.name, job.step.pad.name, job.step.liquid.name,
                    working_of(job)),
        fmt::format("Chance that less than {} of clear coat stays. Estimate: the film gauge decides.",
                    film_text(report.terms.reserve_um, unit))};
    spec.unit = unit;
    spec.pad_diameter_m = 2 * job.step.pad.radius_m;
    constexpr std::size_t most_spots = 9;
    for (std::size_t k = 0; k < std::min(most_spots, report.map.regions.size()); ++k) {
        const RegionAtRisk& region = report.map.regions[k];
        spec.spots.push_back(
            {region.spot.at, fmt::format("{} {}, {} left", chance_text(region.chance), region.spot.place,
                                         film_text(region.spot.clear_left_um, unit))});
    }
    return spec;
}

} // namespace

std::string chance_text(double chance) {
    if (chance <= 0) return "0 %";
    if (chance < 0.001) return "under 0.1 %";
    if (chance > 0.999) return "over 99.9 %";
    return chance < 0.095 ? fmt::format("{:.1f} %", 100 * chance) : fmt::format("{:.0f} %", 100 * chance);
}

std::string chance_text(double chance, double standard_error) {
    return 100 * standard_error < 0.05 ? chance_text(chance)
                                       : fmt::format("{:.1f} ± {:.1f} %", 100 * chance, 100 * standard_error);
}

std::vector<float> chance_percent(const RiskReport& report) {
    std::vector<float> percent = report.map.chance;
    for (float& value : percent) value *= 100; // NaN stays
    return percent;
}

std::vector<float> mean_clear_left_um(const RiskReport& report) {
    const Panel& panel = report.job.panel;
    std::vector<float> left(panel.grid.cells(), std::nanf(""));
    for (std::size_t k = 0; k < left.size(); ++k)
        if (panel.inside[k]) left[k] = std::max(0.0f, panel.clear_um[k] - report.map.mean_removed_um[k]);
    return left;
}

HeatmapSpec chance_map(const RiskReport& report, std::span<const float> percent, FilmUnit unit) {
    HeatmapSpec spec = base_map(report, percent, unit);
    spec.quantity = "chance of burning through";
    spec.own_unit = "%";
    double most = 0;
    for (const float value : percent)
        if (std::isfinite(value)) most = std::max(most, static_cast<double>(value));
    // Nothing at risk is to look like nothing: a scale that ends at a thousandth would colour the panel.
    spec.range = FilmRange{0, std::max(5.0, std::ceil(most / 5) * 5)};
    spec.contour_levels_um = {1, 10, 50};
    return spec;
}

HeatmapSpec mean_clear_left_map(const RiskReport& report, std::span<const float> left_um, FilmUnit unit) {
    HeatmapSpec spec = base_map(report, left_um, unit);
    spec.quantity = "clear coat left";
    spec.colours = &clear_left_colours();
    return spec;
}

nlohmann::json write_risk(const std::filesystem::path& folder, const RiskReport& report, FilmUnit unit) {
    const Grid& grid = report.job.panel.grid;
    const RiskMap& map = report.map;
    const std::vector<float> percent = chance_percent(report), left = mean_clear_left_um(report);
    const std::vector<NamedField> named = {{"chance", map.chance},
                                           {"chance_error", map.standard_error},
                                           {"mean_removed_um", map.mean_removed_um},
                                           {"clear_before_um", report.job.panel.clear_um},
                                           {"clear_sd_um", report.job.panel.clear_sd_um}};
    for (const NamedField& field : named) write_npy(folder / (field.name + ".npy"), grid, field.values);
    write_vti(folder / "fields.vti", grid, report.job.panel.inside, named);
    draw_heatmap(folder / "chance.png", chance_map(report, percent, unit));
    draw_heatmap(folder / "clear_left.png", mean_clear_left_map(report, left, unit));
    nlohmann::json document = risk_json(report);
    write_json(folder / "risk.json", document);
    return document;
}

} // namespace sparecoat::picture
