#pragma once
// Work as a trace has it, made by hand, and what is measured of it.
#include "decide/cut_fit.hpp"
#include <cmath>
#include <random>
#include <stdexcept>
#include <vector>

namespace sparecoat::test {
using namespace cli; // as in worlds.hpp

/// Standard normals that are the same everywhere: Box and Muller over a generator that the C++ standard
/// fixes.
class Normals {
public:
    explicit Normals(unsigned seed) : engine_(seed) {}
    double operator()() {
        const double u = (number() + 1) / 4294967297.0, v = number() / 4294967296.0;
        return std::sqrt(-2 * std::log(u)) * std::cos(2 * pi * v);
    }

private:
    double number() { return static_cast<double>(engine_()); }
    std::mt19937 engine_;
};

inline constexpr double preset_breakdown = 400e3, end_size = 0.32;

/// Even work in 12 steps and as many before, with `before_kj_m2` on the charge and `during_kj_m2` more, that
/// takes `fresh_um` at a fresh cut.
inline WorkTrace even_work(double before_kj_m2, double during_kj_m2, double fresh_um) {
    WorkTrace trace;
    trace.pad_area_m2 = pi * 0.075 * 0.075, trace.capacity_m = 8e-6, trace.end_size = end_size;
    trace.work_j_m2 = 1000 * (before_kj_m2 + 0.5 * during_kj_m2);
    for (const bool counts : {false, true}) {
        const double work = counts ? during_kj_m2 : before_kj_m2;
        for (int k = 0; k < 12 && work > 0; ++k) {
            const double share = counts ? 1 : before_kj_m2 / during_kj_m2;
            trace.steps.push_back({fresh_um / 12 * share, fresh_um * 1e-6 * 0.1 / 12 * share,
                                   1000 * work / 12 * trace.pad_area_m2, false, counts});
        }
    }
    return trace;
}

/// Charges used for longer and longer.
inline std::vector<WorkTrace> a_series() {
    std::vector<WorkTrace> out;
    for (const double before : {0.0, 0.0, 200.0, 400.0, 600.0, 900.0})
        out.push_back(even_work(before, 200, 3));
    return out;
}

/// Rows that a cut and a breakdown, times the preset's, leave, each measured with an error.
inline std::vector<MeasuredLoss> rows_of(const std::vector<WorkTrace>& traces, double cut, double breakdown,
                                         double sd_um, Normals* noise = nullptr,
                                         std::vector<double> pad_factors = {1}) {
    std::vector<MeasuredLoss> rows;
    for (std::size_t pad = 0; pad < pad_factors.size(); ++pad)
        for (std::size_t k = 0; k < traces.size(); ++k) {
            MeasuredLoss row{k, pad,
                             loss_of(traces[k], cut * pad_factors[pad], breakdown * preset_breakdown).film_um,
                             sd_um, 0};
            if (noise) row.film_um += sd_um * (*noise)();
            rows.push_back(row);
        }
    return rows;
}

inline const CutParameter& parameter(const CutFit& fit, CutParameterKind kind, std::size_t pad = 0) {
    for (const CutParameter& p : fit.parameters)
        if (p.kind == kind && p.pad == pad) return p;
    throw std::logic_error("no such parameter");
}

} // namespace sparecoat::test
