#include "sim/heat_kernels.hpp"
#include "sim/clones.hpp"
#include "sim/kernels.hpp"
#include "sim/lanes.hpp"
#include <algorithm>
#include <cstring>

// The arrays a kernel is given never overlap but at the same index; told so, the compiler vectorises without
// run-time checks.
#define SPARECOAT_NO_ALIAS _Pragma("GCC ivdep")

namespace sparecoat::sim::kernels {
namespace {

/// Net conduction into node i.
inline float inflow(const Plane& p, const float* f, std::size_t i, std::size_t stride) {
    const float across = p.east[i] * (f[i + 1] - f[i]) - p.east[i - 1] * (f[i] - f[i - 1]);
    const float along = p.north[i] * (f[i + stride] - f[i]) - p.north[i - stride] * (f[i] - f[i - stride]);
    return (across + along) * p.inverse_share[i];
}

inline float next_increment(const Plane& p, const Stage& s, const float* first, const float* last,
                            const float* before, std::size_t i, std::size_t stride) {
    return (s.mu * last[i] + s.nu * before[i]) + (s.tau * inflow(p, last, i, stride) + s.gamma * first[i]);
}

template <std::size_t block>
inline void spread(std::size_t offset, std::size_t n, const float* nodes, float* cells) {
    std::size_t k = 0, node = 0;
    if (offset > 0) {
        for (; k < n && k + offset < block; ++k) cells[k] = nodes[0];
        node = 1;
    }
    const std::size_t whole = (n - k) / block;
    float* to = cells + k;
    const float* from = nodes + node;
    SPARECOAT_NO_ALIAS
    for (std::size_t m = 0; m < whole; ++m)
        for (std::size_t c = 0; c < block; ++c) to[m * block + c] = from[m];
    for (k += whole * block; k < n; ++k) cells[k] = from[whole];
}

template <std::size_t block> inline void collect(std::size_t offset, std::size_t n, const float* a,
                                                 const float* b, float scale, float* nodes) {
    std::size_t k = 0, node = 0;
    if (offset > 0) {
        for (; k < n && k + offset < block; ++k) nodes[0] += scale * (a[k] * b[k]);
        node = 1;
    }
    const std::size_t whole = (n - k) / block;
    const float *pa = a + k, *pb = b + k;
    float* to = nodes + node;
    SPARECOAT_NO_ALIAS
    for (std::size_t m = 0; m < whole; ++m) {
        float sum = 0;
        for (std::size_t c = 0; c < block; ++c) sum += pa[m * block + c] * pb[m * block + c];
        to[m] += scale * sum;
    }
    for (k += whole * block; k < n; ++k) to[whole] += scale * (a[k] * b[k]);
}

} // namespace

SPARECOAT_CLONES
void conduct(const Window& window, const Plane& plane, const float* from, float scale, float* out) {
    const Window w = window;
    const Plane p = plane;
    for (std::size_t row = 0; row < w.rows; ++row) {
        const std::size_t start = w.first + row * w.stride, stop = start + w.width;
        SPARECOAT_NO_ALIAS
        for (std::size_t i = start; i < stop; ++i) out[i] = scale * inflow(p, from, i, w.stride);
    }
}

SPARECOAT_CLONES
void start_stages(const Window& window, const float* first, float share, float* last, float* before) {
    const Window w = window;
    for (std::size_t row = 0; row < w.rows; ++row) {
        const std::size_t start = w.first + row * w.stride, stop = start + w.width;
        SPARECOAT_NO_ALIAS
        for (std::size_t i = start; i < stop; ++i) last[i] = share * first[i], before[i] = 0.0f;
    }
}

SPARECOAT_CLONES
void chebyshev_stage(const Window& window, const Plane& plane, const Stage& stage, const float* first,
                     const float* last, float* before) {
    const Window w = window;
    const Plane p = plane;
    const Stage s = stage;
    for (std::size_t row = 0; row < w.rows; ++row) {
        const std::size_t start = w.first + row * w.stride, stop = start + w.width;
        SPARECOAT_NO_ALIAS
        for (std::size_t i = start; i < stop; ++i)
            before[i] = next_increment(p, s, first, last, before, i, w.stride);
    }
}

SPARECOAT_CLONES
void chebyshev_last(const Window& window, const Plane& plane, const Stage& stage, const float* first,
                    const float* last, const float* before, float* total) {
    const Window w = window;
    const Plane p = plane;
    const Stage s = stage;
    for (std::size_t row = 0; row < w.rows; ++row) {
        const std::size_t start = w.first + row * w.stride, stop = start + w.width;
        SPARECOAT_NO_ALIAS
        for (std::size_t i = start; i < stop; ++i)
            total[i] += next_increment(p, s, first, last, before, i, w.stride);
    }
}

SPARECOAT_CLONES
void columns(const Window& window, std::size_t levels, std::size_t level_stride, const float* decay,
             const float* gain, const float* flux, float* temperature_rise) {
    const Window w = window;
    if (levels == 1) {
        const float d = decay[0], g = gain[0];
        for (std::size_t row = 0; row < w.rows; ++row) {
            const std::size_t start = w.first + row * w.stride, stop = start + w.width;
            SPARECOAT_NO_ALIAS
            for (std::size_t i = start; i < stop; ++i)
                temperature_rise[i] += d * temperature_rise[i] + g * flux[i];
        }
        return;
    }
    // A strip of nodes at a time: its columns stay in the cache while every level is worked out of every
    // level.
    constexpr std::size_t strip = 32, most_levels = 16;
    float now[most_levels][strip], next[strip];
    for (std::size_t row = 0; row < w.rows; ++row) {
        for (std::size_t at = 0; at < w.width; at += strip) {
            const std::size_t start = w.first + row * w.stride + at, count = std::min(strip, w.width - at);
            for (std::size_t l = 0; l < levels; ++l) {
                const float* from = temperature_rise + l * level_stride + start;
                for (std::size_t k = 0; k < strip; ++k) now[l][k] = k < count ? from[k] : 0.0f;
            }
            for (std::size_t l = 0; l < levels; ++l) {
                for (std::size_t k = 0; k < strip; ++k) next[k] = 0.0f;
                for (std::size_t m = 0; m < levels; ++m) {
                    const float d = decay[l * levels + m];
                    for (std::size_t k = 0; k < strip; ++k) next[k] += d * now[m][k];
                }
                float* to = temperature_rise + l * level_stride + start;
                const float g = gain[l];
                const float* q = flux + start;
                SPARECOAT_NO_ALIAS
                for (std::size_t k = 0; k < count; ++k) to[k] += next[k] + g * q[k];
            }
        }
    }
}

SPARECOAT_CLONES
void evaporate(const Window& window, const Evaporation& given, const float* temperature_rise,
               const float* flux, float* water, float* vapour, float* net) {
    const Window w = window;
    const Evaporation law = given;
    const float step = 1.0f / law.inverse_step_s;
    for (std::size_t row = 0; row < w.rows; ++row) {
        const std::size_t start = w.first + row * w.stride, stop = start + w.width;
        SPARECOAT_NO_ALIAS
        for (std::size_t i = start; i < stop; ++i) {
            const float t0 = temperature_rise[i] + law.air_c;
            const float t1 = t0 > 0.0f ? t0 : 0.0f;
            const float t = t1 < law.last ? t1 : law.last;
            const int at = static_cast<int>(t);
            const float slope = law.vapour[at + 1] - law.vapour[at];
            const float rate = law.vapour[at] + (t - static_cast<float>(at)) * slope;
            const float wanted = rate / (1.0f + law.half_step * slope);
            const float most = water[i] * law.inverse_step_s;
            const float gone = wanted < most ? wanted : most;
            const float left = water[i] - gone * step;
            vapour[i] = gone;
            water[i] = left > 0.0f ? left : 0.0f;
            net[i] = flux[i] - law.latent * gone;
        }
    }
}

SPARECOAT_CLONES
void boil(const Window& window, float most, float kg_per_k, float* temperature_rise, float* water,
          float* boiled) {
    const Window w = window;
    for (std::size_t row = 0; row < w.rows; ++row) {
        const std::size_t start = w.first + row * w.stride, stop = start + w.width;
        SPARECOAT_NO_ALIAS
        for (std::size_t i = start; i < stop; ++i) {
            const float over = temperature_rise[i] > most ? (temperature_rise[i] - most) * kg_per_k : 0.0f;
            const float gone = over < water[i] ? over : water[i];
            boiled[i] = gone;
            water[i] -= gone;
            temperature_rise[i] -= gone / kg_per_k;
        }
    }
}

SPARECOAT_CLONES
void take_flux(const Window& window, const float* inverse_share, float scale, float* pending, float* flux) {
    const Window w = window;
    for (std::size_t row = 0; row < w.rows; ++row) {
        const std::size_t start = w.first + row * w.stride, stop = start + w.width;
        SPARECOAT_NO_ALIAS
        for (std::size_t i = start; i < stop; ++i) {
            flux[i] = pending[i] * inverse_share[i] * scale;
            pending[i] = 0.0f;
        }
    }
}

SPARECOAT_CLONES
float note_peak(const Window& window, const float* temperature_rise, const float* resistance,
                const float* flux, float* peak) {
    const Window w = window;
    float most = 0;
    Lane hottest{};
    for (std::size_t row = 0; row < w.rows; ++row) {
        const std::size_t start = w.first + row * w.stride, stop = start + w.width;
        std::size_t i = start;
        for (; i + lanes <= stop; i += lanes) {
            SPARECOAT_LOAD(r, temperature_rise + i);
            SPARECOAT_LOAD(f, resistance + i);
            SPARECOAT_LOAD(q, flux + i);
            SPARECOAT_LOAD(p, peak + i);
            const Lane surface = r + f * q;
            p = surface > p ? surface : p;
            hottest = surface > hottest ? surface : hottest;
            std::memcpy(peak + i, &p, sizeof p);
        }
        for (; i < stop; ++i) {
            const float surface = temperature_rise[i] + resistance[i] * flux[i];
            peak[i] = surface > peak[i] ? surface : peak[i];
            most = surface > most ? surface : most;
        }
    }
    for (std::size_t l = 0; l < lanes; ++l) most = std::max(most, hottest[l]);
    return most;
}

SPARECOAT_CLONES
double weighted_sum(const Window& window, const float* weight, const float* value) {
    const Window w = window;
    double out = 0;
    for (std::size_t row = 0; row < w.rows; ++row) {
        const std::size_t start = w.first + row * w.stride, stop = start + w.width;
        Lane sum{};
        std::size_t i = start;
        for (; i + lanes <= stop; i += lanes) {
            SPARECOAT_LOAD(a, weight + i);
            SPARECOAT_LOAD(b, value + i);
            sum += a * b;
        }
        for (std::size_t l = 0; l < lanes; ++l) out += static_cast<double>(sum[l]);
        for (; i < stop; ++i) out += static_cast<double>(weight[i] * value[i]);
    }
    return out;
}

SPARECOAT_CLONES
void nodes_to_cells(std::size_t block, std::size_t offset, std::size_t n, const float* nodes, float* cells) {
    switch (block) {
    case 1: spread<1>(offset, n, nodes, cells); break;
    case 2: spread<2>(offset, n, nodes, cells); break;
    case 3: spread<3>(offset, n, nodes, cells); break;
    default: spread<4>(offset, n, nodes, cells); break;
    }
}

SPARECOAT_CLONES
void cells_to_nodes(std::size_t block, std::size_t offset, std::size_t n, const float* a, const float* b,
                    float scale, float* nodes) {
    switch (block) {
    case 1: collect<1>(offset, n, a, b, scale, nodes); break;
    case 2: collect<2>(offset, n, a, b, scale, nodes); break;
    case 3: collect<3>(offset, n, a, b, scale, nodes); break;
    default: collect<4>(offset, n, a, b, scale, nodes); break;
    }
}

} // namespace sparecoat::sim::kernels
