#pragma once
#include "rooms.hpp"
#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

namespace sparecoat::decide {

// Where in the space of some factors a model is run. Every factor is a coordinate of the unit cube, [0, 1).

/// Points of a unit cube, one after the other.
struct Points {
    std::size_t dims = 0;
    std::vector<double> x = {}; ///< dims values a point

    std::size_t count() const { return dims == 0 ? 0 : x.size() / dims; }
    std::span<const double> at(std::size_t point) const { return std::span(x).subspan(point * dims, dims); }
};

/// Every combination of the middles of `levels` equal parts of each coordinate; the last one runs fastest.
/// @throws std::invalid_argument for no coordinate or one without levels.
Points full_grid(std::span<const std::size_t> levels);

/// Independent and even in the cube.
Points random_points(std::size_t count, std::size_t dims, std::uint64_t seed);

/// Latin hypercube: of `count` equal strata of every coordinate each holds one point, at random within it
/// (McKay, Beckman and Conover, Technometrics 21, 239 (1979)).
Points latin_hypercube(std::size_t count, std::size_t dims, std::uint64_t seed);

inline constexpr std::size_t most_sobol_dims = 64;

/// The first points of Sobol's sequence, the origin first, in Gray code's order, with the direction numbers
/// of Joe and Kuo (SIAM J. Sci. Comput. 30, 2635 (2008)), which come with Boost.Random. A power of two of
/// them is balanced.
/// @param seed of a digital shift: the same random bits are turned over in all points' coordinates, which
/// keeps them a net and takes the origin away (L'Ecuyer and Lemieux, in: Modeling Uncertainty, 2002,
/// section 2.4). 0: none.
/// @throws std::invalid_argument over most_sobol_dims.
Points sobol_points(std::size_t count, std::size_t dims, std::uint64_t seed = 0);

/// Saltelli's scheme (Saltelli et al., Comput. Phys. Commun. 181, 259 (2010)) of n base points in twice as
/// many coordinates as there are factors, which are the rows of two matrices A and B: for each row its A, its
/// B, and for each factor k an AB_k, which is A with the k-th value from B. n (factors + 2) points, k running
/// fastest.
Points saltelli_scheme(const Points& base);

} // namespace sparecoat::decide
