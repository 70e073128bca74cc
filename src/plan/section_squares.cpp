// Where on a panel a test section lies: its ground, the panel's open ground, and a square for where none was
// taped yet.
#include "plan/section_ground.hpp"
#include "units/error.hpp"
#include <algorithm>
#include <cmath>
#include <fmt/format.h>

namespace sparecoat::plan {
namespace {

constexpr double largest_m = 0.4, smallest_m = 0.06, shrink_m = 0.02;
/// Distance from body lines within which the usual square has no ground.
constexpr double off_the_lines_m = 0.03;
/// Ground that is farther away by less is no better.
constexpr double no_farther_m = 0.002;
/// People measure in centimetres.
constexpr double round_to_m = 0.01;

/// Counts of ground that will not do in any upright rectangle of cells, by their sums from the corner.
class RefusedGround {
public:
    RefusedGround(const Panel& panel, double off_lines_m) : grid_(panel.grid) {
        const auto columns = static_cast<std::size_t>(grid_.nu) + 1;
        sums_.assign(columns * (static_cast<std::size_t>(grid_.nv) + 1), 0);
        for (int j = 0; j < grid_.nv; ++j)
            for (int i = 0; i < grid_.nu; ++i) {
                const std::size_t k = grid_.index(i, j);
                const bool refused =
                    !panel.inside[k] || static_cast<double>(panel.crest_distance_m[k]) < off_lines_m;
                at(i + 1, j + 1) = at(i, j + 1) + at(i + 1, j) - at(i, j) + (refused ? 1 : 0);
            }
    }

    bool takes(Point2 centre, double side_m) const {
        const int i0 = cell(centre.x - 0.5 * side_m - grid_.x0_m),
                  i1 = cell(centre.x + 0.5 * side_m - grid_.x0_m);
        const int j0 = cell(centre.y - 0.5 * side_m - grid_.y0_m),
                  j1 = cell(centre.y + 0.5 * side_m - grid_.y0_m);
        if (i0 < 0 || j0 < 0 || i1 >= grid_.nu || j1 >= grid_.nv) return false;
        return at(i1 + 1, j1 + 1) - at(i0, j1 + 1) - at(i1 + 1, j0) + at(i0, j0) == 0;
    }

private:
    int cell(double from_first_m) const { return static_cast<int>(std::lround(from_first_m / grid_.h_m)); }
    int& at(int i, int j) { return sums_[index(i, j)]; }
    int at(int i, int j) const { return sums_[index(i, j)]; }
    std::size_t index(int i, int j) const {
        return static_cast<std::size_t>(j) * (static_cast<std::size_t>(grid_.nu) + 1) +
               static_cast<std::size_t>(i);
    }

    Grid grid_;
    std::vector<int> sums_;
};

double rounded(double metres) { return std::round(metres / round_to_m) * round_to_m; }

/// Of the places where a square of this side has ground those farthest from edges and lines, and of these the
/// one in their middle.
std::optional<TapedSquare> square_of(const Panel& panel, const RefusedGround& ground, double side_m) {
    struct Place {
        Point2 centre;
        double away_m;
    };
    std::vector<Place> places;
    double farthest_m = 0;
    for (std::size_t k = 0; k < panel.grid.cells(); ++k) {
        const double away_m =
            static_cast<double>(std::min(panel.edge_distance_m[k], panel.crest_distance_m[k]));
        if (!panel.inside[k] || away_m < farthest_m - no_farther_m) continue;
        const Point2 centre{rounded(panel.grid.centre(k).x), rounded(panel.grid.centre(k).y)};
        if (!ground.takes(centre, side_m)) continue;
        farthest_m = std::max(farthest_m, away_m);
        places.push_back({centre, away_m});
    }
    std::erase_if(places, [&](const Place& p) { return p.away_m < farthest_m - no_farther_m; });
    if (places.empty()) return std::nullopt;
    Point2 middle;
    for (const Place& p : places) middle = middle + (1.0 / static_cast<double>(places.size())) * p.centre;
    const Place& best =
        *std::ranges::min_element(places, {}, [&](const Place& p) { return norm(p.centre - middle); });
    return TapedSquare{best.centre, {side_m, side_m}, {}, {}};
}

bool within(Point2 p, const std::vector<Point2>& ground) {
    return p.x >= ground[0].x && p.x <= ground[2].x && p.y >= ground[0].y && p.y <= ground[2].y;
}

} // namespace

std::vector<Point2> judged_ground(const TapedSquare& square, double pad_radius_m) {
    const auto inset = [&](double side_m) { return std::min(pad_radius_m, 0.25 * side_m); };
    const double u = 0.5 * square.size.x - inset(square.size.x),
                 v = 0.5 * square.size.y - inset(square.size.y);
    return {square.at + Point2{-u, -v}, square.at + Point2{u, -v}, square.at + Point2{u, v},
            square.at + Point2{-u, v}};
}

TapedSquare usual_square(const Panel& panel) {
    for (const double off_lines_m : {off_the_lines_m, 0.0}) {
        const RefusedGround ground(panel, off_lines_m);
        for (double side_m = largest_m; side_m >= smallest_m - 1e-9; side_m -= shrink_m)
            if (const auto square = square_of(panel, ground, side_m)) return *square;
    }
    throw InputError("", "/at", fmt::format("no ground for a square on the panel \"{}\"", panel.name),
                     "the middle and the size of one that is taped");
}

std::vector<std::size_t> judged_cells(const Panel& panel, const TapedSquare& square, double pad_radius_m) {
    const std::vector<Point2> ground = judged_ground(square, pad_radius_m);
    std::vector<std::size_t> cells;
    for (std::size_t k = 0; k < panel.grid.cells(); ++k)
        if (panel.inside[k] && within(panel.grid.centre(k), ground)) cells.push_back(k);
    if (cells.empty())
        throw InputError("", "/at",
                         fmt::format("{:.0f} mm, {:.0f} mm, off the panel \"{}\"", square.at.x / mm,
                                     square.at.y / mm, panel.name),
                         "the middle of a square on it");
    return cells;
}

std::vector<std::size_t> open_ground_cells(const Panel& panel, double pad_radius_m) {
    constexpr double enough_m2 = 0.01;
    const auto enough = static_cast<std::size_t>(std::min(enough_m2, 0.1 * panel.area_m2()) /
                                                 (panel.grid.h_m * panel.grid.h_m));
    std::vector<std::size_t> cells;
    for (double away_m = pad_radius_m; cells.size() <= enough;
         away_m = away_m > panel.grid.h_m ? 0.5 * away_m : -1) {
        cells.clear();
        for (std::size_t k = 0; k < panel.grid.cells(); ++k)
            if (panel.inside[k] &&
                static_cast<double>(std::min(panel.edge_distance_m[k], panel.crest_distance_m[k])) > away_m)
                cells.push_back(k);
    }
    return cells;
}

} // namespace sparecoat::plan
