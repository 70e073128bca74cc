#include "panel/distance.hpp"
#include "panel/fields.hpp"
#include "panel/outline.hpp"
#include "panel/shape.hpp"
#include "panel/sources.hpp"
#include "units/error.hpp"
#include "units/quantity.hpp"
#include <algorithm>
#include <cmath>
#include <fmt/format.h>

namespace sparecoat::panel {
namespace {

constexpr double no_crest_m = 1e3;

void check_spacing(double spacing_m, const std::string& file) {
    constexpr double rounding = 1e-9;
    if (!(spacing_m >= 1 * mm - rounding && spacing_m <= 4 * mm + rounding))
        throw InputError(file, "grid spacing", fmt::format("{:g} mm", spacing_m / mm), "1 mm to 4 mm");
}

void set_edges(Panel& panel, Outline outline) {
    panel.outline = std::move(outline.loops);
    panel.edge_names = std::move(outline.edge_names);
    const std::vector<Segment> segments = segments_of(panel.outline);
    panel.inside = cells_inside(panel.grid, segments);
    DistanceField field = distance_to(panel.grid, segments);
    panel.nearest_edge.resize(panel.grid.cells());
    for (std::size_t k = 0; k < panel.grid.cells(); ++k) {
        panel.nearest_edge[k] =
            static_cast<std::int16_t>(segments[static_cast<std::size_t>(field.segment[k])].label);
        if (!panel.inside[k]) field.distance_m[k] = -field.distance_m[k];
    }
    panel.edge_distance_m = std::move(field.distance_m);
}

void set_crests(Panel& panel, std::vector<Polyline> crests, std::vector<std::string> names) {
    panel.crests = std::move(crests);
    panel.crest_names = std::move(names);
    const std::size_t cells = panel.grid.cells();
    panel.nearest_crest.assign(cells, -1);
    const std::vector<Segment> segments = segments_of(panel.crests);
    if (segments.empty()) {
        panel.crest_distance_m.assign(cells, static_cast<float>(no_crest_m));
        return;
    }
    DistanceField field = distance_to(panel.grid, segments);
    for (std::size_t k = 0; k < cells; ++k)
        panel.nearest_crest[k] =
            static_cast<std::int16_t>(segments[static_cast<std::size_t>(field.segment[k])].label);
    panel.crest_distance_m = std::move(field.distance_m);
}

/// Gives inside cells without a height (under a seam, a dead pixel or right at a traced edge) the mean
/// of their neighbours', ring by ring; a cell that no height reaches is no panel.
void fill_gaps(std::vector<double>& height_m, Panel& panel) {
    const Grid& grid = panel.grid;
    std::vector<std::size_t> missing;
    for (std::size_t k = 0; k < height_m.size(); ++k)
        if (panel.inside[k] && std::isnan(height_m[k])) missing.push_back(k);
    const std::size_t row = static_cast<std::size_t>(grid.nu);
    while (!missing.empty()) {
        std::vector<std::pair<std::size_t, double>> filled;
        std::vector<std::size_t> left;
        for (std::size_t k : missing) { // the grid's margin keeps inside cells off its rim
            double sum = 0;
            int count = 0;
            for (std::size_t beside : {k - 1, k + 1, k - row, k + row})
                if (panel.inside[beside] && !std::isnan(height_m[beside])) {
                    sum += height_m[beside];
                    ++count;
                }
            if (count > 0) filled.emplace_back(k, sum / count);
            else left.push_back(k);
        }
        if (filled.empty()) break;
        for (const auto& [k, height] : filled) height_m[k] = height;
        missing = std::move(left);
    }
    for (std::size_t k : missing) panel.inside[k] = 0;
}

void set_heights(Panel& panel, std::vector<double> height_m) {
    for (std::size_t k = 0; k < height_m.size(); ++k)
        if (!panel.inside[k]) height_m[k] = 0;
    panel.laplacian_per_m = laplacian(panel.grid, std::span<const double>(height_m), panel.inside);
    panel.height_m.assign(height_m.size(), 0.0f);
    std::transform(height_m.begin(), height_m.end(), panel.height_m.begin(),
                   [](double z) { return static_cast<float>(z); });
}

void build(Panel& panel, const Features& features, double spacing_m, const std::string& file) {
    Outline outline = outline_of(features, file);
    check_size(outline, file, "/outline");
    panel.grid = grid_around(outline, spacing_m);
    FeatureShape shape = shape_features(features, outline, panel.grid, file);
    set_edges(panel, std::move(outline));
    set_heights(panel, std::move(shape.height_m));
    set_crests(panel, std::move(shape.crests), std::move(shape.crest_names));
}

void build(Panel& panel, const HeightMap& map, double spacing_m, const std::string& file) {
    const std::string path = map.png.string();
    const HeightImage image = read_height_map(map, file);
    Outline outline = trace_outline(image, path);
    check_size(outline, path, "");
    panel.grid = grid_around(outline, spacing_m);
    set_edges(panel, std::move(outline));
    std::vector<double> height_m = sample_heights(image, panel.grid);
    fill_gaps(height_m, panel);
    set_heights(panel, std::move(height_m));
    set_crests(panel, {}, {});
}

void build(Panel& panel, const Mesh& mesh, double spacing_m, const std::string& file) {
    const std::string path = mesh.file.string();
    const FacedSheet sheet = read_mesh(mesh, file);
    Outline outline = outline_of(sheet, path);
    check_size(outline, path, "");
    panel.grid = grid_around(outline, spacing_m);
    set_edges(panel, std::move(outline));
    std::vector<double> height_m = sample_heights(sheet, panel.grid, path);
    fill_gaps(height_m, panel);
    set_heights(panel, std::move(height_m));
    set_crests(panel, {}, {});
}

} // namespace

Panel build_panel(const PanelSpec& spec, double spacing_m, const std::string& file) {
    check_spacing(spacing_m, file);
    Panel panel;
    panel.name = spec.name;
    panel.substrate_name = spec.substrate;
    std::visit([&](const auto& shape) { build(panel, shape, spacing_m, file); }, spec.shape);
    if (std::find(panel.inside.begin(), panel.inside.end(), 1) == panel.inside.end())
        throw InputError(file, "", "a panel without a single cell", "a panel wider than the grid's spacing");
    return panel;
}

} // namespace sparecoat::panel
