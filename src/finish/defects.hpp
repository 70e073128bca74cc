#pragma once
#include "panel/panel.hpp"
#include "units/quantity.hpp"
#include <array>
#include <optional>
#include <span>
#include <string_view>
#include <vector>

namespace sparecoat::finish {

// Marks in the clear coat as populations, and what is left of one when the paint around it is taken down.
//
// Depth d is lognormal: median m, standard deviation s of ln d. Taking r off the surface leaves d - r of a
// mark. A scratch is a V-groove cut by grit of one shape and an etched spot a shallow bowl, so that with its
// depth
//     the groove's width, and the bowl's area, shrink in proportion:  area = area at m x (d - r) / m
// and the flanks keep their slope: what is left of a mark is as bright as before under the lamp, only
// smaller. A mark less than `visible_um` deep is not seen. So the share of the paint that shows marks is
//     V(r) = C/m int_{r+t}^inf (d - r) f(d) dd = C/m [M1(r + t) - r M0(r + t)]
// with C the share covered were all marks of depth m, t the threshold, and partial moments
//     Mk(a) = int_a^inf d^k f(d) dd = m^k exp(k² s²/2) Phi((ln(m/a) + k s²) / s).
// dV/dr = -C/m [M0(r + t) + t f(r + t)] < 0: clearing only ever grows with removal, and smoothly.

enum class MarkKind { swirls, scratches, water_spots, bird_lime, sanding, haze, chips };
inline constexpr std::array all_mark_kinds{MarkKind::swirls,    MarkKind::scratches, MarkKind::water_spots,
                                           MarkKind::bird_lime, MarkKind::sanding,   MarkKind::haze,
                                           MarkKind::chips};
std::string_view name_of(MarkKind kind); ///< "wash swirls"

/// A stone chip is through the clear coat: no polishing takes it out, it is touched up.
inline bool clearable(MarkKind kind) { return kind != MarkKind::chips; }

/// Whether its marks are lines; the others are round spots.
bool made_of_lines(MarkKind kind);

/// Remaining depth under which a mark is not seen under the lamp (from memory).
inline constexpr double visible_um = 0.2;

/// Marks of one kind: how deep, how many, how large, which way, where.
struct MarkPopulation {
    MarkKind kind = MarkKind::swirls;
    double depth_um = 0; ///< median m
    double depth_sd = 0; ///< s, standard deviation of ln depth
    double width_m = 0;  ///< of a mark of median depth: across a line, or a spot's diameter
    double length_m = 0; ///< of a line; not used for spots
    double per_m2 = 0;   ///< marks per area
    std::optional<double> direction_rad = {}; ///< that lines keep to, +u towards +v; none: every way
    std::vector<Point2> region = {};          ///< polygon in the panel's plane; none: the whole panel

    double length_per_area() const { return per_m2 * length_m; } ///< 1/m
    double covered() const; ///< C, share of the area under marks were all of median depth and none overlapped
};

/// Partial moment Mk(above) of the depths in µm^k, for k of 0 to 3. @param depth_scale multiplies all depths.
double depth_moment(const MarkPopulation& marks, int k, double above_um, double depth_scale = 1);

/// V(worn): share of the area under visible marks once `worn_um` was taken off since they were made. May
/// pass 1 where lines overlap. @param depth_scale multiplies all depths and leaves the marks' size at the
/// median alone.
double visible_share(const MarkPopulation& marks, double worn_um, double depth_scale = 1);

/// Visible area cleared over visible area before, of all clearable populations together, where `removed_um`
/// was taken off everywhere; regions are left out of account. 1 where nothing was visible before. Rises with
/// removed_um and falls with depth_scale, both smoothly.
double share_cleared(std::span<const MarkPopulation> marks, double removed_um, double depth_scale = 1);

/// What a piece of panel lost, boiled down to a few equally frequent values.
struct RemovedSpread {
    std::vector<double> um;
};

/// The mean of each of `parts` equal parts of the values in order, so that the total mean is kept. Values
/// that are no numbers are left out; empty where there are none.
RemovedSpread spread_of(std::span<const float> removed_um, int parts = 16);

/// The same as above, over the spread; for learning from a test section.
/// @param cut_scale multiplies what was removed: a softer paint, a heavier hand.
double share_cleared(std::span<const MarkPopulation> marks, const RemovedSpread& removed, double cut_scale,
                     double depth_scale);

} // namespace sparecoat::finish
