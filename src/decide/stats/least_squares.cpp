#include "decide/stats/least_squares.hpp"
#include "decide/stats/paired.hpp"
#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <stdexcept>
#include <unsupported/Eigen/LevenbergMarquardt>
#include <unsupported/Eigen/SpecialFunctions>

namespace sparecoat::decide {
namespace {

constexpr double false_alarm = 0.01; ///< in one set of rows

/// What Eigen's solver asks for.
struct Problem : Eigen::DenseFunctor<double> {
    Problem(const WeightedResiduals& function, int parameters, int rows, DifferenceStep difference)
        : DenseFunctor(parameters, rows), residuals(function), step(difference) {}
    int operator()(const Eigen::VectorXd& at, Eigen::VectorXd& out) const {
        out = residuals(at);
        return out.allFinite() ? 0 : -1;
    }
    int df(const Eigen::VectorXd& at, Eigen::MatrixXd& out) const {
        out = jacobian_of(residuals, at, step);
        return 0;
    }
    const WeightedResiduals& residuals;
    DifferenceStep step;
};

/// (J'J)^-1 and the diagonal of J (J'J)^-1 J' from J's singular values; a direction that moves nothing counts
/// for nothing, which the caller has to see to.
void take_from_jacobian(LeastSquaresFit& fit, const Eigen::MatrixXd& jacobian) {
    const Eigen::VectorXd length = jacobian.colwise().norm().cwiseMax(1e-300);
    const Eigen::MatrixXd scaled = jacobian * length.cwiseInverse().asDiagonal();
    const Eigen::JacobiSVD<Eigen::MatrixXd> svd(scaled, Eigen::ComputeThinU | Eigen::ComputeThinV);
    const Eigen::MatrixXd half =
        length.cwiseInverse().asDiagonal() * svd.matrixV() * svd.singularValues().cwiseInverse().asDiagonal();
    fit.covariance = half * half.transpose();
    fit.leverage = svd.matrixU().rowwise().squaredNorm().cwiseMin(1.0);
}

} // namespace

double student_quantile(double p, int degrees) {
    return p < 0.5 ? -student_bound(1 - 2 * p, degrees) : p > 0.5 ? student_bound(2 * p - 1, degrees) : 0;
}
double normal_quantile(double p) { return Eigen::numext::ndtri(p); }

double LeastSquaresFit::scale() const {
    return degrees > 0 ? std::max(1.0, std::sqrt(chi_square / degrees)) : 1;
}

double LeastSquaresFit::quantile(double level) const {
    const double p = 0.5 + 0.5 * level;
    return degrees > 0 ? student_quantile(p, degrees) : normal_quantile(p);
}

double LeastSquaresFit::half_width(Eigen::Index parameter, double level) const {
    return quantile(level) * scale() * std::sqrt(covariance(parameter, parameter));
}

double LeastSquaresFit::chance_of_chi_square() const {
    if (degrees <= 0) return 1;
    return Eigen::numext::igammac(0.5 * degrees, 0.5 * chi_square);
}

std::vector<bool> LeastSquaresFit::outliers() const {
    const auto rows = residuals.size();
    std::vector<bool> out(static_cast<std::size_t>(rows), false);
    const double limit = normal_quantile(1 - 0.5 * false_alarm / static_cast<double>(rows));
    for (Eigen::Index k = 0; k < rows; ++k) {
        const double free = 1 - leverage(k);
        if (free < 1e-9) continue;
        const double own = residuals(k) * residuals(k) / free; // what chi-square falls by without this row
        const double others = degrees > 1 ? std::max(1.0, (chi_square - own) / (degrees - 1)) : 1;
        out[static_cast<std::size_t>(k)] = own > limit * limit * others;
    }
    return out;
}

Eigen::MatrixXd jacobian_of(const WeightedResiduals& residuals, const Eigen::VectorXd& at,
                            DifferenceStep step) {
    Eigen::MatrixXd out;
    for (Eigen::Index k = 0; k < at.size(); ++k) {
        const double width = step.relative * std::abs(at(k)) + step.absolute;
        Eigen::VectorXd low = at, high = at;
        low(k) -= width, high(k) += width;
        const Eigen::VectorXd column = (residuals(high) - residuals(low)) / (high(k) - low(k));
        if (k == 0) out.resize(column.size(), at.size());
        out.col(k) = column;
    }
    return out;
}

std::vector<Eigen::VectorXd> blind_directions(const Eigen::MatrixXd& jacobian) {
    Eigen::MatrixXd scaled = jacobian;
    for (Eigen::Index k = 0; k < scaled.cols(); ++k)
        if (const double length = scaled.col(k).norm(); length > 0) scaled.col(k) /= length;
    const Eigen::JacobiSVD<Eigen::MatrixXd> svd(scaled, Eigen::ComputeFullV);
    const Eigen::VectorXd& values = svd.singularValues();
    std::vector<Eigen::VectorXd> out;
    for (Eigen::Index k = 0; k < scaled.cols(); ++k)
        if (k >= values.size() || values(k) <= rank_tolerance * values(0))
            out.emplace_back(svd.matrixV().col(k));
    return out;
}

LeastSquaresFit least_squares(const WeightedResiduals& residuals, const Eigen::VectorXd& start,
                              DifferenceStep step) {
    const Eigen::VectorXd first = residuals(start);
    if (first.size() < start.size()) throw std::invalid_argument("fewer residuals than parameters");
    Problem problem(residuals, static_cast<int>(start.size()), static_cast<int>(first.size()), step);
    Eigen::LevenbergMarquardt<Problem> solver(problem);
    solver.setFtol(1e-14);
    solver.setXtol(1e-12);
    solver.setMaxfev(2000);
    LeastSquaresFit fit;
    fit.parameters = start;
    const auto status = solver.minimize(fit.parameters);
    using namespace Eigen::LevenbergMarquardtSpace;
    fit.converged = status != ImproperInputParameters && status != TooManyFunctionEvaluation &&
                    status != UserAsked && status != NotStarted && status != Running;
    fit.residuals = residuals(fit.parameters);
    fit.chi_square = fit.residuals.squaredNorm();
    fit.degrees = static_cast<int>(first.size() - start.size());
    take_from_jacobian(fit, jacobian_of(residuals, fit.parameters, step));
    return fit;
}

} // namespace sparecoat::decide
