#include "tool/strokes.hpp"
#include <algorithm>
#include <cmath>
#include <limits>

namespace sparecoat::tool {

namespace {

constexpr double shortest_stroke_m = 5e-3; ///< shorter ones are slivers at a rounded border
constexpr double rounding_gaps = 1e-6;     ///< a share of a gap that is no reason for one more line

/// Places on the panel in the raster's own axes: along its lines and across them.
class Frame {
public:
    Frame(Run run, const Rect& bounds) : run_(run), from_(along(bounds.low)), to_(along(bounds.high)) {}
    Point2 point(double along_m, double across_m) const {
        return run_ == Run::along_u ? Point2{along_m, across_m} : Point2{across_m, along_m};
    }
    double across(Point2 p) const { return run_ == Run::along_u ? p.y : p.x; }
    double from_m() const { return from_; }
    ArmWay line(double across_m) const { return ArmWay(point(from_, across_m), point(to_, across_m)); }

private:
    double along(Point2 p) const { return run_ == Run::along_u ? p.x : p.y; }
    Run run_;
    double from_ = 0, to_ = 0;
};

/// What is left of one line between the places where the centre may not go.
struct Stroke {
    double across_m = 0, from_m = 0, to_m = 0;
    double length_m() const { return to_m - from_m; }
    bool beside(const Stroke& other) const {
        return from_m <= other.to_m + 1e-6 && other.from_m <= to_m + 1e-6;
    }
};
using Line = std::vector<Stroke>;
using Cell = std::vector<Stroke>; ///< of successive lines, one each

Line strokes_at(const PadRegion& region, const Frame& frame, double across_m) {
    Line line;
    for (const Stretch& s : region.along(frame.line(across_m)))
        line.push_back({across_m, frame.from_m() + s.from_m, frame.from_m() + s.to_m});
    return line;
}

double longest_m(const Line& line) {
    double longest = 0;
    for (const Stroke& stroke : line) longest = std::max(longest, stroke.length_m());
    return longest;
}

/// The outermost place, from `border` towards `middle`, with a stroke worth making. On a straight
/// border that is the border itself; a rounded one starts with slivers. Nothing found: the border.
double outermost_line(const PadRegion& region, const Frame& frame, double border, double middle) {
    constexpr double search_step_m = 1e-3, to_within_m = 1e-7;
    const auto worth_it = [&](double across_m) {
        return longest_m(strokes_at(region, frame, across_m)) >= shortest_stroke_m;
    };
    if (worth_it(border)) return border;
    const int steps = static_cast<int>(std::abs(middle - border) / search_step_m);
    for (int k = 1; k <= steps; ++k) {
        double outside = border + std::copysign((k - 1) * search_step_m, middle - border);
        double inside = border + std::copysign(k * search_step_m, middle - border);
        if (!worth_it(inside)) continue;
        while (std::abs(inside - outside) > to_within_m) {
            const double between = 0.5 * (inside + outside);
            (worth_it(between) ? inside : outside) = between;
        }
        return inside;
    }
    return border;
}

std::vector<Line> lay_lines(const PadRegion& region, const Frame& frame, const Raster& raster) {
    const double low = raster.band.low_m, high = raster.band.high_m;
    const int gaps = static_cast<int>(std::ceil((high - low) / raster.spacing_m - rounding_gaps));

    std::vector<Line> lines;
    double longest = 0;
    for (int k = 0; k <= gaps; ++k) {
        double across_m = k == gaps ? high : low + (high - low) * k / gaps;
        if (gaps == 0) across_m = 0.5 * (low + high);
        if (raster.wander_m) across_m = std::clamp(across_m + raster.wander_m(k), low, high);
        lines.push_back(strokes_at(region, frame, across_m));
        longest = std::max(longest, longest_m(lines.back()));
    }
    const double least = std::min(shortest_stroke_m, longest);
    for (Line& line : lines) std::erase_if(line, [least](const Stroke& s) { return s.length_m() < least; });
    return lines;
}

int neighbours(const Stroke& stroke, const Line& line) {
    return static_cast<int>(
        std::count_if(line.begin(), line.end(), [&](const Stroke& s) { return s.beside(stroke); }));
}

/// A stroke carries its neighbour's cell on if each is the other's only neighbour; where a hole opens
/// or closes, new cells start.
std::vector<Cell> split_into_cells(const std::vector<Line>& lines) {
    std::vector<Cell> cells;
    std::vector<std::size_t> cells_before, cells_here; // per stroke of the line
    for (std::size_t k = 0; k < lines.size(); ++k, cells_before.swap(cells_here)) {
        const Line before = k > 0 ? lines[k - 1] : Line{};
        cells_here.clear();
        for (const Stroke& stroke : lines[k]) {
            const auto parent =
                std::find_if(before.begin(), before.end(), [&](const Stroke& s) { return s.beside(stroke); });
            if (neighbours(stroke, before) == 1 && neighbours(*parent, lines[k]) == 1) {
                cells_here.push_back(cells_before[static_cast<std::size_t>(parent - before.begin())]);
            } else {
                cells_here.push_back(cells.size());
                cells.emplace_back();
            }
            cells[cells_here.back()].push_back(stroke);
        }
    }
    return cells;
}

/// One of the four corners of a cell to start its serpentine from.
struct Entry {
    bool last_line, far_end;
};
constexpr Entry entries[] = {{false, false}, {false, true}, {true, false}, {true, true}};

Point2 end_of(const Frame& frame, const Stroke& stroke, bool far_end) {
    return frame.point(far_end ? stroke.to_m : stroke.from_m, stroke.across_m);
}

Point2 start_of(const Frame& frame, const Cell& cell, Entry entry) {
    return end_of(frame, entry.last_line ? cell.back() : cell.front(), entry.far_end);
}

/// From one stroke's end to the next one's along the border of the region, found on lines in between:
/// the straight way cuts across a border that bulges inwards, such as a wheel arch.
std::optional<ArmWay> along_border(const PadRegion& region, const Frame& frame, const Stroke& from,
                                   const Stroke& to, bool far_end) {
    constexpr int pieces = 12;
    const double first_m = far_end ? from.to_m : from.from_m, last_m = far_end ? to.to_m : to.from_m;
    std::vector<Point2> points{frame.point(first_m, from.across_m)};
    for (int k = 1; k < pieces; ++k) {
        const double share = static_cast<double>(k) / pieces;
        const double across_m = from.across_m + share * (to.across_m - from.across_m);
        const double straight_m = first_m + share * (last_m - first_m);
        std::optional<double> border_m;
        for (const Stroke& s : strokes_at(region, frame, across_m)) {
            const double end_m = far_end ? s.to_m : s.from_m;
            if (!border_m || std::abs(end_m - straight_m) < std::abs(*border_m - straight_m))
                border_m = end_m;
        }
        if (!border_m) return std::nullopt;
        points.push_back(frame.point(*border_m, across_m));
    }
    points.push_back(frame.point(last_m, to.across_m));
    return ArmWay(std::move(points));
}

void sweep(StrokePlan& plan, const PadRegion& region, const Frame& frame, Cell cell, Entry entry) {
    if (entry.last_line) std::reverse(cell.begin(), cell.end());
    bool far_end = entry.far_end;
    for (std::size_t k = 0; k < cell.size(); ++k, far_end = !far_end) {
        const ArmWay way(end_of(frame, cell[k], far_end), end_of(frame, cell[k], !far_end));
        if (k == 0) plan.stroke(way);
        else
            plan.next_stroke(way, [&] { return along_border(region, frame, cell[k - 1], cell[k], far_end); });
    }
}

} // namespace

RasterBand raster_band(const PadRegion& region, const Rect& extent, Run run) {
    const Frame frame(run, region.bounds());
    const double low_m = frame.across(extent.low), high_m = frame.across(extent.high),
                 middle_m = 0.5 * (low_m + high_m);
    return {outermost_line(region, frame, low_m, middle_m), outermost_line(region, frame, high_m, middle_m)};
}

int add_raster(StrokePlan& plan, const PadRegion& region, const Raster& raster) {
    const Frame frame(raster.run, region.bounds());
    const std::vector<Line> lines = lay_lines(region, frame, raster);
    std::vector<Cell> cells = split_into_cells(lines);
    while (!cells.empty()) {
        std::size_t nearest = 0;
        Entry from = entries[0];
        double least_s = std::numeric_limits<double>::infinity();
        for (std::size_t k = 0; k < cells.size(); ++k)
            for (const Entry entry : entries) {
                const double reach_s = plan.reach_s(start_of(frame, cells[k], entry));
                if (reach_s < least_s) {
                    least_s = reach_s;
                    nearest = k;
                    from = entry;
                }
            }
        sweep(plan, region, frame, std::move(cells[nearest]), from);
        cells.erase(cells.begin() + static_cast<std::ptrdiff_t>(nearest));
    }
    return static_cast<int>(lines.size());
}

} // namespace sparecoat::tool
