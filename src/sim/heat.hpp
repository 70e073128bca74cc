#pragma once
#include "panel/panel.hpp"
#include "sim/contact.hpp"
#include "tool/tool.hpp"
#include <memory>
#include <vector>

namespace sparecoat::sim {

/// What the panel's heat depends on besides the panel and the work.
struct Surroundings {
    double air_c = 20;     ///< the panel starts at it
    double humidity = 0.5; ///< of the air, relative
    double top_w_m2k =
        10; ///< loss from the painted face to still air, radiation and convection (from memory)
    double bottom_w_m2k = 5;        ///< and from the back (from memory)
    double radiation_w_m2k = 5.5;   ///< of the face's loss: 4 x 0.95 sigma (295 K)³
    double air_speed_m_s = 2;       ///< over the panel while a machine works on it (from memory)
    double section_m = 0.5;         ///< the way that air takes over the panel (common practice: a section)
    double water_film_kg_m2 = 8e-3; ///< what a pad that is wet enough leaves on the paint (from memory)
    double film_conductivity_w_mk = 0.25; ///< of paint (from memory)
    double film_limit_c = 60;             ///< a hotter film is reported (common practice, no source)
};

/// A pad as one warm body on the panel.
struct PadBody {
    double area_m2 = 0;       ///< of its face; 0 = there is none
    double capacity_j_k = 0;  ///< of foam and backing
    double contact_w_m2k = 0; ///< between face and paint
    double radius_m = 0;

    PadBody() = default;
    /// Foam of 1500 J/(kg K) (polyurethane, handbook value). Its face is soaked for some 5 mm, and wet foam
    /// conducts about 0.25 W/(m K): 50 W/(m² K) (both from memory).
    explicit PadBody(const Pad& pad);
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
/// **Pad.** Heat is made between film and pad. The film leads it off so much better than the foam that the
/// pad gets what flows from the film's face into one body of foam, contact x (film - pad) where they touch,
/// and loses it to the air that it moves through. A pad that is warmer than the film warms it.
///
/// **Water.** A charge brings the pad its liquid's water; the pad leaves a film of it on the ground that it
/// works, as long as there is any, and it evaporates there (evaporation_kg_m2s) and takes its latent heat
/// along. Wet ground gets no hotter than water boils. While a machine works it stirs the air over the panel,
/// which then carries off more heat and vapour than still air does. Charged = in the pad + on the panel +
/// evaporated.
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

    void mount(const PadBody& pad); ///< at the air's temperature

    /// Fills the pad's store of water up again, to so much per area of its face.
    void charge(double water_kg_m2);

    /// Heat made by the footprint's pressure x speed x friction over dt_s under a pad at `centre` whose face
    /// rubs at a mean speed; what the pad takes of it; the water it leaves. Takes the footprint's
    /// temperatures as lay_under left them. pass() has to follow.
    void warm(Footprint& footprint, double friction, double dt_s, Point2 centre = {},
              double mean_speed_m_s = 0);

    /// Heat into one cell, J per m² of it (for checks).
    void warm(std::size_t cell, double heat_j_m2);

    /// Water on one cell's node, kg per m² of it (for checks).
    void wet(std::size_t cell, double water_kg_m2);

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

    /// Energy balance, J: made = lost + stored + evaporated + into_pad.
    struct Energy {
        double made_j = 0;       ///< by friction, or let in
        double lost_j = 0;       ///< from both faces of the panel to the air
        double stored_j = 0;     ///< in the panel
        double evaporated_j = 0; ///< latent heat
        double into_pad_j = 0;   ///< in the pad now, and lost from it
    };
    Energy energy() const;

    /// Water balance, kg: charged = in_pad + on_panel + evaporated.
    struct Water {
        double charged_kg = 0, in_pad_kg = 0, on_panel_kg = 0, evaporated_kg = 0;
    };
    Water water() const;
    double water_kg_m2(std::size_t cell) const;
    double pad_c() const { return surroundings_.air_c + pad_rise_k_; }

    const Surroundings& surroundings() const { return surroundings_; }
    std::size_t bytes() const; ///< that a copy takes

private:
    struct Nodes; // what does not change
    struct Box {
        int i_low, i_high, j_low, j_high;
    }; // nodes, ends included; empty where high < low

    /// Work space that a copy need not have.
    struct Scratch {
        std::vector<float> first, last, before, vapour, net;
        Scratch() = default;
        Scratch(const Scratch&) {}
        Scratch& operator=(const Scratch&) { return *this; }
    };

    void advance(double dt_s, double power_w); ///< power_w: the flux summed over the panel
    double evaporate(double dt_s);             ///< @return kg/s over the panel
    void boil();
    void lay_water();
    void conduct_columns(double dt_s, const float* flux,
                         double power_w); ///< power_w: flux summed over the panel
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
    std::vector<float> water_;            ///< kg/m²
    float hottest_ = 0;
    bool worked_ = false, wet_ = false; ///< since heat was moved on last; any water on the panel
    PadBody pad_;
    Point2 pad_at_;
    double pad_rise_k_ = 0, store_kg_ = 0, charged_kg_ = 0, evaporated_kg_ = 0;
    double into_j_ = 0, lost_j_ = 0, into_pad_j_ = 0; ///< into the panel, from it, into the pad
    Scratch scratch_;
};

} // namespace sparecoat::sim
