#include "sim/rim.hpp"
#include "sim/foam.hpp"
#include "sim/motion.hpp"
#include "units/quantity.hpp"
#include <algorithm>
#include <array>
#include <cmath>

namespace sparecoat::sim {
namespace {

// Points and weights of Gauss and Legendre on 0..1, four of them (Abramowitz and Stegun, table 25.4).
constexpr std::array<double, FaceDiscs::inner> gauss_at{0.06943184420297371, 0.33000947820757187,
                                                        0.6699905217924281, 0.9305681557970262};
constexpr std::array<double, FaceDiscs::inner> gauss_weight{0.17392742256872692, 0.32607257743127307,
                                                            0.32607257743127307, 0.17392742256872692};
constexpr int table_intervals = 512;

double foam_stress(const Pad& pad, double compression_m) {
    double stress, slope;
    FoamCurve<double>(pad.foam).at(compression_m / pad.thickness_m, stress, slope);
    return stress;
}

/// A bracket halved so often about where `low_side` stops to hold.
struct Bracket {
    double low, high;
};
template <class LowSide> Bracket halved(Bracket bracket, int times, LowSide low_side) {
    for (int i = 0; i < times; ++i) {
        const double middle = 0.5 * (bracket.low + bracket.high);
        (low_side(middle) ? bracket.low : bracket.high) = middle;
    }
    return bracket;
}

/// How far the face stands back from the plane of its middle, at a distance from the rim.
double rim_gap(const RimShape& rim, double from_rim_m) {
    if (rim.kind == RimKind::square || rim.kind == RimKind::even || from_rim_m >= rim.width_m) return 0;
    const double outwards = 1 - from_rim_m / rim.width_m; // 1 at the rim
    return rim.height_m * (rim.kind == RimKind::conical ? outwards : 1 - std::sqrt(1 - outwards * outwards));
}

} // namespace

double rim_bearing(const Pad& pad, double compression_m, double from_rim_m) {
    if (pad.rim.kind == RimKind::even) return 1;
    const double h = pad.thickness_m, past_plate = pad.radius_m - pad.backed_radius_m();
    const double out = std::min(past_plate / h, 0.5); // what was fitted
    const auto bell = [&](double scale) { return std::exp(-(out / scale) * (out / scale)); };
    const double z =
        0.271 + 0.649 * bell(0.28) + (8.39 - 6.845 * bell(1.175)) * (from_rim_m - past_plate) / h;
    const double layer = 0.5 * std::erfc(-z / std::sqrt(2.0));
    const double gap = rim_gap(pad.rim, from_rim_m);
    if (gap <= 0) return layer;
    if (gap >= compression_m) return 0;
    return layer * foam_stress(pad, compression_m - gap) / foam_stress(pad, compression_m);
}

FaceDiscs face_discs(const Pad& pad, double compression_m) {
    FaceDiscs out;
    const double at_rim = rim_bearing(pad, compression_m, 0);
    if (at_rim > 0) out.discs.push_back({pad.radius_m, at_rim});
    if (at_rim >= 1) return out;
    for (std::size_t k = 0; k < gauss_at.size(); ++k) {
        const double wanted = at_rim + (1 - at_rim) * gauss_at[k];
        // Bearing rises with the distance from the rim.
        const auto [low, high] = halved({0, pad.radius_m}, 40, [&](double from_rim_m) {
            return rim_bearing(pad, compression_m, from_rim_m) < wanted;
        });
        out.discs.push_back({pad.radius_m - 0.5 * (low + high), (1 - at_rim) * gauss_weight[k]});
    }
    return out;
}

double flat_compression(const Pad& pad, double force_n) {
    // What bears hardly depends on the compression, so a few rounds settle it.
    double compression = 0.05 * pad.thickness_m;
    for (int round = 0; round < 6; ++round) {
        double area = 0;
        for (const auto& disc : face_discs(pad, compression).discs)
            area += disc.weight * pi * disc.radius_m * disc.radius_m;
        const auto too_little = [&](double one) { return foam_stress(pad, one) * area < force_n; };
        double most = pad.thickness_m;
        while (too_little(most)) most *= 2;
        compression = halved({0, most}, 50, too_little).high;
    }
    return compression;
}

OrbitTable orbit_table(const Pad& pad, double compression_m, double orbit_m, double blur_m) {
    OrbitTable out;
    const FaceDiscs face = face_discs(pad, compression_m);
    const double smear = std::max(orbit_m, blur_m), outer = pad.radius_m + smear;
    out.per_m = static_cast<float>(table_intervals / outer);
    out.coverage.assign(table_intervals + 2, 0.0f);
    out.rim_bias.assign(table_intervals + 2, 0.0f);
    out.second.assign(table_intervals + 2, 0.0f);
    for (int k = 0; k < table_intervals; ++k) { // at the outer rim both are 0
        double share = 0, bias = 0, second = 0;
        const double r = k * outer / table_intervals;
        for (const auto& disc : face.discs) {
            const auto passage = rim_passage(r, smear, disc.radius_m);
            share += disc.weight * passage.share, bias += disc.weight * passage.rim_bias;
            // sin(2 t) / 2 = sin(t) cos(t)
            second += disc.weight * passage.rim_bias * rim_cosine(r, smear, disc.radius_m);
        }
        out.coverage[static_cast<std::size_t>(k)] = static_cast<float>(share);
        // Smoothing belongs to the rim and not to the orbit: what the bias adds up to, e x the face, is kept.
        out.rim_bias[static_cast<std::size_t>(k)] = static_cast<float>(bias * orbit_m / smear);
        out.second[static_cast<std::size_t>(k)] = static_cast<float>(second * orbit_m / smear);
    }
    return out;
}

double OrbitTable::second_over_first(double r_m) const {
    const auto at =
        std::min(static_cast<std::size_t>(r_m * static_cast<double>(per_m) + 0.5), rim_bias.size() - 1);
    return rim_bias[at] > 0 ? static_cast<double>(second[at] / rim_bias[at]) : 0;
}

const OrbitTable& FaceTables::at(const Pad& pad, double force_n, double orbit_m, double blur_m) {
    const int step = static_cast<int>(std::lround(10 * std::log(std::max(force_n, 0.01))));
    // So does smoothing: an arm that speeds up and slows down asks for a new table at every step else.
    const double smear = orbit_m >= blur_m ? orbit_m : std::exp(0.05 * std::round(20 * std::log(blur_m)));
    const bool same_force = step == force_step_ || (pad.rim.kind == RimKind::even && compression_m_ > 0);
    if (!same_force) force_step_ = step, compression_m_ = flat_compression(pad, std::exp(0.1 * step));
    if (!same_force || orbit_m != orbit_m_ || smear != blur_m_)
        orbit_m_ = orbit_m, blur_m_ = smear, table_ = orbit_table(pad, compression_m_, orbit_m, smear);
    return table_;
}

} // namespace sparecoat::sim
