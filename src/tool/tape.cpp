#include "tool/tape.hpp"
#include "panel/distance.hpp"
#include "tool/pad_region.hpp"
#include <algorithm>

namespace sparecoat::tool {
namespace {

/// A stretch of drawing with the width of the tape along it.
struct Strip {
    Segment line;
    double width_m;
};

/// Every segment that has tape, the widest first.
std::vector<Strip> strips_of(const Technique& technique, const Panel& panel) {
    std::vector<Strip> strips;
    const auto gather = [&](const std::vector<Polyline>& lines, const std::vector<std::string>& names,
                            double unnamed_m) {
        for (const Segment& line : segments_of(lines)) {
            const auto own = technique.tape_edge_m.find(names[static_cast<std::size_t>(line.label)]);
            const double width_m = own == technique.tape_edge_m.end() ? unnamed_m : own->second;
            if (width_m > 0) strips.push_back({line, width_m});
        }
    };
    gather(panel.outline, panel.edge_names, technique.tape_m);
    gather(panel.crests, panel.crest_names, 0); // like the hold-back: lines are taped only where named
    std::stable_sort(strips.begin(), strips.end(),
                     [](const Strip& a, const Strip& b) { return a.width_m > b.width_m; });
    return strips;
}

} // namespace

std::vector<std::uint8_t> taped_cells(const Technique& technique, const Panel& panel,
                                      const std::string& file) {
    check_edge_names(panel, technique.tape_edge_m, "/tape", file);
    const std::vector<Strip> strips = strips_of(technique, panel);
    if (strips.empty()) return {};
    const double widest_m = strips.front().width_m;
    std::vector<std::uint8_t> taped(panel.grid.cells(), 0);
    for (std::size_t k = 0; k < taped.size(); ++k) {
        // The nearest edge or crest of all is no farther than any named one.
        const float near_m = std::min(panel.edge_distance_m[k], panel.crest_distance_m[k]);
        if (!panel.inside[k] || static_cast<double>(near_m) >= widest_m) continue;
        const Point2 at = panel.grid.centre(k);
        taped[k] = std::any_of(strips.begin(), strips.end(), [&](const Strip& strip) {
            return nearest_on(strip.line, at).distance_m < strip.width_m;
        });
    }
    return taped;
}

} // namespace sparecoat::tool
