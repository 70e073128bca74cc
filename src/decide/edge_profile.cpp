#include "decide/edge_profile.hpp"
#include "panel/distance.hpp"
#include <algorithm>
#include <cmath>
#include <stdexcept>
#include <utility>

namespace sparecoat::decide {
namespace {

/// A run of segments of one name that follow each other.
struct Stretch {
    std::vector<Segment> segments;
    bool closed = false;
    double length_m() const {
        double sum = 0;
        for (const Segment& s : segments) sum += norm(s.b - s.a);
        return sum;
    }
};

/// The stretches of a line that bear a name, each in the direction of drawing. On a closed line a stretch may
/// run through the place where the drawing starts: it is begun where another name ends.
std::vector<Stretch> stretches_of(const Polyline& line, int name) {
    const std::vector<Segment> segments = segments_of({line});
    const std::size_t count = segments.size();
    const auto ours = [&](std::size_t n) { return segments[n % count].label == name; };
    std::size_t start = 0;
    if (line.closed)
        while (start < count && ours(start + count - 1)) ++start; // the segment before is of another name
    if (start == count && count > 0) return {{segments, true}};   // none is: the whole loop
    std::vector<Stretch> found;
    for (std::size_t n = start; n < start + count; ++n) {
        if (!ours(n)) continue;
        if (found.empty() || n == start || !ours(n - 1)) found.emplace_back();
        found.back().segments.push_back(segments[n % count]);
    }
    return found;
}

/// Where a point's nearest place on a set of stretches is.
struct Foot {
    double distance_m = INFINITY;
    std::size_t stretch = 0;
    double along_m = 0; ///< in the stretch
    bool past_end = false;
};

class Rail {
public:
    explicit Rail(std::vector<Stretch> stretches) : stretches_(std::move(stretches)) {
        for (const Stretch& stretch : stretches_) {
            std::vector<double>& before = before_.emplace_back();
            double walked = 0;
            for (const Segment& s : stretch.segments)
                before.push_back(std::exchange(walked, walked + norm(s.b - s.a)));
        }
    }

    Foot foot(Point2 p) const {
        Foot best;
        for (std::size_t k = 0; k < stretches_.size(); ++k) {
            const std::vector<Segment>& segments = stretches_[k].segments;
            for (std::size_t n = 0; n < segments.size(); ++n) {
                const Nearest near = nearest_on(segments[n], p);
                if (near.distance_m >= best.distance_m) continue;
                const bool open = !stretches_[k].closed;
                const bool past =
                    open && ((n == 0 && near.along <= 0) || (n + 1 == segments.size() && near.along >= 1));
                best = {near.distance_m, k, before_[k][n] + near.along * norm(segments[n].b - segments[n].a),
                        past};
            }
        }
        return best;
    }

    Point2 point(std::size_t stretch, double along_m) const {
        const std::vector<double>& before = before_[stretch];
        const auto next = std::upper_bound(before.begin() + 1, before.end(), along_m);
        const auto n = static_cast<std::size_t>(next - before.begin()) - 1;
        const Segment& s = stretches_[stretch].segments[n];
        const double length = norm(s.b - s.a);
        const double share = length > 0 ? std::clamp((along_m - before[n]) / length, 0.0, 1.0) : 0;
        return (1 - share) * s.a + share * s.b;
    }

    const std::vector<Stretch>& stretches() const { return stretches_; }

private:
    std::vector<Stretch> stretches_;
    std::vector<std::vector<double>> before_; ///< way along a stretch up to each of its segments
};

std::vector<Stretch> stretches_of(const Panel& panel, PanelFeature ground) {
    std::vector<Stretch> found;
    const bool edge = ground.edge >= 0;
    for (const Polyline& line : edge ? panel.outline : panel.crests)
        for (Stretch& stretch : stretches_of(line, edge ? ground.edge : ground.crest))
            found.push_back(std::move(stretch));
    return found;
}

} // namespace

std::vector<PanelFeature> profile_features(const Panel& panel) {
    std::vector<PanelFeature> grounds;
    const auto add = [&](const std::vector<std::string>& names, bool edge) {
        for (int k = 0; k < static_cast<int>(names.size()); ++k) {
            const PanelFeature ground = edge ? PanelFeature{k, -1} : PanelFeature{-1, k};
            if (!stretches_of(panel, ground).empty()) grounds.push_back(ground);
        }
    };
    add(panel.edge_names, true);
    add(panel.crest_names, false);
    return grounds;
}

EdgeProfile edge_profile_along(const Panel& panel, PanelFeature ground, double width_m) {
    const Rail rail(stretches_of(panel, ground));
    if (rail.stretches().empty())
        throw std::invalid_argument("a ribbon needs an edge or a line of the panel");
    const Grid& grid = panel.grid;
    EdgeProfile out;
    out.ground = ground;
    // Two cells to a piece: on a slanting line a piece of one cell's length might hold none in a narrow
    // place.
    out.piece_m = 2 * grid.h_m;
    std::vector<std::size_t> offset; // first piece of each stretch
    for (std::size_t k = 0; k < rail.stretches().size(); ++k) {
        const double length_m = rail.stretches()[k].length_m();
        offset.push_back(out.pieces());
        for (double from = 0; from < length_m; from += out.piece_m) {
            const double middle = 0.5 * (from + std::min(from + out.piece_m, length_m));
            out.along_m.push_back(out.length_m + middle);
            out.at.push_back(rail.point(k, middle));
            out.begins.push_back(from == 0);
        }
        out.length_m += length_m;
    }
    offset.push_back(out.pieces());

    std::vector<std::vector<std::uint32_t>> by_piece(out.pieces());
    const std::vector<float>& distance_m = ground.edge >= 0 ? panel.edge_distance_m : panel.crest_distance_m;
    for (std::size_t k = 0; k < grid.cells(); ++k) {
        // The nearest edge of all is no farther than this one.
        if (!panel.inside[k] || static_cast<double>(distance_m[k]) > width_m) continue;
        const Foot foot = rail.foot(grid.centre(k));
        if (foot.past_end || foot.distance_m > width_m) continue;
        const std::size_t last = offset[foot.stretch + 1] - 1;
        const auto piece = offset[foot.stretch] + static_cast<std::size_t>(foot.along_m / out.piece_m);
        by_piece[std::min(piece, last)].push_back(static_cast<std::uint32_t>(k));
    }
    for (const std::vector<std::uint32_t>& cells : by_piece) {
        out.first.push_back(static_cast<std::uint32_t>(out.cells.size()));
        out.cells.insert(out.cells.end(), cells.begin(), cells.end());
    }
    out.first.push_back(static_cast<std::uint32_t>(out.cells.size()));
    return out;
}

std::vector<std::uint32_t> least_along(const EdgeProfile& profile, std::span<const float> field) {
    std::vector<std::uint32_t> out(profile.pieces(), no_profile_cell);
    for (std::size_t n = 0; n < out.size(); ++n)
        for (const std::uint32_t cell : profile.cells_of(n))
            if (out[n] == no_profile_cell || field[cell] < field[out[n]]) out[n] = cell;
    return out;
}

std::size_t nearest_piece(const EdgeProfile& profile, Point2 p) {
    if (profile.pieces() == 0) throw std::invalid_argument("a ribbon without pieces has none nearest");
    std::size_t best = 0;
    for (std::size_t n = 1; n < profile.pieces(); ++n)
        if (norm(profile.at[n] - p) < norm(profile.at[best] - p)) best = n;
    return best;
}

} // namespace sparecoat::decide
