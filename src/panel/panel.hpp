#pragma once
#include "rooms.hpp"
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <string>
#include <vector>

namespace sparecoat::panel {

struct Point2 {
    double x = 0, y = 0; // m in the unrolled panel (u, v)
    friend Point2 operator+(Point2 a, Point2 b) { return {a.x + b.x, a.y + b.y}; }
    friend Point2 operator-(Point2 a, Point2 b) { return {a.x - b.x, a.y - b.y}; }
    friend Point2 operator*(double s, Point2 a) { return {s * a.x, s * a.y}; }
};
inline double dot(Point2 a, Point2 b) { return a.x * b.x + a.y * b.y; }
inline double norm(Point2 a) { return std::hypot(a.x, a.y); }

/// A regular grid of square cells over the unrolled panel. Cell (i, j) has its centre at
/// (x0 + i h, y0 + j h); fields are flat arrays with index j * nu + i (u runs fastest).
struct Grid {
    int nu = 0, nv = 0;
    double h_m = 0.002;
    double x0_m = 0, y0_m = 0; // centre of cell (0, 0)

    std::size_t cells() const { return static_cast<std::size_t>(nu) * static_cast<std::size_t>(nv); }
    std::size_t index(int i, int j) const {
        return static_cast<std::size_t>(j) * static_cast<std::size_t>(nu) + static_cast<std::size_t>(i);
    }
    double x(int i) const { return x0_m + i * h_m; }
    double y(int j) const { return y0_m + j * h_m; }
    Point2 centre(std::size_t k) const {
        const auto nu_ = static_cast<std::size_t>(nu);
        return {x(static_cast<int>(k % nu_)), y(static_cast<int>(k / nu_))};
    }
};

/// Sheet the film sits on.
struct Substrate {
    std::string name;
    double thickness_m = 0, density_kg_m3 = 0, heat_capacity_j_kgk = 0, conductivity_w_mk = 0;
    bool polymer = false;
};

/// Paint that cuts faster where it is warm: doubling every `doubling_k` above `from_c`, four times at the
/// most. A clear coat softens towards its glass transition; the numbers are from memory.
struct Softening {
    double from_c = 60, doubling_k = 20;
    static constexpr double most = 4;

    static Softening none() { return {60, INFINITY}; }
};

/// Nominal film of a paint: thickness of each layer far from edges, the thinning
/// t(s) = t0 (1 - a exp(-s / l)) towards sharp edges and crests, and how fast it cuts.
struct Paint {
    std::string name;
    double clear_m = 0, base_m = 0, primer_m = 0, ecoat_m = 0;
    double thinning = 0;          ///< a, 0..1
    double thinning_length_m = 0; ///< l
    double softness = 1;          ///< multiplies the removal coefficient; 1 = typical
    double softness_sd = 0.25;    ///< sd of ln softness from one vehicle to the next (from memory)
    double spread = 0.10;         ///< relative sd of a panel's film against nominal (from memory)
    Softening softening = {};
};

/// Relative sd of the thinning's share `a`: how far film draws back differs from edge to edge (from memory).
inline constexpr double thinning_sd = 0.25;

/// A closed or open polyline of the panel drawing with the name of each of its segments' edge.
struct Polyline {
    std::vector<Point2> points; ///< closed loops do not repeat the first point
    std::vector<int> edge;      ///< per point: index into Panel::edge_names of the segment that starts here
    bool closed = true;
};

/// Everything the simulation needs to know of a panel. All field vectors have grid.cells() entries.
struct Panel {
    std::string name;
    Grid grid;
    std::string substrate_name;
    Substrate substrate;
    std::vector<float> height_m;        ///< towards the pad, so a crest is positive
    std::vector<std::uint8_t> inside;   ///< 1 where the cell's centre is on painted panel
    std::vector<float> edge_distance_m; ///< to the nearest outline or hole; positive inside, negative outside
    std::vector<std::int16_t> nearest_edge; ///< index into edge_names
    std::vector<float>
        crest_distance_m; ///< to the nearest body line, sharp roll or recess rim; 1e3 where there is none
    std::vector<float> laplacian_per_m; ///< of height, from inside cells only (see laplacian_of_height)
    std::vector<float> clear_um, base_um, primer_um, ecoat_um; ///< film before work; 0 outside
    std::vector<float> clear_sd_um;                            ///< standard deviation of clear_um; 0 outside
    std::vector<std::string> edge_names;                       ///< "wheel arch", "top", ...
    std::vector<std::string> crest_names;
    std::vector<std::int16_t> nearest_crest; ///< index into crest_names, -1 where there is none
    std::vector<Polyline> outline;           ///< outer loop first (counter-clockwise), then holes; m
    std::vector<Polyline> crests;            ///< for drawing; edge[] indexes crest_names

    double area_m2() const; ///< of the inside cells
};

/// Signed distance (m) from p to the outline, positive inside; exact, for points on or off the grid.
/// @param edge if not null receives the index of the nearest edge's name.
double signed_distance(const std::vector<Polyline>& outline, Point2 p, int* edge = nullptr);

/// Second differences of height over inside cells. Where one neighbour along an axis is missing the
/// height is carried on in a straight line (no curvature from the edge itself: beyond an edge the
/// pad's layer is unloaded, which the edge reaction covers).
std::vector<float> laplacian_of_height(const Grid& grid, const std::vector<float>& height_m,
                                       const std::vector<std::uint8_t>& inside);

/// Sets clear, base, primer and e-coat from the paint's nominal film and the distances to edges and crests,
/// and the clear coat's standard deviation as far as it is known without a gauge.
void lay_film(Panel& panel, const Paint& paint);

/// The cell whose centre is nearest to p, one of the border's where p is off the grid.
std::size_t nearest_cell(const Grid& grid, Point2 p);

/// Share of the film missing at a distance (m) from the nearest edge or crest, a exp(-s / l); 0 <= s.
double missing_share(const Paint& paint, double distance_m);

/// Solves (1 - l² lap) c = source over the inside cells with insulated boundaries: the answer of a
/// shear layer to line loads. Used to spread a crest's curvature and an edge's reaction over the
/// layer's decay length l (Vlasov and Leont'ev 1966; Selvadurai 1979). For a straight line source of
/// strength S per metre in the open it is S exp(-|s|/l) / (2 l).
/// @param source per cell; total is kept: sum(c) = sum(source). @return same shape.
std::vector<float> spread_over_layer(const Grid& grid, const std::vector<std::uint8_t>& inside,
                                     const std::vector<float>& source, double decay_length_m);

/// Metres of panel edge in each inside cell: exposed faces weighted by the edge's normal, so a
/// straight edge at any angle keeps its length.
std::vector<float> edge_length_per_cell(const Panel& panel);

} // namespace sparecoat::panel
