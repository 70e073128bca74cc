#pragma once
// How a panel's heat is stepped: along its plane and through its thickness. For heat.cpp alone.
#include "sim/heat_kernels.hpp"
#include "tool/tool.hpp"
#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <vector>

namespace sparecoat::sim {

inline constexpr int levels_of_a_column = 8;
inline constexpr double column_growth = 1.4; // each layer of a column over the one above it

// ---- Runge-Kutta-Chebyshev, second order --------------------------------------------------------------
//
// Sommeijer, Shampine and Verwer 1998, equations (2.4) to (2.8), written for the increments d_j = Y_j - Y_0
// of a linear L, so that a step that changes nothing rounds nothing:
//     d_1 = m_1 tau L Y_0,
//     d_j = mu_j d_(j-1) + nu_j d_(j-2) + m_j tau L d_(j-1) + (m_j + g_j) tau L Y_0.

struct ChebyshevStages {
    double first;                     // m_1
    std::vector<kernels::Stage> rest; // j = 2 .. s, with tau = m_j x (diffusion rate x time)
};

inline constexpr double damping = 2.0 / 13.0;

/// The largest |eigenvalue| x time that s stages are stable for.
inline double chebyshev_reach(int stages) {
    return 2.0 / 3.0 * (stages * stages - 1) * (1 - 2.0 / 15.0 * damping);
}

inline ChebyshevStages chebyshev_stages(int s, double diffusion) {
    const double w0 = 1 + damping / (s * s);
    std::vector<double> t{1, w0}, t1{0, 1}, t2{0, 0}; // Chebyshev polynomials and two derivatives at w0
    for (std::size_t j = 2; j <= static_cast<std::size_t>(s); ++j) {
        t.push_back(2 * w0 * t[j - 1] - t[j - 2]);
        t1.push_back(2 * t[j - 1] + 2 * w0 * t1[j - 1] - t1[j - 2]);
        t2.push_back(4 * t1[j - 1] + 2 * w0 * t2[j - 1] - t2[j - 2]);
    }
    const double w1 = t1.back() / t2.back();
    const auto b = [&](std::size_t j) {
        return j == 1 ? 1 / w0
                      : t2[std::max<std::size_t>(j, 2)] / std::pow(t1[std::max<std::size_t>(j, 2)], 2);
    };
    ChebyshevStages out{b(1) * w1, {}};
    for (std::size_t j = 2; j <= static_cast<std::size_t>(s); ++j) {
        const double m = 2 * b(j) * w1 / b(j - 1), g = -(1 - b(j - 1) * t[j - 1]) * m;
        out.rest.push_back({static_cast<float>(2 * b(j) * w0 / b(j - 1)),
                            static_cast<float>(-b(j) / b(j - 2)), static_cast<float>(m * diffusion),
                            static_cast<float>(m + g)});
    }
    return out;
}

// ---- columns ------------------------------------------------------------------------------------------
//
// Per area of panel, with T the rises at the nodes through the thickness,
//     M dT/dt = -K T + q e_0,
// M the heat capacities of the nodes, K the conductances between them and the losses at both ends. With
// M^-1/2 K M^-1/2 = V diag(r) V', all r >= 0,
//     T(s) - T(0) = M^-1/2 V [ (exp(-r s) - 1) V' M^1/2 T(0) + (1 - exp(-r s)) / r  V' M^-1/2 e_0 q ].
// Losses l' T, integrated over the same step, follow in the same way.

struct ColumnStep {
    std::vector<float> decay, gain;      // of the rises
    std::vector<double> lost_per_kelvin; // J/m² lost in the step per K at each level
    double lost_per_flux = 0;            // and per W/m² of flux
};

class ColumnLaw {
public:
    ColumnLaw() = default;
    ColumnLaw(const Substrate& sheet, double top_w_m2k, double bottom_w_m2k) {
        const int n = sheet.polymer ? levels_of_a_column : 1;
        capacity_.setZero(n);
        losses_.setZero(n);
        Eigen::MatrixXd conductance = Eigen::MatrixXd::Zero(n, n);
        const double volumetric = sheet.density_kg_m3 * sheet.heat_capacity_j_kgk;
        if (n == 1) capacity_[0] = volumetric * sheet.thickness_m;
        double layer = sheet.thickness_m * (column_growth - 1) / (std::pow(column_growth, n - 1) - 1);
        for (int l = 0; l + 1 < n; ++l, layer *= column_growth) {
            const double half = 0.5 * volumetric * layer, through = sheet.conductivity_w_mk / layer;
            capacity_[l] += half, capacity_[l + 1] += half;
            conductance(l, l) += through, conductance(l + 1, l + 1) += through;
            conductance(l, l + 1) -= through, conductance(l + 1, l) -= through;
        }
        losses_[0] += top_w_m2k, losses_[n - 1] += bottom_w_m2k;
        conductance.diagonal() += losses_;

        const Eigen::VectorXd root = capacity_.cwiseSqrt(), inverse = root.cwiseInverse();
        const Eigen::SelfAdjointEigenSolver<Eigen::MatrixXd> modes(inverse.asDiagonal() * conductance *
                                                                   inverse.asDiagonal());
        rates_ = modes.eigenvalues().cwiseMax(0.0);
        from_modes_ = inverse.asDiagonal() * modes.eigenvectors();
        to_modes_ = modes.eigenvectors().transpose() * root.asDiagonal();
        flux_to_modes_ = modes.eigenvectors().row(0).transpose() * inverse[0];
    }

    int levels() const { return static_cast<int>(capacity_.size()); }
    const Eigen::VectorXd& capacity_j_m2k() const { return capacity_; }

    ColumnStep step(double dt_s) const {
        const auto n = capacity_.size();
        Eigen::VectorXd shrink(n), once(n), twice(n); // exp - 1 and its integrals over the step
        for (Eigen::Index e = 0; e < n; ++e) {
            const double r = rates_[e], x = r * dt_s;
            shrink[e] = std::expm1(-x);
            once[e] = x > 0 ? -shrink[e] / r : dt_s;
            twice[e] = x > 1e-4 ? (dt_s - once[e]) / r : 0.5 * dt_s * dt_s * (1 - x / 3);
        }
        ColumnStep out;
        const Eigen::MatrixXd decay = from_modes_ * shrink.asDiagonal() * to_modes_;
        const Eigen::VectorXd gain = from_modes_ * once.cwiseProduct(flux_to_modes_);
        const Eigen::RowVectorXd loss_of_modes = losses_.transpose() * from_modes_;
        const Eigen::RowVectorXd lost = loss_of_modes * once.asDiagonal() * to_modes_;
        out.lost_per_flux = loss_of_modes * twice.cwiseProduct(flux_to_modes_);
        for (Eigen::Index l = 0; l < n; ++l) {
            out.gain.push_back(static_cast<float>(gain[l]));
            out.lost_per_kelvin.push_back(lost[l]);
            for (Eigen::Index m = 0; m < n; ++m) out.decay.push_back(static_cast<float>(decay(l, m)));
        }
        return out;
    }

private:
    Eigen::VectorXd capacity_, losses_, rates_, flux_to_modes_;
    Eigen::MatrixXd from_modes_, to_modes_;
};

} // namespace sparecoat::sim
