#pragma once
#include "panel/panel.hpp"
#include "tool/way.hpp"
#include <cstdint>
#include <limits>
#include <map>
#include <optional>
#include <string>
#include <vector>

namespace sparecoat::tool {

struct Rect {
    Point2 low, high;
    Point2 centre() const { return 0.5 * (low + high); }
    Point2 size() const { return high - low; }
};

/// A stretch of a way, by arc length.
struct Stretch {
    double from_m = 0, to_m = 0;
    double length_m() const { return to_m - from_m; }
};

/// How far the pad's centre keeps from each edge: the pad's radius plus the hold-back. Negative where
/// the centre may run outside the panel by that much. A body line, roll or rim may be named too: the pad
/// keeps to either side of it, as of one that is taped.
struct EdgeLimits {
    double everywhere_m = 0;                 ///< for edges; crests are crossed unless named
    std::map<std::string, double> by_edge_m; ///< instead, for these edges, and for these crests
};

/// @throws InputError (file, "<key>/<edge>"), naming the panel's edges and crests, if by_edge has another
/// name.
void check_edge_names(const Panel& panel, const std::map<std::string, double>& by_edge,
                      const std::string& key, const std::string& file);

/// A taped-off section: the pad's rim stays inside its sides where these lie on the panel.
struct Section {
    Rect rect;
    double pad_radius_m = 0;
};

/// Where the pad's centre may go.
///
/// With one limit L for all edges that is {signed distance >= L}. With several, going by the nearest
/// edge alone would let the centre slip in beside a corner, right up to an edge that has to be kept
/// clear of, as soon as its neighbour is nearer. So:
///   - from an edge with L > 0 the centre keeps at least L, whatever other edge is nearer;
///   - off the panel the centre may be only over an edge with L < 0, by -L at the most. The edge it is
///     over is the nearest one; past a convex corner two are equally near and both have to permit it,
///     which cuts the strip over one edge off square at the end of the other.
/// A section's rim rule: the pad does not cover those stretches of the section's sides that lie on the
/// panel (by more than 1 mm: a side drawn on the panel's edge leaves the edge's own limit in charge).
/// Where a side is off the panel the centre may pass it by as much as it may pass an edge, up to a pad
/// radius.
class PadRegion {
public:
    /// @throws InputError (file, "/hold_back/<edge>") if by_edge_m names an edge that the panel lacks;
    /// (file, "") if the panel has no outline.
    PadRegion(const Panel& panel, const EdgeLimits& limits, std::optional<Section> section = {},
              const std::string& file = {});

    /// @param slack_m the limits are taken this much milder.
    bool allows(Point2 p, double slack_m = touching_m) const { return judge(p, slack_m, nullptr).allowed; }

    /// The stretches of a way that are allowed, in order; ends to 1e-9 m. Gaps and stretches shorter
    /// than 1 mm may be missed, those that only touch the region included.
    std::vector<Stretch> along(const ArmWay& way, double slack_m = touching_m) const;

    /// Whether the whole of a way is allowed.
    bool keeps(const ArmWay& way, double slack_m) const;

    /// The smallest upright rectangle round all allowed places, found on scan lines 5 mm apart; nothing
    /// if there are none. Found with half the default slack, so that all of a line laid along its border
    /// is allowed despite rounding.
    std::optional<Rect> extent() const;

    /// An upright rectangle that holds every allowed place, and needs no search.
    const Rect& bounds() const { return bounds_; }

private:
    /// Rounding that still counts as touching the limit.
    static constexpr double touching_m = 1e-9;

    /// The answer at a point, and a distance around it within which the answer stays the same.
    struct Verdict {
        bool allowed = true;
        double certain_m = 0;
    };
    struct Segment {
        Point2 from, to;
    };

    /// Segments under a tree of boxes, so that a question looks at a few of them only.
    class Border {
    public:
        /// @param segments at least one. Neighbours in the list should be neighbours on the panel.
        explicit Border(std::vector<Segment> segments);
        /// @param at_most_m known to be no less than the distance; saves looking farther away.
        double distance_m(Point2 p, double at_most_m = std::numeric_limits<double>::infinity()) const;
        int crossings(Point2 p) const; ///< of a ray from p towards +u

    private:
        /// A stretch of the list and the box round it. Halves of a stretch of more than a few segments are
        /// nodes of their own: the first follows at once, the second at `second`; 0 for a leaf.
        struct Node {
            Rect box;
            std::uint32_t first, last, second;
        };
        std::uint32_t plant(std::uint32_t first, std::uint32_t last);

        std::vector<Segment> segments_;
        std::vector<Node> nodes_;
    };
    /// All of the outline that has the same limit.
    struct Edge {
        double limit_m = 0;
        Border border;
    };

    /// Where the answer changes along a way, as the looks at it found it: the last place with the old answer
    /// and the first with the new one.
    struct Change {
        double same_m = 0, changed_m = 0;
        bool allowed = false; ///< the new answer
    };

    /// A place looked at before, and what is known of it: saves work at the next one, which is near.
    struct Seen {
        Point2 at;
        double outline_m = 0; ///< to the nearest edge
        bool inside = false;  ///< the panel's outline
    };

    static Verdict both(Verdict a, Verdict b);
    template <class OnChange> void look_along(const ArmWay& way, double slack_m, Verdict here, Seen& last,
                                              const OnChange& on_change) const;
    Change narrowed(const ArmWay& way, double slack_m, Change change, Seen last) const;
    /// @param last of an earlier look, replaced by what this one sees. Null: nothing is known.
    Verdict judge(Point2 p, double slack_m, Seen* last) const;
    Verdict judge_edges(Point2 p, double slack_m, Seen* last) const;
    Seen look(Point2 p, const Seen* last) const;
    Verdict judge_crests(Point2 p, double slack_m) const;
    Verdict judge_section(Point2 p, double slack_m) const;
    void gather_edges(const Panel& panel, const EdgeLimits& limits);
    void gather_crests(const Panel& panel, const EdgeLimits& limits);
    void find_sides_on(const Panel& panel);

    std::vector<Edge> edges_;  ///< from the least limit to the greatest
    std::vector<Edge> crests_; ///< named ones with a limit above 0
    double beyond_m_ = 0;      ///< how far outside an edge the centre may be at the most
    std::optional<Section> section_;
    std::vector<Segment> sides_on_panel_; ///< of the section
    Rect bounds_;
};

} // namespace sparecoat::tool
