#include "tool/pad_region.hpp"
#include "units/error.hpp"
#include <algorithm>
#include <array>
#include <limits>

namespace sparecoat {

namespace {

constexpr double scan_step_m = 1e-3; ///< along a way, where nothing better is known
constexpr double scan_rows_m = 5e-3; ///< between the scan lines of extent()
constexpr double on_panel_m = 1e-3;  ///< a section's side this far inside the panel counts as on it
constexpr double ends_m = 1e-9;      ///< to which a stretch's ends are found

double squared(Point2 p) { return dot(p, p); }

double squared_distance_to_segment(Point2 p, Point2 from, Point2 to) {
    const Point2 run = to - from;
    const double square = squared(run);
    const double share = square > 0 ? std::clamp(dot(p - from, run) / square, 0.0, 1.0) : 0.0;
    return squared(p - (from + share * run));
}

double squared_distance_to_box(Point2 p, const Rect& box) {
    return squared(p -
                   Point2{std::clamp(p.x, box.low.x, box.high.x), std::clamp(p.y, box.low.y, box.high.y)});
}

/// Escapes a name for a JSON pointer (RFC 6901).
std::string pointer_token(const std::string& name) {
    std::string token;
    for (const char c : name) token += c == '~' ? "~0" : c == '/' ? "~1" : std::string(1, c);
    return token;
}

Rect bounds_of(const std::vector<Polyline>& outline) {
    const double far = std::numeric_limits<double>::infinity();
    Rect box{{far, far}, {-far, -far}};
    for (const Polyline& loop : outline)
        for (const Point2 p : loop.points) {
            box.low = {std::min(box.low.x, p.x), std::min(box.low.y, p.y)};
            box.high = {std::max(box.high.x, p.x), std::max(box.high.y, p.y)};
        }
    return box;
}

void grow(std::optional<Rect>& box, Point2 p) {
    if (!box) box = Rect{p, p};
    box->low = {std::min(box->low.x, p.x), std::min(box->low.y, p.y)};
    box->high = {std::max(box->high.x, p.x), std::max(box->high.y, p.y)};
}

/// Evenly spaced values from low to high, both included, at most `step` apart.
std::vector<double> evenly(double low, double high, double step) {
    const int gaps = std::max(1, static_cast<int>(std::ceil((high - low) / step)));
    std::vector<double> values;
    for (int k = 0; k <= gaps; ++k) values.push_back(low + (high - low) * k / gaps);
    return values;
}

} // namespace

void check_edge_names(const Panel& panel, const std::map<std::string, double>& by_edge, const std::string& key,
                      const std::string& file) {
    for (const auto& [name, value] : by_edge) {
        const auto among = [&name](const std::vector<std::string>& names) {
            return std::find(names.begin(), names.end(), name) != names.end();
        };
        if (among(panel.edge_names) || among(panel.crest_names)) continue;
        std::string known;
        for (const auto* names : {&panel.edge_names, &panel.crest_names})
            for (const std::string& edge : *names) known += (known.empty() ? "" : ", ") + edge;
        throw InputError(file, key + "/" + pointer_token(name), "an edge \"" + name + "\"",
                         "the edges of " + panel.name + ": " + known);
    }
}

PadRegion::PadRegion(const Panel& panel, const EdgeLimits& limits, std::optional<Section> section,
                     const std::string& file)
    : section_(section) {
    if (panel.outline.empty() || panel.outline.front().points.size() < 3)
        throw InputError(file, "", "panel \"" + panel.name + "\" without an outline", "a closed outline");
    check_edge_names(panel, limits.by_edge_m, "/hold_back", file);

    gather_edges(panel, limits);
    gather_crests(panel, limits);
    beyond_m_ = std::max(0.0, -edges_.front().limit_m);

    const Point2 beyond{beyond_m_, beyond_m_};
    bounds_ = bounds_of(panel.outline);
    if (section_) {
        const Rect& rect = section_->rect;
        bounds_.low = {std::max(bounds_.low.x, rect.low.x), std::max(bounds_.low.y, rect.low.y)};
        bounds_.high = {std::min(bounds_.high.x, rect.high.x), std::min(bounds_.high.y, rect.high.y)};
    }
    bounds_.low = bounds_.low - beyond;
    bounds_.high = bounds_.high + beyond;
    if (section_) find_sides_on(panel);
}

void PadRegion::gather_edges(const Panel& panel, const EdgeLimits& limits) {
    std::map<double, std::vector<Segment>> by_limit;
    for (const Polyline& loop : panel.outline) {
        const std::size_t count = loop.points.size();
        for (std::size_t k = 0; k + (loop.closed ? 0 : 1) < count; ++k) {
            const auto own = limits.by_edge_m.find(panel.edge_names[static_cast<std::size_t>(loop.edge[k])]);
            const double limit_m = own != limits.by_edge_m.end() ? own->second : limits.everywhere_m;
            by_limit[limit_m].push_back({loop.points[k], loop.points[(k + 1) % count]});
        }
    }
    for (auto& [limit_m, segments] : by_limit) edges_.push_back({limit_m, Border(std::move(segments))});
}

void PadRegion::gather_crests(const Panel& panel, const EdgeLimits& limits) {
    for (const Polyline& line : panel.crests) {
        if (line.points.size() < 2) continue;
        const auto own = limits.by_edge_m.find(panel.crest_names[static_cast<std::size_t>(line.edge.front())]);
        if (own == limits.by_edge_m.end() || own->second <= 0) continue;
        std::vector<Segment> segments;
        for (std::size_t k = 0; k + (line.closed ? 0 : 1) < line.points.size(); ++k)
            segments.push_back({line.points[k], line.points[(k + 1) % line.points.size()]});
        crests_.push_back({own->second, Border(std::move(segments))});
    }
}

PadRegion::Border::Border(std::vector<Segment> segments) : segments_(std::move(segments)) {
    constexpr std::size_t run_length = 12;
    for (std::size_t first = 0; first < segments_.size(); first += run_length) {
        const std::size_t last = std::min(first + run_length, segments_.size());
        std::optional<Rect> box;
        for (std::size_t k = first; k < last; ++k) {
            grow(box, segments_[k].from);
            grow(box, segments_[k].to);
        }
        runs_.push_back({*box, first, last});
    }
}

double PadRegion::Border::distance_m(Point2 p) const {
    double least = std::numeric_limits<double>::infinity();
    for (const Run& run : runs_) {
        if (squared_distance_to_box(p, run.box) >= least) continue;
        for (std::size_t k = run.first; k < run.last; ++k)
            least = std::min(least, squared_distance_to_segment(p, segments_[k].from, segments_[k].to));
    }
    return std::sqrt(least);
}

int PadRegion::Border::crossings(Point2 p) const {
    int count = 0;
    for (const Run& run : runs_) {
        if (p.y < run.box.low.y || p.y > run.box.high.y || p.x > run.box.high.x) continue;
        for (std::size_t k = run.first; k < run.last; ++k) {
            const Segment& s = segments_[k];
            if ((s.from.y > p.y) == (s.to.y > p.y)) continue;
            if (p.x < s.from.x + (p.y - s.from.y) / (s.to.y - s.from.y) * (s.to.x - s.from.x)) ++count;
        }
    }
    return count;
}

void PadRegion::find_sides_on(const Panel& panel) {
    const PadRegion well_inside(panel, EdgeLimits{on_panel_m, {}});
    const Point2 low = section_->rect.low, high = section_->rect.high;
    const std::array<Point2, 5> corners = {low, Point2{high.x, low.y}, high, Point2{low.x, high.y}, low};
    for (std::size_t k = 0; k + 1 < corners.size(); ++k) {
        const Way side(corners[k], corners[k + 1]);
        for (const Stretch& stretch : well_inside.along(side))
            sides_on_panel_.push_back({side.at(stretch.from_m), side.at(stretch.to_m)});
    }
}

/// Allowed only if both are. Refused, it stays so for as long as the more lasting refusal does.
PadRegion::Verdict PadRegion::both(Verdict a, Verdict b) {
    if (a.allowed && b.allowed) return {true, std::min(a.certain_m, b.certain_m)};
    if (a.allowed) return b;
    if (b.allowed) return a;
    return {false, std::max(a.certain_m, b.certain_m)};
}

PadRegion::Verdict PadRegion::judge(Point2 p, double slack_m) const {
    Verdict verdict = judge_edges(p, slack_m);
    if (!crests_.empty()) verdict = both(verdict, judge_crests(p, slack_m));
    return section_ ? both(verdict, judge_section(p, slack_m)) : verdict;
}

PadRegion::Verdict PadRegion::judge_crests(Point2 p, double slack_m) const {
    Verdict verdict{true, std::numeric_limits<double>::infinity()};
    for (const Edge& crest : crests_) {
        const double margin_m = crest.border.distance_m(p) - (crest.limit_m - slack_m);
        verdict = both(verdict, {margin_m >= 0, std::abs(margin_m)});
    }
    return verdict;
}

// Distances change no faster than the point moves, so a margin of d cannot be used up within d.
PadRegion::Verdict PadRegion::judge_edges(Point2 p, double slack_m) const {
    double nearest_m = std::numeric_limits<double>::infinity();
    int crossings = 0;
    for (const Edge& edge : edges_) {
        nearest_m = std::min(nearest_m, edge.border.distance_m(p));
        crossings += edge.border.crossings(p);
    }
    const double depth_m = crossings % 2 == 1 ? nearest_m : -nearest_m;
    const double least_m = edges_.front().limit_m - slack_m;
    if (edges_.size() == 1 || depth_m < least_m) return {depth_m >= least_m, std::abs(depth_m - least_m)};

    Verdict verdict{true, std::max(0.0, depth_m)};
    for (const Edge& edge : edges_) {
        const double distance_m = edge.border.distance_m(p);
        const double limit_m = edge.limit_m - slack_m;
        if (edge.limit_m > 0)
            verdict = both(verdict, {distance_m >= limit_m, std::abs(distance_m - limit_m)});
        const bool over_this_edge = depth_m < 0 && distance_m <= nearest_m + touching_m;
        if (over_this_edge && depth_m < limit_m) verdict = both(verdict, {false, 0});
    }
    return verdict;
}

PadRegion::Verdict PadRegion::judge_section(Point2 p, double slack_m) const {
    const Rect& rect = section_->rect;
    const double bound_m = -std::min(beyond_m_, section_->pad_radius_m) - slack_m;
    Verdict verdict{true, std::numeric_limits<double>::infinity()};
    for (const double depth_m : {p.x - rect.low.x, rect.high.x - p.x, p.y - rect.low.y, rect.high.y - p.y})
        verdict = both(verdict, {depth_m >= bound_m, std::abs(depth_m - bound_m)});
    const double inset_m = section_->pad_radius_m - slack_m;
    for (const Segment& side : sides_on_panel_) {
        const double distance_m = std::sqrt(squared_distance_to_segment(p, side.from, side.to));
        verdict = both(verdict, {distance_m >= inset_m, std::abs(distance_m - inset_m)});
    }
    return verdict;
}

std::vector<Stretch> PadRegion::along(const Way& way, double slack_m) const {
    const double length_m = way.length_m();
    std::vector<Stretch> stretches;
    double s = 0;
    Verdict here = judge(way.at(0), slack_m);
    if (here.allowed) stretches.push_back({0, 0});
    while (s < length_m) {
        const double next = std::min(length_m, s + std::max(scan_step_m, here.certain_m));
        const Verdict there = judge(way.at(next), slack_m);
        if (there.allowed != here.allowed) {
            double same = s, changed = next;
            while (changed - same > ends_m) {
                const double middle = 0.5 * (same + changed);
                (judge(way.at(middle), slack_m).allowed == here.allowed ? same : changed) = middle;
            }
            if (there.allowed) stretches.push_back({changed, changed});
            else stretches.back().to_m = same;
        }
        if (there.allowed) stretches.back().to_m = next;
        s = next;
        here = there;
    }
    return stretches;
}

bool PadRegion::keeps(const Way& way, double slack_m) const {
    const std::vector<Stretch> stretches = along(way, slack_m);
    return stretches.size() == 1 && stretches.front().length_m() >= way.length_m();
}

std::optional<Rect> PadRegion::extent() const {
    const auto scan = [this](const Rect& area) {
        std::optional<Rect> found;
        const auto take = [&](Point2 from, Point2 to) {
            const Way line(from, to);
            for (const Stretch& stretch : along(line, 0.5 * touching_m)) {
                grow(found, line.at(stretch.from_m));
                grow(found, line.at(stretch.to_m));
            }
        };
        for (const double y : evenly(area.low.y, area.high.y, scan_rows_m))
            take({bounds_.low.x, y}, {bounds_.high.x, y});
        for (const double x : evenly(area.low.x, area.high.x, scan_rows_m))
            take({x, bounds_.low.y}, {x, bounds_.high.y});
        return found;
    };
    if (bounds_.low.x > bounds_.high.x || bounds_.low.y > bounds_.high.y) return std::nullopt;
    // The second scan runs along the borders of the first one's find as well: a region narrower than
    // the scan lines are apart (a panel just as wide as the pad) is met by the lines across it only.
    std::optional<Rect> found = scan(bounds_);
    if (!found) return std::nullopt;
    const std::optional<Rect> again = scan(*found);
    if (again) {
        grow(found, again->low);
        grow(found, again->high);
    }
    return found;
}

} // namespace sparecoat
