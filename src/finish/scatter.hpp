#pragma once
#include "finish/defects.hpp"
#include "panel/panel.hpp"
#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

namespace sparecoat::finish {

/// One mark of a population, at its own place and with its own depth. A line is an arc: a wash swirl follows
/// the sweep of the hand or brush that cut it.
struct Mark {
    MarkKind kind = MarkKind::swirls;
    std::size_t population = 0;  ///< which of those that were scattered
    Point2 at;                   ///< its middle
    double direction_rad = 0;    ///< of a line at its middle
    double curvature_per_m = 0;  ///< of a line; positive turns left
    double from_m = 0, to_m = 0; ///< ends of a line, along it from its middle; cut where panel or region end
    double depth_um = 0;         ///< its own
    double width_m = 0;          ///< across a line, or a spot's diameter, at its own depth
    double rank = 0; ///< even in (0, 1]: where a share x of its population is there, the marks up to x are
};

/// The point of a line so far along it from its middle.
Point2 point_along(const Mark& mark, double along_m);

/// Area of what is seen of a mark once `worn_um` was taken off over it, m²: see defects.hpp. 0 where less
/// than visible_um of its depth is left.
double visible_area_m2(const Mark& mark, double worn_um);

struct Scatter {
    std::vector<Mark> marks; ///< population by population
    std::vector<double>
        stands_for; ///< per population: how many of its marks each one scattered is; 1: none left out
};

/// So many marks a drawing can take.
inline constexpr std::size_t most_marks = 200'000;

/// Marks drawn from populations over a panel. Their middles lie evenly over the cells that are both the
/// panel's and the population's region, their depths follow its lognormal law. Marks that are too shallow
/// ever to be seen are left out. Where more would come than `most`, the populations with the most of them are
/// thinned, each evenly, down to a common number. Depends on panel, populations and seed alone.
Scatter scatter(const Panel& panel, std::span<const MarkPopulation> populations, std::uint64_t seed,
                std::size_t most = most_marks);

} // namespace sparecoat::finish
