#pragma once
#include "panel/panel.hpp"
#include "sim/contact.hpp"
#include <memory>
#include <vector>

namespace sparecoat::sim {

/// What the panel's heat depends on besides the panel and the work.
struct Surroundings {
    double air_c = 20;       ///< the panel starts at it
    double top_w_m2k = 10;   ///< loss to the air from the painted face (from memory)
    double bottom_w_m2k = 5; ///< and from the back (from memory)
    double share_into_panel =
        0.9; ///< of the friction power; the pad takes the rest (from memory, 0.8 to 0.95)
    double film_conductivity_w_mk = 0.25; ///< of paint (from memory)
    double film_limit_c = 60;             ///< a hotter film is reported (common practice, no source)
};

/// How warm a panel is. A value: copying it copies the temperatures; the panel's fixed parts are shared.
///
/// **Thin sheet** (metal). Temperature does not vary through the thickness t (Biot number h t / k under
/// 1e-3), so with T the rise over the air, per area,
///     rho c t dT/dt = div(k t grad T) + q - (h_top + h_bottom) T     on the panel, nothing through its
///     edges.
/// **Columns** (polymer): rho c dT/dt = k lap T through the thickness too, q and the losses at the faces;
/// nodes on both faces and graded between, so that the hot top face is a node.
///
/// **Film.** The paint is thin enough to store nothing, and all the heat is made on its outer face and has to
/// cross it: what the pad meets is T_top + q x film thickness / film conductivity.
///
/// **Nodes.** Heat lives on square nodes of whole cells, about 4 mm: steel evens out 7 mm in a second, so
/// finer ones would cost and show nothing. A node on the outline has the area of its inside cells; the
/// conductance between two nodes is that of the open cell faces between them over the distance of their
/// centres of area. Every joule that leaves a node so enters its neighbour.
///
/// **In time**, by Strang's splitting (SIAM J. Numer. Anal. 5, 506, 1968), second order: half a step of the
/// columns (source, losses, conduction through the thickness), a step of conduction in the plane, half a step
/// of the columns.
///  - The columns of a panel are all alike and linear: their step is a small matrix exponential, exact for a
///    flux that is constant in the step, so that no flux that switches can make it ring.
///  - Conduction in the plane by the Runge-Kutta-Chebyshev method of second order (Sommeijer, Shampine and
///    Verwer, J. Comput. Appl. Math. 88, 315, 1998): explicit, so it is flat loops and needs no solver, and
///    stable with s stages over about 0.65 s² times the step of a single one. Two stages are usual on steel,
///    where it is Heun's method.
class PanelHeat {
public:
    /// @param step_s heat is gathered, and temperatures moved on once this much time has been.
    /// @throws std::invalid_argument for a substrate without thickness, density, heat capacity or
    /// conductivity.
    PanelHeat(const Panel& panel, const Surroundings& surroundings, double step_s = 0.2);

    /// Heat made by the footprint's pressure x speed x friction over dt_s. pass() has to follow.
    void warm(const Footprint& footprint, double friction, double dt_s);

    /// Heat into one cell, J per m² of it (for checks).
    void warm(std::size_t cell, double heat_j_m2);

    /// Time goes by, whatever the pad does.
    void pass(double dt_s);

    /// Rise over the air of the sheet's top (K) and film resistance (K m²/W) for every cell of the footprint
    /// that lies on the grid.
    void lay_under(Footprint& footprint) const;

    // Per simulation cell, °C; the air's temperature off the panel. The film's are of its outer face, what
    // the pad meets, with the flux of the last moved step.
    double film_c(std::size_t cell) const;
    double peak_film_c(std::size_t cell) const; ///< the most so far
    double sheet_c(std::size_t cell) const;     ///< top of the sheet, under the film
    std::vector<float> film_map_c() const;
    std::vector<float> peak_map_c() const;
    // The same at the nodes, a quarter of the cells or fewer: for those who look often. Nodes off the panel
    // count too.
    std::vector<float> film_nodes_c() const;
    std::vector<float> peak_nodes_c() const;
    std::size_t node_of(std::size_t cell) const; ///< index into these

    struct Spot {
        double film_c = 0;
        std::size_t cell = 0; ///< on the panel, in the middle of the warmest node
        Point2 at;
    };
    double hottest_film_c() const { return surroundings_.air_c + static_cast<double>(hottest_); } ///< now
    Spot hottest() const; ///< now, and where
    Spot peak() const;    ///< so far, and where

    /// Energy balance, J: into = lost + stored.
    struct Energy {
        double into_j = 0, lost_j = 0, stored_j = 0;
    };
    Energy energy() const;

    const Surroundings& surroundings() const { return surroundings_; }
    std::size_t bytes() const; ///< that a copy takes

private:
    struct Nodes; // what does not change
    struct Box {
        int i_low, i_high, j_low, j_high;
    }; // nodes, ends included; empty where high < low

    /// Work space that a copy need not have.
    struct Scratch {
        std::vector<float> first, last, before;
        Scratch() = default;
        Scratch(const Scratch&) {}
        Scratch& operator=(const Scratch&) { return *this; }
    };

    void advance(double dt_s, double power_w);
    void conduct_columns(double dt_s, double power_w); ///< power_w: the flux summed over the panel
    void conduct_plane(double dt_s);
    void reach(Box box);
    void make_room(int stages);
    Spot warmest(const std::vector<float>& temperature_rise_at_nodes) const;
    std::vector<float> map_c(const std::vector<float>& temperature_rise_at_nodes) const;
    std::vector<float> surface() const;
    double over_the_panel(const float* at_nodes) const; ///< integral over the box, of what is per m²

    std::shared_ptr<const Nodes> nodes_;
    Surroundings surroundings_;
    double step_s_, gathered_s_ = 0, plane_owed_s_ = 0;
    Box box_;                             ///< outside it nothing has been warmed by more than 1e-5 K
    std::vector<float> temperature_rise_; ///< over the air, K: levels x nodes
    std::vector<float> pending_;          ///< gathered heat, J/m² of a whole node
    std::vector<float> flux_;             ///< of the step moved last, W/m²
    std::vector<float> peak_;             ///< of the film's rise, K
    float hottest_ = 0;
    double into_j_ = 0, lost_j_ = 0;
    Scratch scratch_;
};

} // namespace sparecoat::sim
