#include "sim/contact.hpp"
#include "sim/kernels.hpp"
#include "units/quantity.hpp"
#include <Eigen/Dense>
#include <algorithm>
#include <cmath>

namespace sparecoat::sim {
namespace {

constexpr double stop_angle_rad = 12 * pi / 180; // see balance_plate
constexpr double stop_stiffness_nm_rad = 400;
constexpr double balance_tolerance = 2e-4;
constexpr int most_iterations = 40;
constexpr std::size_t overhang_phases = 8; // of an orbit
constexpr float engage_strain = 0.01f;     // compression / thickness at which the shear layer pulls in full

struct HandMoment {
    Eigen::Vector2d moment;    // what the hand gives, N m
    Eigen::Matrix2d stiffness; // - d moment / d tilt
};

HandMoment hand_moment(const HandLoad& hand_load, Eigen::Vector2d tilt) {
    const Eigen::Vector2d commanded(hand_load.tilt_rad.x, hand_load.tilt_rad.y);
    HandMoment out{hand_load.stiffness_nm_rad * (commanded - tilt),
                   hand_load.stiffness_nm_rad * Eigen::Matrix2d::Identity()};
    const double angle = tilt.norm();
    if (angle > stop_angle_rad) {
        const Eigen::Vector2d along = tilt / angle;
        const double share = stop_angle_rad / angle;
        out.moment -= stop_stiffness_nm_rad * (angle - stop_angle_rad) * along;
        out.stiffness += stop_stiffness_nm_rad *
                         ((1 - share) * Eigen::Matrix2d::Identity() + share * along * along.transpose());
    }
    return out;
}

} // namespace

LayerFields layer_fields(const Panel& panel, const Pad& pad) {
    LayerFields out;
    const double shear = pad.shear_n_m();
    out.decay_length_m = std::sqrt(shear / pad.foundation_pa_m());
    const double area = panel.grid.h_m * panel.grid.h_m;

    // Edge reaction q = k l w per metre over k w: a line source of strength l.
    std::vector<float> source = edge_length_per_cell(panel);
    for (float& s : source) s *= static_cast<float>(out.decay_length_m / area);
    out.edge_gain = spread_over_layer(panel.grid, panel.inside, source, out.decay_length_m);
    out.shear_pa = spread_over_layer(panel.grid, panel.inside, panel.laplacian_per_m, out.decay_length_m);
    for (std::size_t i = 0; i < panel.inside.size(); ++i) {
        const bool on = panel.inside[i] != 0;
        out.edge_gain[i] = on ? 1.0f + out.edge_gain[i] : 0.0f;
        out.shear_pa[i] = on ? out.shear_pa[i] * static_cast<float>(shear) : 0.0f;
    }
    // Out across the nearest edge the distance falls fastest.
    const Grid& grid = panel.grid;
    out.edge_x.assign(grid.cells(), 0.0f), out.edge_y.assign(grid.cells(), 0.0f);
    for (int j = 0; j < grid.nv; ++j) {
        for (int i = 0; i < grid.nu; ++i) {
            const auto at = [&](int a, int b) {
                return panel.edge_distance_m[grid.index(std::clamp(a, 0, grid.nu - 1),
                                                        std::clamp(b, 0, grid.nv - 1))];
            };
            const float dx = at(i - 1, j) - at(i + 1, j), dy = at(i, j - 1) - at(i, j + 1);
            const float length = std::sqrt(dx * dx + dy * dy) + 1e-12f;
            out.edge_x[grid.index(i, j)] = dx / length, out.edge_y[grid.index(i, j)] = dy / length;
        }
    }
    return out;
}

void Footprint::hang_over(const Panel& panel, const LayerFields& layer, const Pad& pad, Point2 centre,
                          double orbit_radius_m) {
    const Grid& grid = panel.grid;
    // A place off the grid has a cell of its border, which lies outside the panel.
    const double inside = static_cast<double>(panel.edge_distance_m[nearest_cell(grid, centre)]);
    if (inside > pad.backed_radius_m() + orbit_radius_m + grid.h_m) {
        std::copy_n(on.begin(), size, gain.begin());
        return;
    }
    if (edge_x.size() < gain.size())
        for (auto* field : {&edge_distance, &edge_x, &edge_y}) field->resize(gain.size());
    for (const Row& row : rows) {
        std::copy_n(panel.edge_distance_m.data() + row.grid, row.count, edge_distance.data() + row.packed);
        std::copy_n(layer.edge_x.data() + row.grid, row.count, edge_x.data() + row.packed);
        std::copy_n(layer.edge_y.data() + row.grid, row.count, edge_y.data() + row.packed);
    }
    std::array<float, overhang_phases> phase_x{}, phase_y{};
    for (std::size_t k = 0; k < overhang_phases; ++k) {
        const double angle = 2 * pi * (static_cast<double>(k) + 0.5) / overhang_phases;
        phase_x[k] = static_cast<float>(orbit_radius_m * std::cos(angle));
        phase_y[k] = static_cast<float>(orbit_radius_m * std::sin(angle));
    }
    kernels::overhang({size, x.data(), y.data(), edge_distance.data(), edge_x.data(), edge_y.data(),
                       phase_x.data(), phase_y.data(), orbit_radius_m > 0 ? overhang_phases : 1,
                       static_cast<float>(pad.backed_radius_m()), static_cast<float>(orbit_radius_m),
                       static_cast<float>(1 / layer.decay_length_m), gain.data()});
}

void Footprint::gather(const Panel& panel, const LayerFields& layer, Point2 centre, double reach_m) {
    const Grid& grid = panel.grid;
    cell_area_m2 = grid.h_m * grid.h_m;
    rows.clear();
    size = 0;
    const auto most = static_cast<std::size_t>(std::pow(2 * reach_m / grid.h_m + 3, 2)) + kernels::lanes;
    if (x.size() < most)
        for (auto* field :
             {&x, &y, &height, &on, &gain, &shear, &coverage, &rim_bias, &speed, &pressure, &stiffness,
              &compression, &temperature_rise, &film_resistance, &over_pad, &strength, &heat})
            field->resize(most);

    const auto h = static_cast<float>(grid.h_m);
    const int j_low = static_cast<int>(std::ceil((centre.y - reach_m - grid.y0_m) / grid.h_m));
    const int j_high = static_cast<int>(std::floor((centre.y + reach_m - grid.y0_m) / grid.h_m));
    for (int j = j_low; j <= j_high; ++j) {
        const double dy = grid.y(j) - centre.y;
        const double half = std::sqrt(std::max(0.0, reach_m * reach_m - dy * dy));
        const int i_low = static_cast<int>(std::ceil((centre.x - half - grid.x0_m) / grid.h_m));
        const int i_high = static_cast<int>(std::floor((centre.x + half - grid.x0_m) / grid.h_m));
        if (i_high < i_low) continue;
        const auto count = static_cast<std::size_t>(i_high - i_low + 1);
        const auto left = static_cast<float>(grid.x(i_low) - centre.x), level_y = static_cast<float>(dy);
        // A 32-bit counter: its conversion to float vectorises, that of a size does not.
        float* across = x.data() + size;
        for (int c = 0; c <= i_high - i_low; ++c) across[c] = left + static_cast<float>(c) * h;
        std::fill_n(y.data() + size, count, level_y);
        const int first = std::max(i_low, 0), last = std::min(i_high, grid.nu - 1);
        const bool on_grid = j >= 0 && j < grid.nv && first <= last;
        if (!on_grid || first > i_low || last < i_high)
            for (auto* field : {&height, &on, &gain, &shear})
                std::fill_n(field->begin() + static_cast<std::ptrdiff_t>(size), count, 0.0f);
        if (on_grid) {
            const Row row{size + static_cast<std::size_t>(first - i_low), grid.index(first, j),
                          static_cast<std::size_t>(last - first + 1)};
            std::copy_n(panel.height_m.data() + row.grid, row.count, height.data() + row.packed);
            std::copy_n(layer.edge_gain.data() + row.grid, row.count, gain.data() + row.packed);
            std::copy_n(layer.shear_pa.data() + row.grid, row.count, shear.data() + row.packed);
            const float* reaction = layer.edge_gain.data() + row.grid; // 1 or more inside, 0 outside
            float* mask = on.data() + row.packed;
            for (std::size_t c = 0; c < row.count; ++c) mask[c] = reaction[c] > 0.0f ? 1.0f : 0.0f;
            rows.push_back(row);
        }
        size += count;
    }
    for (; size % kernels::lanes != 0; ++size) {
        x[size] = y[size] = 2 * static_cast<float>(reach_m); // beyond the rim: coverage comes out 0
        height[size] = on[size] = gain[size] = shear[size] = 0;
    }
}

bool Footprint::level() {
    Eigen::Matrix3d normal = Eigen::Matrix3d::Zero();
    Eigen::Vector3d right = Eigen::Vector3d::Zero();
    // The same sums as the contact's: weights in the place of stiffness, weighted height in that of load.
    for (std::size_t i = 0; i < size; ++i) compression[i] = coverage[i] * on[i];
    const kernels::Moments m =
        kernels::moments(size, x.data(), y.data(), compression.data(), height.data(), on.data());
    const auto& s = m.stiffness;
    if (s[0] * cell_area_m2 < 1e-9) return false;
    normal << s[0], s[1], s[2], s[1], s[3], s[4], s[2], s[4], s[5];
    right << m.load[0], m.load[1], m.load[2];
    // A sliver of panel under the rim fixes no plane: a touch of damping then keeps the slopes near 0.
    normal(1, 1) += 1e-9 * s[0], normal(2, 2) += 1e-9 * s[0];
    const Eigen::Vector3d plane = normal.ldlt().solve(right);
    const auto c0 = static_cast<float>(plane[0]), cx = static_cast<float>(plane[1]),
               cy = static_cast<float>(plane[2]);
    for (std::size_t i = 0; i < size; ++i) height[i] -= c0 + cx * x[i] + cy * y[i];
    return true;
}

void press(Footprint& f, const Pad& pad, const FoamCurve<float>& foam, PlatePose pose) {
    const auto inverse_thickness = static_cast<float>(1 / pad.thickness_m);
    kernels::pressure(foam, {f.size, f.x.data(), f.y.data(), f.height.data(), f.on.data(), f.gain.data(),
                             f.shear.data(), static_cast<float>(pose.depth_m),
                             static_cast<float>(pose.tilt_rad.x), static_cast<float>(pose.tilt_rad.y),
                             inverse_thickness, inverse_thickness / engage_strain, f.pressure.data(),
                             f.stiffness.data(), f.compression.data()});
}

Balance balance_plate(Footprint& f, const Pad& pad, const FoamCurve<float>& foam, const HandLoad& hand_load,
                      PlatePose start) {
    const bool imposed = std::isinf(hand_load.stiffness_nm_rad);
    const double force_scale = hand_load.force_n, moment_scale = hand_load.force_n * pad.radius_m;
    // Stiffness of a face fully on a flat panel: a scale for steps where there is little contact yet.
    const double face = pad.foundation_pa_m() * pi * pad.radius_m * pad.radius_m;

    Balance out;
    Eigen::Vector3d pose(start.depth_m, start.tilt_rad.x, start.tilt_rad.y);
    if (imposed) pose[1] = hand_load.tilt_rad.x, pose[2] = hand_load.tilt_rad.y;
    Eigen::Vector3d accepted = pose, step = Eigen::Vector3d::Zero();
    double accepted_merit = INFINITY;

    for (out.iterations = 1; out.iterations <= most_iterations; ++out.iterations) {
        press(f, pad, foam, {pose[0], {pose[1], pose[2]}});
        const kernels::Moments m = kernels::moments(f.size, f.x.data(), f.y.data(), f.coverage.data(),
                                                    f.pressure.data(), f.stiffness.data());
        const double a = f.cell_area_m2;
        out.carried_n = m.load[0] * a;
        Eigen::Vector3d residual(m.load[0] * a - hand_load.force_n, 0, 0);
        Eigen::Matrix3d slope = Eigen::Matrix3d::Identity() * face * pad.radius_m * pad.radius_m;
        slope(0, 0) = m.stiffness[0] * a;
        if (!imposed) {
            const HandMoment hand = hand_moment(hand_load, pose.tail<2>());
            residual.tail<2>() = Eigen::Vector2d(m.load[1], m.load[2]) * a - hand.moment;
            const auto& s = m.stiffness;
            slope << s[0], s[1], s[2], s[1], s[3], s[4], s[2], s[4], s[5];
            slope *= a;
            slope.bottomRightCorner<2, 2>() += hand.stiffness;
        }
        const double off_force = residual[0] / force_scale,
                     off_moment = residual.tail<2>().norm() / moment_scale;
        if (std::abs(off_force) < balance_tolerance && off_moment < balance_tolerance) {
            out.converged = true;
            break;
        }
        const double merit = off_force * off_force + off_moment * off_moment;
        if (merit > accepted_merit && step.norm() > 1e-9) {
            step *= 0.4; // overshot: less of the same step
        } else {
            accepted = pose;
            accepted_merit = merit;
            slope(0, 0) += 1e-3 * face; // keeps the step finite while the pad is off the panel
            slope(1, 1) += 1e-4 * face * pad.radius_m * pad.radius_m;
            slope(2, 2) += 1e-4 * face * pad.radius_m * pad.radius_m;
            step = -slope.ldlt().solve(residual);
            const double longest = std::max(
                {std::abs(step[0]), pad.radius_m * std::abs(step[1]), pad.radius_m * std::abs(step[2])});
            const double room = 0.2 * pad.thickness_m;
            if (longest > room) step *= room / longest;
        }
        pose = accepted + step;
    }
    out.pose = {pose[0], {pose[1], pose[2]}};
    return out;
}

RingLoads ring_loads(const Footprint& f, const Pad& pad, double orbit_radius_m, const OrbitTable* table) {
    // Every third packed cell of a fine grid is sample enough for ring sums, and staggers from row to row.
    const std::size_t stride = f.size < 2500 ? 1 : 3;
    struct Ring {
        float area = 0, p = 0, bias = 0, w = 0, pw = 0, p_cos = 0, p_sin = 0, w_cos = 0, w_sin = 0, cos = 0,
              sin = 0;
    };
    constexpr int count = RingLoads::rings;
    std::array<Ring, count> rings{};
    const double outer = pad.radius_m + orbit_radius_m;
    const auto per_ring = static_cast<float>(count / outer);
    float face_bias = 0, face = 0;
    for (std::size_t i = 0; i < f.size; i += stride) {
        const float c = f.coverage[i];
        if (c <= 0) continue;
        const float r = std::sqrt(f.x[i] * f.x[i] + f.y[i] * f.y[i]);
        face += c, face_bias += f.rim_bias[i] * r;
        Ring& ring = rings[static_cast<std::size_t>(std::min(r * per_ring, static_cast<float>(count - 1)))];
        const float p = c * f.pressure[i], w = f.compression[i], cw = c * w;
        const float to_unit = 1.0f / (r + 1e-9f), cosine = f.x[i] * to_unit, sine = f.y[i] * to_unit;
        ring.area += c;
        ring.bias += f.rim_bias[i] * f.pressure[i];
        ring.p += p, ring.w += cw, ring.pw += p * w;
        ring.p_cos += p * cosine, ring.p_sin += p * sine;
        ring.w_cos += cw * cosine, ring.w_sin += cw * sine;
        ring.cos += c * cosine, ring.sin += c * sine;
    }
    RingLoads out;
    const double cell = static_cast<double>(stride) * f.cell_area_m2;
    double swung = 0;
    // Over the whole face, on the panel or not, rim_bias x r adds up to e x the face. Held to that, cells
    // that are coarse beside the orbit give an evenly pressed pad no moment at rest.
    const double bias_scale = face_bias > 0 ? orbit_radius_m * static_cast<double>(face / face_bias) : 0;
    for (std::size_t k = 0; k < count; ++k) {
        const Ring& ring = rings[k];
        out.load_n[k] = static_cast<double>(ring.p) * cell;
        out.bias_n[k] = bias_scale * static_cast<double>(ring.bias) * cell;
        const double r = (static_cast<double>(k) + 0.5) * outer / count;
        out.radius_m[k] = r;
        out.second_n[k] = out.bias_n[k] *
                          (table ? table->second_over_first(r) : rim_cosine(r, orbit_radius_m, pad.radius_m));
        if (ring.area <= 0) continue;
        const float all = ring.pw - ring.p * ring.w / ring.area;
        // About the ring's means, since its sampled cells do not lie quite evenly around it.
        const float p_mean = ring.p / ring.area, w_mean = ring.w / ring.area;
        const float first = 2 *
                            ((ring.p_cos - p_mean * ring.cos) * (ring.w_cos - w_mean * ring.cos) +
                             (ring.p_sin - p_mean * ring.sin) * (ring.w_sin - w_mean * ring.sin)) /
                            ring.area;
        swung += static_cast<double>(2 * all - std::min(first, all));
    }
    out.hysteresis_nm = pad.loss_factor * std::max(0.0, swung * cell);
    return out;
}

} // namespace sparecoat::sim
