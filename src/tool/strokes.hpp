#pragma once
#include "tool/pad_region.hpp"
#include "tool/way.hpp"
#include <functional>
#include <optional>
#include <vector>

namespace sparecoat::tool {

/// A piece of the arm's way that starts and ends at rest.
struct Leg {
    enum class Kind {
        down,  ///< pressed on, at the arm speed
        lifted ///< carried over; takes fixed_s
    };
    Kind kind = Kind::down;
    ArmWay way;
    double fixed_s = 0;
    int pass = 0;
    bool recharge = false; ///< fresh liquid and a clean pad at the start of this leg
};

inline constexpr double lift_s = 0.4;            ///< up and down again; common practice, no source
inline constexpr double lifted_speed_m_s = 0.15; ///< common practice, no source
inline constexpr double recharge_s = 5.0;        ///< wiping and charging the pad; common practice, no source
inline constexpr double path_slack_m = 1e-3;     ///< a move between strokes may cut corners by this much

/// Strings strokes together: stays down between two of them where the pad may pass, lifts where not.
class StrokePlan {
public:
    /// @param longest_move_m the pad is lifted for longer moves, other than to a sweep's next line: they
    /// would wipe a strip that is wiped already.
    StrokePlan(const PadRegion& region, double speed_m_s, double acceleration_m_s2, double longest_move_m)
        : region_(&region), speed_m_s_(speed_m_s), acceleration_m_s2_(acceleration_m_s2),
          longest_move_m_(longest_move_m) {}

    /// The pass that the strokes from here on belong to. @param recharge before its first stroke.
    void begin_pass(int pass, bool recharge);

    /// Seconds that getting to a point takes, down or lifted; 0 before the first stroke.
    double reach_s(Point2 to) const;

    /// Adds a stroke, with the move to its start: straight.
    void stroke(const ArmWay& way);

    /// Adds the stroke that follows in a sweep, with the move to its start: straight if that keeps to
    /// the region, else along the region's border if that does within the slack, else straight within
    /// the slack, else lifted.
    /// @param border finds the way along the border; nothing if there is none.
    void next_stroke(const ArmWay& way, const std::function<std::optional<ArmWay>()>& border);

    const std::vector<Leg>& legs() const { return legs_; }

private:
    bool may_stay_down(const ArmWay& way) const;
    void start(const ArmWay& way);
    void lift(Point2 to, double at_least_s);
    void down(const ArmWay& way);

    const PadRegion* region_;
    double speed_m_s_, acceleration_m_s2_, longest_move_m_;
    std::vector<Leg> legs_;
    std::optional<Point2> at_; ///< where the arm stands; nothing before the first stroke
    int pass_ = 0;
    bool recharge_due_ = false, recharged_ = false;
};

/// The direction that a raster's lines run in.
enum class Run { along_u, along_v };

/// Where the outermost lines of a raster lie, across its run.
struct RasterBand {
    double low_m = 0, high_m = 0;
};

/// The outermost lines with strokes worth making. They are the same for every pass with that run, and take
/// longer to find than all the lines between them to lay.
/// @param extent PadRegion::extent().
RasterBand raster_band(const PadRegion& region, const Rect& extent, Run run);

/// The lines of one section pass: how they lie, and their sideways wander.
struct Raster {
    Run run = Run::along_u;
    RasterBand band; ///< raster_band() of that run
    /// At the most: evened out so that both outermost lines lie at the limit.
    double spacing_m = 0;
    std::function<double(int)> wander_m; ///< by line; empty = none
};

/// Adds one pass of a raster over the region. The lines are cut where the centre may not go, the
/// strokes grouped into cells that a serpentine sweeps without lifting (boustrophedon decomposition:
/// Choset, Autonomous Robots 9, 247, 2000), and the cells taken by the least time to the next one.
/// @return number of lines.
int add_raster(StrokePlan& plan, const PadRegion& region, const Raster& raster);

/// An Archimedean spiral out from the centre of a box, closed by one turn round its inscribed ellipse.
/// Along the box's longer side the turns are a pitch apart (spacing_m at the most, a whole number of
/// turns), along the shorter one in proportion less.
/// @param wander_m of the radius, by number of turns; empty = none.
ArmWay spiral_way(const Rect& box, double spacing_m, const std::function<double(double)>& wander_m);

/// Adds the allowed stretches of a way as strokes. Stretches under 5 mm are left out.
void add_way(StrokePlan& plan, const PadRegion& region, const ArmWay& way);

} // namespace sparecoat::tool
