#include "tool/pad_region.hpp"
#include "units/error.hpp"
#include <algorithm>
#include <array>
#include <limits>

namespace sparecoat::tool {

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

inline double squared_distance_to_box(Point2 p, const Rect& box) {
    const double across = std::max(0.0, std::max(box.low.x - p.x, p.x - box.high.x));
    const double up = std::max(0.0, std::max(box.low.y - p.y, p.y - box.high.y));
    return across * across + up * up;
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

void check_edge_names(const Panel& panel, const std::map<std::string, double>& by_edge,
                      const std::string& key, const std::string& file) {
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
        const auto own =
            limits.by_edge_m.find(panel.crest_names[static_cast<std::size_t>(line.edge.front())]);
        if (own == limits.by_edge_m.end() || own->second <= 0) continue;
        std::vector<Segment> segments;
        for (std::size_t k = 0; k + (line.closed ? 0 : 1) < line.points.size(); ++k)
            segments.push_back({line.points[k], line.points[(k + 1) % line.points.size()]});
        crests_.push_back({own->second, Border(std::move(segments))});
    }
}

PadRegion::Border::Border(std::vector<Segment> segments) : segments_(std::move(segments)) {
    plant(0, static_cast<std::uint32_t>(segments_.size()));
}

std::uint32_t PadRegion::Border::plant(std::uint32_t first, std::uint32_t last) {
    constexpr std::uint32_t leaf_length = 4;
    const auto here = static_cast<std::uint32_t>(nodes_.size());
    std::optional<Rect> box;
    for (std::uint32_t k = first; k < last; ++k) {
        grow(box, segments_[k].from);
        grow(box, segments_[k].to);
    }
    nodes_.push_back({*box, first, last, 0});
    if (last - first <= leaf_length) return here;
    const std::uint32_t middle = first + (last - first) / 2;
    plant(first, middle);
    const std::uint32_t second = plant(middle, last);
    nodes_[here].second = second;
    return here;
}

double PadRegion::Border::distance_m(Point2 p, double at_most_m) const {
    // Rounding can put a segment a few last bits nearer than the box round it. Boxes are passed over with
    // that much to spare, so that the answer is the least of all segments' to the last bit, and not a matter
    // of order.
    constexpr double spare = 1 + 1e-12, spare_m = 1e-9;
    const double bound = (at_most_m + spare_m) * (at_most_m + spare_m);
    // Boxes still to be looked into and how far they are, the nearest last: one a level at the most, and a
    // level halves. Two arrays: written and read as pairs they would stall the processor.
    std::array<std::uint32_t, 64> open;
    std::array<double, 64> square;
    std::size_t count = 1;
    open[0] = 0, square[0] = 0;
    double least = std::numeric_limits<double>::infinity();
    while (count > 0) {
        --count;
        if (square[count] > std::min(bound, least * spare)) continue;
        const std::uint32_t at = open[count];
        const Node& node = nodes_[at];
        if (node.second == 0) {
            for (std::size_t k = node.first; k < node.last; ++k)
                least = std::min(least, squared_distance_to_segment(p, segments_[k].from, segments_[k].to));
            continue;
        }
        const double first = squared_distance_to_box(p, nodes_[at + 1].box);
        const double second = squared_distance_to_box(p, nodes_[node.second].box);
        const bool first_is_nearer = first <= second;
        open[count] = first_is_nearer ? node.second : at + 1,
        square[count++] = first_is_nearer ? second : first;
        open[count] = first_is_nearer ? at + 1 : node.second,
        square[count++] = first_is_nearer ? first : second;
    }
    return std::sqrt(least);
}

int PadRegion::Border::crossings(Point2 p) const {
    int crossed = 0;
    std::array<std::uint32_t, 64> open; // as above
    std::size_t count = 0;
    open[count++] = 0;
    while (count > 0) {
        const std::uint32_t at = open[--count];
        const Node& node = nodes_[at];
        if (p.y < node.box.low.y || p.y > node.box.high.y || p.x > node.box.high.x) continue;
        if (node.second != 0) {
            open[count++] = node.second;
            open[count++] = at + 1;
            continue;
        }
        for (std::size_t k = node.first; k < node.last; ++k) {
            const Segment& s = segments_[k];
            if ((s.from.y > p.y) == (s.to.y > p.y)) continue;
            if (p.x < s.from.x + (p.y - s.from.y) / (s.to.y - s.from.y) * (s.to.x - s.from.x)) ++crossed;
        }
    }
    return crossed;
}

void PadRegion::find_sides_on(const Panel& panel) {
    const PadRegion well_inside(panel, EdgeLimits{on_panel_m, {}});
    const Point2 low = section_->rect.low, high = section_->rect.high;
    const std::array<Point2, 5> corners = {low, Point2{high.x, low.y}, high, Point2{low.x, high.y}, low};
    for (std::size_t k = 0; k + 1 < corners.size(); ++k) {
        const ArmWay side(corners[k], corners[k + 1]);
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

PadRegion::Verdict PadRegion::judge(Point2 p, double slack_m, Seen* last) const {
    Verdict verdict = judge_edges(p, slack_m, last);
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

/// Distances change no faster than the point moves: within `moved` of the last place the outline is no
/// farther than it was by that. And where the discs round both places that are free of the outline touch each
/// other, nothing of it lies between them, so they are on the same side.
PadRegion::Seen PadRegion::look(Point2 p, const Seen* last) const {
    constexpr double rounding_m = 1e-9;
    const double moved_m = last ? norm(p - last->at) : 0;
    const double at_most_m = last ? last->outline_m + moved_m : std::numeric_limits<double>::infinity();
    double nearest_m = std::numeric_limits<double>::infinity();
    for (const Edge& edge : edges_)
        nearest_m = std::min(nearest_m, edge.border.distance_m(p, std::min(at_most_m, nearest_m)));
    if (last && moved_m + rounding_m < last->outline_m + nearest_m) return {p, nearest_m, last->inside};
    int crossings = 0;
    for (const Edge& edge : edges_) crossings += edge.border.crossings(p);
    return {p, nearest_m, crossings % 2 == 1};
}

// A margin of d cannot be used up within d.
PadRegion::Verdict PadRegion::judge_edges(Point2 p, double slack_m, Seen* last) const {
    const Seen here = look(p, last);
    if (last) *last = here;
    const double nearest_m = here.outline_m, depth_m = here.inside ? nearest_m : -nearest_m;
    const double least_m = edges_.front().limit_m - slack_m;
    if (edges_.size() == 1 || depth_m < least_m) return {depth_m >= least_m, std::abs(depth_m - least_m)};

    Verdict verdict{true, std::max(0.0, depth_m)};
    for (const Edge& edge : edges_) {
        if (edge.limit_m <= 0 && depth_m >= 0) continue; // may be overhung, and is not
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

/// Looks along a way, from one certainty to the next. @param here the answer at its start.
template <class OnChange> void PadRegion::look_along(const ArmWay& way, double slack_m, Verdict here,
                                                     Seen& last, const OnChange& on_change) const {
    const double length_m = way.length_m();
    double s = 0;
    while (s < length_m) {
        const double next = std::min(length_m, s + std::max(scan_step_m, here.certain_m));
        const Verdict there = judge(way.at(next), slack_m, &last);
        if (there.allowed != here.allowed) on_change(Change{s, next, there.allowed});
        s = next;
        here = there;
    }
}

PadRegion::Change PadRegion::narrowed(const ArmWay& way, double slack_m, Change change, Seen last) const {
    while (change.changed_m - change.same_m > ends_m) {
        const double middle = 0.5 * (change.same_m + change.changed_m);
        (judge(way.at(middle), slack_m, &last).allowed == change.allowed ? change.changed_m : change.same_m) =
            middle;
    }
    return change;
}

std::vector<Stretch> PadRegion::along(const ArmWay& way, double slack_m) const {
    std::vector<Stretch> stretches;
    Seen last = look(way.at(0), nullptr);
    const Verdict start = judge(way.at(0), slack_m, &last);
    if (start.allowed) stretches.push_back({0, way.length_m()});
    look_along(way, slack_m, start, last, [&](const Change& change) {
        const Change end = narrowed(way, slack_m, change, last);
        if (end.allowed) stretches.push_back({end.changed_m, way.length_m()});
        else stretches.back().to_m = end.same_m;
    });
    return stretches;
}

bool PadRegion::keeps(const ArmWay& way, double slack_m) const {
    const std::vector<Stretch> stretches = along(way, slack_m);
    return stretches.size() == 1 && stretches.front().length_m() >= way.length_m();
}

std::optional<Rect> PadRegion::extent() const {
    if (bounds_.low.x > bounds_.high.x || bounds_.low.y > bounds_.high.y) return std::nullopt;
    constexpr double slack_m = 0.5 * touching_m;
    std::optional<Rect> found;
    const auto take = [&](Point2 from, Point2 to) {
        const ArmWay line(from, to);
        const auto in_found = [&](double arc_m) {
            const Point2 p = line.at(arc_m);
            return found && p.x >= found->low.x && p.x <= found->high.x && p.y >= found->low.y &&
                   p.y <= found->high.y;
        };
        Seen last = look(from, nullptr);
        const Verdict start = judge(from, slack_m, &last);
        bool allowed = start.allowed;
        if (allowed) grow(found, from);
        look_along(line, slack_m, start, last, [&](const Change& change) {
            allowed = change.allowed;
            // The border lies between the two looks: where both are within what was found, so is that.
            if (in_found(change.same_m) && in_found(change.changed_m)) return;
            const Change end = narrowed(line, slack_m, change, last);
            grow(found, line.at(allowed ? end.changed_m : end.same_m));
        });
        if (allowed) grow(found, to);
    };
    const auto scan = [&](const Rect& area) {
        for (const double y : evenly(area.low.y, area.high.y, scan_rows_m))
            take({bounds_.low.x, y}, {bounds_.high.x, y});
        for (const double x : evenly(area.low.x, area.high.x, scan_rows_m))
            take({x, bounds_.low.y}, {x, bounds_.high.y});
    };
    scan(bounds_);
    if (!found) return std::nullopt;
    // The second scan runs along the borders of the first one's find as well: a region narrower than
    // the scan lines are apart (a panel just as wide as the pad) is met by the lines across it only.
    scan(Rect(*found));
    return found;
}

} // namespace sparecoat::tool
