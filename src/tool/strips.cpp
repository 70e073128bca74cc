#include "tool/strips.hpp"
#include "tool/level_lines.hpp"
#include "units/error.hpp"
#include "units/quantity.hpp"
#include <algorithm>
#include <cmath>
#include <fmt/format.h>
#include <fmt/ranges.h>
#include <limits>

namespace sparecoat::tool {

namespace {

constexpr double strip_slack_m = 1e-6;  ///< a strip laid right at a hold-back touches it despite rounding
constexpr double shortest_share = 0.25; ///< of the pad's radius: shorter pieces are not worth a charge

std::string in_mm_text(double m) { return fmt::format("{:.4g} mm", m / mm); }

bool holds_name(const std::vector<std::string>& names, const std::string& name) {
    return std::find(names.begin(), names.end(), name) != names.end();
}

/// How far the strips came before nothing of them was left.
enum class StripsReached { none, level, clear, region };

/// One edge or line that strips are laid along.
struct StripTarget {
    std::string name;
    bool line = false;
};

class StripLayer {
public:
    StripLayer(const Technique& technique, double pad_radius_m, const Panel& panel, const PadRegion& region,
               const std::string& file)
        : technique_(technique), pad_radius_m_(pad_radius_m), panel_(panel), region_(region), file_(file),
          edges_(segments_of(panel.outline)), lines_(segments_of(panel.crests)) {}

    std::vector<ArmWay> pieces() {
        check();
        for (std::size_t k = 0; k < technique_.strips.size(); ++k) {
            const StripsAlong& strips = technique_.strips[k];
            const std::string place = fmt::format("/strips/{}", k);
            for (const StripTarget& target : targets(strips, place)) {
                check_side(strips, target, place);
                for (std::size_t i = 0; i < strips.at_m.size(); ++i) {
                    if (!target.line && strips.at_m[i] <= 0)
                        throw InputError(file_, fmt::format("{}/at/{}", place, i),
                                         fmt::format("0 mm from the edge \"{}\"", target.name),
                                         "a distance above 0; 0 is for lines: the crest itself");
                    add(strips, target, strips.at_m[i]);
                }
            }
        }
        if (pieces_.empty()) refuse_nothing_left();
        return std::move(pieces_);
    }

private:
    void check() const {
        const auto require = [&](bool holds, const std::string& place, const std::string& found,
                                 const char* allowed) {
            if (!holds) throw InputError(file_, place, found, allowed);
        };
        const auto not_negative = [](double value) { return std::isfinite(value) && value >= 0; };
        require(!technique_.strips.empty(), "/strips", "no strips", "a list of 1 or more");
        require(std::isfinite(technique_.charge_every_m) && technique_.charge_every_m > 0, "/charge_every",
                in_mm_text(technique_.charge_every_m), "a length above 0");
        for (std::size_t k = 0; k < technique_.strips.size(); ++k) {
            const StripsAlong& strips = technique_.strips[k];
            const std::string place = fmt::format("/strips/{}", k);
            require(!strips.at_m.empty(), place + "/at", "no distance", "a list of 1 or more");
            for (std::size_t i = 0; i < strips.at_m.size(); ++i)
                require(not_negative(strips.at_m[i]), fmt::format("{}/at/{}", place, i),
                        in_mm_text(strips.at_m[i]), "0 mm or more");
            require(not_negative(strips.clear_of_m), place + "/clear_of", in_mm_text(strips.clear_of_m),
                    "0 mm or more");
        }
    }

    std::vector<StripTarget> targets(const StripsAlong& strips, const std::string& place) const {
        std::vector<StripTarget> found;
        const auto add_all = [&](const std::vector<std::string>& names, bool line) {
            for (const std::string& name : names) found.push_back({name, line});
        };
        if (strips.along == "edges") add_all(panel_.edge_names, false);
        else if (strips.along == "lines") add_all(panel_.crest_names, true);
        else if (holds_name(panel_.edge_names, strips.along)) found.push_back({strips.along, false});
        else if (holds_name(panel_.crest_names, strips.along)) found.push_back({strips.along, true});
        else {
            std::vector<std::string> known = panel_.edge_names;
            known.insert(known.end(), panel_.crest_names.begin(), panel_.crest_names.end());
            throw InputError(
                file_, place + "/along", fmt::format("an edge or line \"{}\"", strips.along),
                fmt::format("\"edges\", \"lines\", or one of {}: {}", panel_.name, fmt::join(known, ", ")));
        }
        return found;
    }

