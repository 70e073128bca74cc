#include "tool/hand.hpp"
#include "units/quantity.hpp"
#include <array>
#include <cmath>

namespace sparecoat::tool {

namespace {

constexpr std::uint64_t golden_gamma = 0x9e3779b97f4a7c15ULL;

/// The output function of splitmix64.
std::uint64_t mix(std::uint64_t z) {
    z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9ULL;
    z = (z ^ (z >> 27)) * 0x94d049bb133111ebULL;
    return z ^ (z >> 31);
}

/// In (0, 1]: never 0, whose logarithm Box and Muller could not take.
double unit_interval(std::uint64_t bits) { return (static_cast<double>(bits >> 11) + 1.0) * 0x1.0p-53; }

std::uint64_t key_of(std::uint64_t seed, std::uint64_t stream, std::int64_t index) {
    std::uint64_t key = mix(seed + golden_gamma);
    key = mix((key ^ stream) + golden_gamma);
    return mix((key ^ static_cast<std::uint64_t>(index)) + golden_gamma);
}

} // namespace

double uniform_at(std::uint64_t seed, std::uint64_t stream, std::int64_t index) {
    return unit_interval(mix(key_of(seed, stream, index) + golden_gamma));
}

double normal_at(std::uint64_t seed, HandChannel channel, std::int64_t knot) {
    const std::uint64_t key = key_of(seed, static_cast<std::uint64_t>(channel), knot);
    const double u1 = unit_interval(mix(key + golden_gamma));
    const double u2 = unit_interval(mix(key + 2 * golden_gamma));
    return std::sqrt(-2.0 * std::log(u1)) * std::cos(2.0 * pi * u2);
}

double smooth_noise(std::uint64_t seed, HandChannel channel, double x) {
    const double floor_x = std::floor(x);
    const double f = x - floor_x;
    const double g = 1.0 - f;
    const std::array<double, 4> weight = {g * g * g / 6.0, (3.0 * f * f * f - 6.0 * f * f + 4.0) / 6.0,
                                          (3.0 * g * g * g - 6.0 * g * g + 4.0) / 6.0, f * f * f / 6.0};
    const auto first = static_cast<std::int64_t>(floor_x) - 1;
    double sum = 0, squares = 0;
    for (std::size_t j = 0; j < weight.size(); ++j) {
        sum += weight[j] * normal_at(seed, channel, first + static_cast<std::int64_t>(j));
        squares += weight[j] * weight[j];
    }
    return sum / std::sqrt(squares);
}

} // namespace sparecoat::tool
