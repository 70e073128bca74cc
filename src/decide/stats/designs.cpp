#include "decide/stats/designs.hpp"
#include "tool/hand.hpp"
#include <boost/random/sobol.hpp>
#include <numeric>
#include <stdexcept>

namespace sparecoat::decide {
namespace {

// Streams of numbers, one for each use (see uniform_at); each coordinate has its own after them.
constexpr std::uint64_t stream_of_points = 0x5377000000000000ULL, stream_of_order = 0x5377100000000000ULL,
                        stream_of_shift = 0x5377200000000000ULL;

/// Even in [0, 1).
double even(std::uint64_t seed, std::uint64_t stream, std::size_t index) {
    return 1 - uniform_at(seed, stream, static_cast<std::int64_t>(index));
}

/// 0 to count - 1 in a random order (Fisher and Yates; Durstenfeld, Commun. ACM 7, 420 (1964)).
std::vector<std::size_t> shuffled(std::size_t count, std::uint64_t seed, std::uint64_t stream) {
    std::vector<std::size_t> order(count);
    std::iota(order.begin(), order.end(), std::size_t{0});
    for (std::size_t k = count; k > 1; --k)
        std::swap(order[k - 1],
                  order[static_cast<std::size_t>(even(seed, stream, k) * static_cast<double>(k))]);
    return order;
}

constexpr int kept_bits = 53; // of a double

} // namespace

Points full_grid(std::span<const std::size_t> levels) {
    std::size_t count = 1;
    for (const std::size_t n : levels) count *= n;
    if (levels.empty() || count == 0) throw std::invalid_argument("a grid of no points");
    Points out{levels.size(), std::vector<double>(count * levels.size())};
    for (std::size_t point = 0; point < count; ++point) {
        std::size_t rest = point;
        for (std::size_t d = levels.size(); d-- > 0; rest /= levels[d])
            out.x[point * out.dims + d] =
                (static_cast<double>(rest % levels[d]) + 0.5) / static_cast<double>(levels[d]);
    }
    return out;
}

Points random_points(std::size_t count, std::size_t dims, std::uint64_t seed) {
    Points out{dims, std::vector<double>(count * dims)};
    for (std::size_t k = 0; k < out.x.size(); ++k) out.x[k] = even(seed, stream_of_points, k);
    return out;
}

Points latin_hypercube(std::size_t count, std::size_t dims, std::uint64_t seed) {
    Points out = random_points(count, dims, seed);
    for (std::size_t d = 0; d < dims; ++d) {
        const std::vector<std::size_t> stratum = shuffled(count, seed, stream_of_order + d);
        for (std::size_t point = 0; point < count; ++point) {
            double& x = out.x[point * dims + d];
            x = (static_cast<double>(stratum[point]) + x) / static_cast<double>(count);
        }
    }
    return out;
}

Points sobol_points(std::size_t count, std::size_t dims, std::uint64_t seed) {
    if (dims == 0 || dims > most_sobol_dims)
        throw std::invalid_argument("Sobol points of 1 to 64 coordinates");
    std::vector<std::uint64_t> shift(dims, 0);
    for (std::size_t d = 0; seed != 0 && d < dims; ++d)
        shift[d] = static_cast<std::uint64_t>(even(seed, stream_of_shift, d) * 0x1p53);
    boost::random::sobol sequence(dims);
    Points out{dims, std::vector<double>(count * dims)};
    // Boost's sequence leaves the origin out.
    for (std::size_t k = 0; k < out.x.size(); ++k) {
        const std::uint64_t bits = k < dims ? 0 : sequence() >> (64 - kept_bits);
        out.x[k] = static_cast<double>(bits ^ shift[k % dims]) * 0x1p-53;
    }
    return out;
}

Points saltelli_scheme(const Points& base) {
    const std::size_t factors = base.dims / 2;
    if (factors == 0 || base.dims % 2 != 0)
        throw std::invalid_argument("base points of twice as many coordinates as factors");
    Points out{factors, {}};
    out.x.reserve(base.count() * (factors + 2) * factors);
    for (std::size_t row = 0; row < base.count(); ++row) {
        const std::span<const double> a = base.at(row).first(factors), b = base.at(row).last(factors);
        out.x.insert(out.x.end(), a.begin(), a.end());
        out.x.insert(out.x.end(), b.begin(), b.end());
        for (std::size_t k = 0; k < factors; ++k) {
            out.x.insert(out.x.end(), a.begin(), a.end());
            *(out.x.end() - static_cast<std::ptrdiff_t>(factors - k)) = b[k];
        }
    }
    return out;
}

} // namespace sparecoat::decide