    /// A side that an edge or line does not have would be passed over without a word.
    void check_side(const StripsAlong& strips, const StripTarget& target, const std::string& place) const {
        if (strips.side == StripSide::both) return;
        const std::string found = fmt::format("\"{}\" of \"{}\"", name_of(strips.side), target.name);
        if (!target.line) {
            const Polyline& outer = panel_.outline.front();
            const bool of_hole = std::none_of(outer.edge.begin(), outer.edge.end(), [&](int edge) {
                return panel_.edge_names[static_cast<std::size_t>(edge)] == target.name;
            });
            if (strips.side != (of_hole ? StripSide::outside : StripSide::inside))
                throw InputError(file_, place + "/side", found,
                                 "both: an edge is worked from the panel's side");
        } else if (strips.along != "lines" && !any_closed(target.name)) {
            throw InputError(file_, place + "/side", found, "both: an open line has no inside");
        }
    }

    bool any_closed(const std::string& name) const {
        return std::any_of(panel_.crests.begin(), panel_.crests.end(), [&](const Polyline& line) {
            return line.closed && !runs_with_name(line, panel_.crest_names, name).empty();
        });
    }

    void add(const StripsAlong& strips, const StripTarget& target, double at_m) {
        const std::vector<LevelLine> level =
            target.line ? beside_line(target.name, strips.side, at_m) : beside_edge(target.name, at_m);
        const std::vector<Segment> others =
            strips.clear_of_m > 0 ? others_than(target) : std::vector<Segment>{};
        for (const LevelLine& line : level) {
            came_to(StripsReached::level);
            for (const LevelLine& part : parts_clear_of(line, others, strips.clear_of_m)) {
                came_to(StripsReached::clear);
                add_allowed(part);
            }
        }
    }

    std::vector<LevelLine> beside_edge(const std::string& name, double at_m) const {
        std::vector<LevelLine> level;
        for (const Polyline& loop : panel_.outline)
            for (const DrawnRun& run : runs_with_name(loop, panel_.edge_names, name))
                append(level, level_to_left(run, edges_, at_m));
        return level;
    }

    std::vector<LevelLine> beside_line(const std::string& name, StripSide side, double at_m) const {
        std::vector<Segment> own;
        for (const Segment& piece : lines_)
            if (panel_.crest_names[static_cast<std::size_t>(piece.label)] == name) own.push_back(piece);
        std::vector<LevelLine> level;
        for (const Polyline& line : panel_.crests)
            for (const DrawnRun& run : runs_with_name(line, panel_.crest_names, name)) {
                if (at_m <= 0) {
                    level.push_back({run.points, run.closed});
                    continue;
                }
                const bool left_is_inside = run.closed && encloses_on_left(run.points);
                const StripSide left = left_is_inside ? StripSide::inside : StripSide::outside;
                const StripSide right = left_is_inside ? StripSide::outside : StripSide::inside;
                if (!run.closed || side == StripSide::both || side == left)
                    append(level, level_to_left(run, own, at_m));
                if (!run.closed || side == StripSide::both || side == right)
                    append(level, level_to_left(turned_round(run), own, at_m));
            }
        return level;
    }

    static void append(std::vector<LevelLine>& to, const std::vector<LevelLine>& lines) {
        to.insert(to.end(), lines.begin(), lines.end());
    }

    static bool encloses_on_left(const std::vector<Point2>& loop) {
        double twice_area = 0;
        for (std::size_t k = 0; k < loop.size(); ++k) {
            const Point2 a = loop[k], b = loop[(k + 1) % loop.size()];
            twice_area += a.x * b.y - a.y * b.x;
        }
        return twice_area > 0;
    }

    /// All edges and lines but one, with which an edge's sharp roll counts as one.
    std::vector<Segment> others_than(const StripTarget& target) const {
        const auto roll_of = [](const std::string& edge) { return edge + " roll"; };
        std::vector<Segment> others;
        for (const Segment& piece : edges_) {
            const std::string& name = panel_.edge_names[static_cast<std::size_t>(piece.label)];
            if (target.line ? roll_of(name) != target.name : name != target.name) others.push_back(piece);
        }
        for (const Segment& piece : lines_) {
            const std::string& name = panel_.crest_names[static_cast<std::size_t>(piece.label)];
            if (target.line ? name != target.name : name != roll_of(target.name)) others.push_back(piece);
        }
        return others;
    }

    /// Cuts a line where the pad's centre may not go.
    void add_allowed(const LevelLine& line) {
        std::vector<Point2> points = line.points;
        if (line.closed) points.push_back(points.front());
        const ArmWay way(std::move(points));
        std::vector<Stretch> stretches = region_.along(way, strip_slack_m);
        const bool goes_round = line.closed && stretches.size() > 1 && stretches.front().from_m <= 0 &&
                                stretches.back().to_m >= way.length_m();
        if (goes_round) {
            std::vector<Point2> joined = way.part(stretches.back().from_m, way.length_m()).points();
            const std::vector<Point2> rest = way.part(0, stretches.front().to_m).points();
            joined.insert(joined.end(), rest.begin() + 1, rest.end());
            add_charges(ArmWay(std::move(joined)));
            stretches.erase(stretches.begin());
            stretches.pop_back();
        }
        for (const Stretch& stretch : stretches) add_charges(way.part(stretch.from_m, stretch.to_m));
    }

