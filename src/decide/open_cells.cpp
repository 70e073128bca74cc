#include "decide/open_cells.hpp"
#include <algorithm>
#include <stdexcept>

namespace sparecoat::decide {
namespace {

constexpr std::size_t least_open_cells = 50;

} // namespace

bool worked(const Panel& panel, const Fields& fields, std::size_t cell) {
    return panel.inside[cell] && fields.removed_um[cell] > 0;
}

OpenCells open_cells(const Panel& panel, const Fields& fields, double clear_of_m) {
    std::vector<float> times;
    for (std::size_t i = 0; i < panel.inside.size(); ++i)
        if (worked(panel, fields, i)) times.push_back(fields.contact_time_s[i]);
    if (times.empty()) throw std::invalid_argument("nothing was removed anywhere on the panel");
    const auto long_worked = times.begin() + static_cast<std::ptrdiff_t>(times.size() * 9 / 10);
    std::nth_element(times.begin(), long_worked, times.end());
    const float least_time = 0.7f * *long_worked;

    OpenCells open;
    for (open.clearance_m = clear_of_m;; open.clearance_m *= 0.5) {
        if (open.clearance_m < 0.5 * panel.grid.h_m) open.clearance_m = 0;
        open.cells.clear();
        for (std::size_t i = 0; i < panel.inside.size(); ++i) {
            const double clear_of =
                static_cast<double>(std::min(panel.edge_distance_m[i], panel.crest_distance_m[i]));
            if (worked(panel, fields, i) && clear_of >= open.clearance_m &&
                fields.contact_time_s[i] >= least_time)
                open.cells.push_back(i);
        }
        if (open.cells.size() >= least_open_cells || open.clearance_m <= 0) return open;
    }
}

} // namespace sparecoat::decide
