// The kernels that sum, in eight lanes of fixed order written out with the compiler's vector extension
// (a compiler may not reorder a plain loop's sum, so left alone it would add one cell at a time).
#include "sim/clones.hpp"
#include "sim/kernels.hpp"
#include "sim/lanes.hpp"
#include <algorithm>

namespace sparecoat::sim::kernels {
namespace {

// Lanes are folded into doubles every so often: floats stay exact enough over a block.
constexpr std::size_t block = 64 * lanes;

} // namespace

SPARECOAT_CLONES
Moments moments(std::size_t n, const float* x, const float* y, const float* coverage, const float* pressure,
                const float* stiffness) {
    Moments out;
    for (std::size_t start = 0; start < n; start += block) {
        const std::size_t stop = std::min(n, start + block);
        Lane p0{}, px{}, py{}, k0{}, kx{}, ky{}, kxx{}, kxy{}, kyy{};
        for (std::size_t i = start; i < stop; i += lanes) {
            SPARECOAT_LOAD(xi, x + i);
            SPARECOAT_LOAD(yi, y + i);
            SPARECOAT_LOAD(c, coverage + i);
            SPARECOAT_LOAD(p, pressure + i);
            SPARECOAT_LOAD(k, stiffness + i);
            p *= c, k *= c;
            const Lane k_x = k * xi, k_y = k * yi;
            p0 += p, px += p * xi, py += p * yi;
            k0 += k, kx += k_x, ky += k_y, kxx += k_x * xi, kxy += k_x * yi, kyy += k_y * yi;
        }
        const auto fold = [](double& into, const Lane& lane) {
            for (std::size_t l = 0; l < lanes; ++l) into += static_cast<double>(lane[l]);
        };
        fold(out.load[0], p0), fold(out.load[1], px), fold(out.load[2], py);
        fold(out.stiffness[0], k0), fold(out.stiffness[1], kx), fold(out.stiffness[2], ky);
        fold(out.stiffness[3], kxx), fold(out.stiffness[4], kxy), fold(out.stiffness[5], kyy);
    }
    return out;
}

SPARECOAT_CLONES
double dot(std::size_t n, const float* a, const float* b) {
    double out = 0;
    for (std::size_t start = 0; start < n; start += block) {
        const std::size_t stop = std::min(n, start + block);
        Lane sum{};
        for (std::size_t i = start; i < stop; i += lanes) {
            SPARECOAT_LOAD(ai, a + i);
            SPARECOAT_LOAD(bi, b + i);
            sum += ai * bi;
        }
        for (std::size_t l = 0; l < lanes; ++l) out += static_cast<double>(sum[l]);
    }
    return out;
}

SPARECOAT_CLONES
double dot(std::size_t n, const float* a, const float* b, const float* c, const float* d) {
    double out = 0;
    for (std::size_t start = 0; start < n; start += block) {
        const std::size_t stop = std::min(n, start + block);
        Lane sum{};
        for (std::size_t i = start; i < stop; i += lanes) {
            SPARECOAT_LOAD(ai, a + i);
            SPARECOAT_LOAD(bi, b + i);
            SPARECOAT_LOAD(ci, c + i);
            SPARECOAT_LOAD(di, d + i);
            sum += ai * bi * ci * di;
        }
        for (std::size_t l = 0; l < lanes; ++l) out += static_cast<double>(sum[l]);
    }
    return out;
}

SPARECOAT_CLONES
double over_pad(std::size_t n, const float* coverage, const float* pressure, const float* temperature_rise,
                float pad_rise, float* out) {
    double sum = 0;
    const Lane none{};
    for (std::size_t start = 0; start < n; start += block) {
        const std::size_t stop = std::min(n, start + block);
        Lane lanes_sum{};
        for (std::size_t i = start; i < stop; i += lanes) {
            SPARECOAT_LOAD(c, coverage + i);
            SPARECOAT_LOAD(p, pressure + i);
            SPARECOAT_LOAD(t, temperature_rise + i);
            const Lane warmer = p > none ? t - pad_rise : none;
            std::memcpy(out + i, &warmer, sizeof warmer);
            lanes_sum += c * warmer;
        }
        for (std::size_t l = 0; l < lanes; ++l) sum += static_cast<double>(lanes_sum[l]);
    }
    return sum;
}

SPARECOAT_CLONES
Census census(std::size_t n, const float* coverage, const float* on, const float* pressure,
              const float* compression) {
    Census out;
    Lane deepest{};
    const Lane none{};
    for (std::size_t start = 0; start < n; start += block) {
        const std::size_t stop = std::min(n, start + block);
        Lane face{}, over{}, bearing{};
        for (std::size_t i = start; i < stop; i += lanes) {
            SPARECOAT_LOAD(c, coverage + i);
            SPARECOAT_LOAD(o, on + i);
            SPARECOAT_LOAD(p, pressure + i);
            SPARECOAT_LOAD(w, compression + i);
            face += c, over += c * o;
            bearing += p > none ? c : none;
            w = c > none ? w : none;
            deepest = w > deepest ? w : deepest;
        }
        for (std::size_t l = 0; l < lanes; ++l) {
            out.face += static_cast<double>(face[l]);
            out.over += static_cast<double>(over[l]);
            out.bearing += static_cast<double>(bearing[l]);
        }
    }
    for (std::size_t l = 0; l < lanes; ++l) out.deepest = std::max(out.deepest, deepest[l]);
    return out;
}

} // namespace sparecoat::sim::kernels
