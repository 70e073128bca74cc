#pragma once
#include "panel/panel.hpp"
#include "sim/simulate.hpp"
#include <optional>
#include <string>
#include <vector>

namespace sparecoat::decide {

/// A cell's loss as a product: removed = time x pressure x speed x cut x heat, each a mean over the contact.
/// With the accumulators T, P, S, C, R (see Fields): T, P/T, S/P, C/S, R/C; the product telescopes to R.
struct Factors {
    double time_s = 0, pressure_pa = 0, speed_m_s = 0, cut_per_pa = 0;
    double heat = 1; ///< how much more the paint cut for being warm
    double removed_um() const { return time_s * pressure_pa * speed_m_s * cut_per_pa * heat * 1e6; }
};
Factors factors_at(const Fields& fields, std::size_t cell); ///< 0 (and heat 1) where nothing was removed

/// How much more of its clear coat a spot loses than the open panel, and why:
///     all() = share taken here / share taken in the open = time x pressure x speed x cut x heat x film.
struct Split {
    double time = 1, pressure = 1, speed = 1, cut = 1, heat = 1;
    double film = 1; ///< clear coat in the open over clear coat here
    double all() const { return time * pressure * speed * cut * heat * film; }
};

struct SpotAtRisk {
    std::size_t cell = 0;
    Point2 at;
    double removed_um = 0, clear_before_um = 0;
    double clear_left_um = 0; ///< negative: through the clear by that much
    Factors factors;
    Split against_open;
    std::string place; ///< "6 mm from the wheel arch edge", "on the waist line", "open panel"
    double share() const { return removed_um / clear_before_um; }
};

/// The open panel: worked cells more than a pad radius from every edge and crest whose contact time is at
/// least 0.7 of the long-worked ones' (the 90th percentile: a section's faded border stays out). Where a
/// panel has no such ground the distance is halved until there is, and `clearance_m` says what was used.
struct OpenPanel {
    std::size_t cell = 0; ///< the cell with the median loss: it stands for the open panel in every split
    std::size_t cells = 0;
    double median_um = 0, low_um = 0, high_um = 0; ///< median, 5th and 95th percentile
    double mean_um = 0, sd_um = 0;                 ///< mean and standard deviation
    double clearance_m = 0;
};

struct Verdict {
    OpenPanel open;
    std::vector<SpotAtRisk> worst; ///< by share of clear coat taken, at least a pad radius apart
    double removed_volume_m3 = 0;  ///< summed over cells
    double worked_area_m2 = 0;
    double most_removed_um = 0, least_clear_left_um = 0;
};

/// Nothing while no film is gone from the panel.
std::optional<Verdict> judge_if_worked(const Panel& panel, const Fields& fields, double pad_radius_m);

/// @param spots how many to list. @throws std::invalid_argument if nothing was removed anywhere.
Verdict judge(const Panel& panel, const Fields& fields, double pad_radius_m, int spots = 5);

/// The edge or crest that a cell is named after, as an index into the panel's names; both -1 on open panel.
struct PanelFeature {
    int edge = -1, crest = -1;
    bool operator==(const PanelFeature&) const = default;
};
PanelFeature feature_at(const Panel& panel, std::size_t cell);
std::string feature_text(const Panel& panel,
                         PanelFeature ground); ///< "the wheel arch edge", "the waist line", "open panel"

SpotAtRisk describe_spot(const Panel& panel, const Fields& fields, const OpenPanel& open, std::size_t cell);

/// Where a cell is, in the trade's words: "6 mm from the wheel arch edge", "on the waist line", "open panel".
std::string place_of(const Panel& panel, std::size_t cell);

/// Clear coat left, µm, 0 at the least; NaN off the panel.
std::vector<float> clear_left_um(const Panel& panel, const Fields& fields);

} // namespace sparecoat::decide