    void add_charges(const ArmWay& way) {
        came_to(StripsReached::region);
        const double length_m = way.length_m();
        if (length_m < shortest_share * pad_radius_m_) return;
        constexpr double rounding = 1e-6; // of a piece: ends are found to a nanometre
        const int count =
            std::max(1, static_cast<int>(std::ceil(length_m / technique_.charge_every_m - rounding)));
        for (int k = 0; k < count; ++k)
            pieces_.push_back(way.part(length_m * k / count, length_m * (k + 1) / count));
    }

    void came_to(StripsReached stage) { reached_ = std::max(reached_, stage); }

    [[noreturn]] void refuse_nothing_left() const {
        std::string why;
        switch (reached_) {
        case StripsReached::none: why = "it has no place at these distances"; break;
        case StripsReached::level:
            why = "all of them come nearer to another edge or line than clear_of";
            break;
        case StripsReached::clear:
            why = fmt::format("the pad of {} may not go there with its hold-back",
                              in_mm_text(2 * pad_radius_m_));
            break;
        case StripsReached::region:
            why = fmt::format("only pieces under {}, a quarter of the pad's radius",
                              in_mm_text(shortest_share * pad_radius_m_));
            break;
        }
        throw InputError(file_, "/strips",
                         fmt::format("no strip that is left on the panel \"{}\": {}", panel_.name, why),
                         "strips on which the pad's centre keeps to the hold-back (its radius plus the "
                         "hold-back, which may be negative) and to clear_of");
    }

    const Technique& technique_;
    double pad_radius_m_;
    const Panel& panel_;
    const PadRegion& region_;
    const std::string& file_;
    std::vector<Segment> edges_, lines_;
    StripsReached reached_ = StripsReached::none;
    std::vector<ArmWay> pieces_;
};

/// A way moved to its left, each point square to the way there.
ArmWay moved_left(const ArmWay& way, double by_m) {
    const std::vector<Point2>& points = way.points();
    const auto direction = [&](std::size_t from, std::size_t to) {
        const Point2 run = points[to] - points[from];
        const double length_m = norm(run);
        return length_m > 0 ? (1 / length_m) * run : Point2{};
    };
    std::vector<Point2> moved;
    for (std::size_t k = 0; k < points.size(); ++k) {
        Point2 along;
        if (k > 0) along = along + direction(k - 1, k);
        if (k + 1 < points.size()) along = along + direction(k, k + 1);
        const double length_m = norm(along);
        if (length_m > 0) along = (1 / length_m) * along;
        moved.push_back(points[k] + by_m * Point2{-along.y, along.x});
    }
    return ArmWay(std::move(moved));
}

/// A way moved sideways as far as the region allows.
ArmWay strayed(const ArmWay& way, double by_m, const PadRegion& region) {
    const ArmWay whole = moved_left(way, by_m);
    if (region.keeps(whole, strip_slack_m)) return whole;
    double kept = 0, left = 1;
    constexpr int halvings = 12;
    for (int k = 0; k < halvings; ++k) {
        const double share = 0.5 * (kept + left);
        (region.keeps(moved_left(way, share * by_m), strip_slack_m) ? kept : left) = share;
    }
    return kept > 0 ? moved_left(way, kept * by_m) : way;
}

} // namespace

std::vector<ArmWay> strip_pieces(const Technique& technique, double pad_radius_m, const Panel& panel,
                                 const PadRegion& region, const std::string& file) {
    return StripLayer(technique, pad_radius_m, panel, region, file).pieces();
}

void add_strips(StrokePlan& plan, const PadRegion& region, std::vector<ArmWay> pieces, int passes,
                const std::function<double(int)>& wander_m) {
    int run = 0;
    bool first = true;
    Point2 at = pieces.empty() ? Point2{} : pieces.front().front();
    while (!pieces.empty()) {
        std::size_t nearest = 0;
        bool from_back = false;
        double least_m = std::numeric_limits<double>::infinity();
        for (std::size_t k = 0; k < pieces.size(); ++k)
            for (const bool back : {false, true}) {
                const double away_m = norm((back ? pieces[k].back() : pieces[k].front()) - at);
                if (away_m < least_m) least_m = away_m, nearest = k, from_back = back;
            }
        const ArmWay there = from_back ? pieces[nearest].reversed() : pieces[nearest];
        pieces.erase(pieces.begin() + static_cast<std::ptrdiff_t>(nearest));
        for (int pass = 0; pass < passes; ++pass, ++run) {
            plan.begin_pass(pass, pass == 0 && !first);
            first = false;
            ArmWay way = there;
            if (wander_m) way = strayed(there, wander_m(run), region);
            if (pass % 2 == 1) way = way.reversed();
            plan.stroke(way);
            at = way.back();
        }
    }
}

} // namespace sparecoat::tool
