#include "view/render/square_drag.hpp"
#include "units/quantity.hpp"
#include <algorithm>
#include <cmath>
#include <fmt/format.h>

namespace sparecoat::view {
namespace {

double on_step(double metres) { return std::round(metres / SquareDrag::step_m) * SquareDrag::step_m; }
Point2 on_step(Point2 p) { return {on_step(p.x), on_step(p.y)}; }

Point2 low_of(const TapedSquare& s) { return s.at - 0.5 * s.size; }
Point2 high_of(const TapedSquare& s) { return s.at + 0.5 * s.size; }

void span_corners(TapedSquare& square, Point2 a, Point2 b) {
    square.at = 0.5 * (a + b);
    square.size = {std::abs(a.x - b.x), std::abs(a.y - b.y)};
}

bool lies_on(const Panel& panel, const TapedSquare& square) {
    const Grid& grid = panel.grid;
    const Point2 low = low_of(square), high = high_of(square);
    const auto first = [&](double metres, double zero) {
        return static_cast<int>(std::ceil((metres - zero) / grid.h_m - 1e-9));
    };
    const auto last = [&](double metres, double zero) {
        return static_cast<int>(std::floor((metres - zero) / grid.h_m + 1e-9));
    };
    const int i0 = first(low.x, grid.x0_m), i1 = last(high.x, grid.x0_m);
    const int j0 = first(low.y, grid.y0_m), j1 = last(high.y, grid.y0_m);
    if (i0 < 0 || j0 < 0 || i1 >= grid.nu || j1 >= grid.nv) return false;
    for (int j = j0; j <= j1; ++j)
        for (int i = i0; i <= i1; ++i)
            if (!panel.inside[grid.index(i, j)]) return false;
    return true;
}

bool overlap(const TapedSquare& a, const TapedSquare& b) {
    const Point2 apart{std::abs(a.at.x - b.at.x), std::abs(a.at.y - b.at.y)};
    constexpr double touching_m = 1e-6;
    return apart.x < 0.5 * (a.size.x + b.size.x) - touching_m &&
           apart.y < 0.5 * (a.size.y + b.size.y) - touching_m;
}

} // namespace

TapeHold tape_hold(Point2 at, std::span<const TapedSquare> squares, double reach_m) {
    for (std::size_t k = squares.size(); k-- > 0;) {
        const Point2 low = low_of(squares[k]), high = high_of(squares[k]);
        for (const Point2 corner : {low, Point2{high.x, low.y}, high, Point2{low.x, high.y}})
            if (norm(at - corner) <= reach_m) return {SquareDrag::Grip::corner, k, low + high - corner};
    }
    for (std::size_t k = squares.size(); k-- > 0;) {
        const Point2 low = low_of(squares[k]), high = high_of(squares[k]);
        if (at.x >= low.x && at.x <= high.x && at.y >= low.y && at.y <= high.y)
            return {SquareDrag::Grip::middle, k, {}};
    }
    return {};
}

void SquareDrag::begin(Point2 at, std::span<const TapedSquare> squares, double reach_m) {
    const TapeHold hold = tape_hold(at, squares, reach_m);
    grip_ = hold.grip;
    moved_ = false;
    changes_.reset();
    if (hold.grip == Grip::fresh) {
        held_ = on_step(at);
        square_ = {held_, {0, 0}, {}, {}};
        return;
    }
    changes_ = hold.square;
    square_ = squares[hold.square];
    held_ = hold.grip == Grip::corner ? hold.other : at - low_of(square_);
}

void SquareDrag::drag_to(Point2 at) {
    if (!grip_) return;
    const TapedSquare before = square_;
    if (*grip_ == Grip::middle) square_.at = on_step(at - held_) + 0.5 * square_.size;
    else span_corners(square_, held_, on_step(at));
    moved_ = moved_ || norm(square_.at - before.at) > 1e-9 || norm(square_.size - before.size) > 1e-9;
}

std::string square_fault(const Panel& panel, const TapedSquare& square, double pad_diameter_m,
                         std::span<const TapedSquare> others, std::optional<std::size_t> changes) {
    const double least_m = least_pads * pad_diameter_m;
    if (std::min(square.size.x, square.size.y) < least_m - 1e-9)
        return fmt::format("smaller than {:g} pads, {:.0f} mm", least_pads, std::ceil(least_m / mm - 1e-6));
    if (!lies_on(panel, square)) return "off the panel";
    for (std::size_t k = 0; k < others.size(); ++k)
        if (k != changes && !others[k].tries.empty() && overlap(square, others[k]))
            return fmt::format("over square {}, which was worked", k + 1);
    return "";
}

std::string size_text(const TapedSquare& square) {
    return fmt::format("{:.0f} x {:.0f} mm", square.size.x / mm, square.size.y / mm);
}

} // namespace sparecoat::view
