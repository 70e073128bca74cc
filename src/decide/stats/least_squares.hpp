#pragma once
#include "rooms.hpp"
#include <Eigen/Core>
#include <functional>
#include <vector>

namespace sparecoat::decide {

/// Residuals of a model, each over its standard deviation, as a function of the parameters.
using WeightedResiduals = std::function<Eigen::VectorXd(const Eigen::VectorXd& parameters)>;

/// Weighted nonlinear least squares and what it leaves. m residuals, n parameters, m >= n.
struct LeastSquaresFit {
    Eigen::VectorXd parameters; ///< n
    Eigen::VectorXd residuals;  ///< m, over their standard deviations
    Eigen::VectorXd leverage;   ///< m, 0 to 1, n in all: how far the fit at a row follows that row alone
    Eigen::MatrixXd covariance; ///< n x n, if the standard deviations are true: (J'J)^-1
    double chi_square = 0;
    int degrees = 0; ///< of freedom, m - n
    bool converged = false;

    /// What the standard deviations have to be multiplied by: sqrt(chi_square / degrees), but not less
    /// than 1. So an interval is never narrower than the stated repeatability allows (Birge, Phys. Rev. 40,
    /// 207 (1932), from memory).
    double scale() const;
    /// Of a two-sided interval: Student's t with `degrees`, the normal law's with none left. @param level
    /// such as 0.9.
    double quantile(double level) const;
    /// Half the width of an interval of a parameter: the quantile times the scaled standard deviation.
    double half_width(Eigen::Index parameter, double level) const;
    /// Chance of a chi-square as large were the standard deviations true; 1 with no degree of freedom.
    double chance_of_chi_square() const;
    /// Rows that stand out: |residual| / sqrt(1 - leverage), over the scale that the other rows alone give,
    /// beyond what one set of rows in a hundred has by chance (Bonferroni). A row with leverage 1 has no
    /// residual and is never one.
    std::vector<bool> outliers() const;
};

/// By how much a parameter x is moved either way for central differences: relative |x| + absolute.
struct DifferenceStep {
    double relative = 1e-5, absolute = 0;
};

/// Levenberg and Marquardt's method from a start; derivatives by central differences.
/// @throws std::invalid_argument where there are fewer residuals than parameters.
LeastSquaresFit least_squares(const WeightedResiduals& residuals, const Eigen::VectorXd& start,
                              DifferenceStep step = {});

/// d residual / d parameter by central differences, m x n.
Eigen::MatrixXd jacobian_of(const WeightedResiduals& residuals, const Eigen::VectorXd& at,
                            DifferenceStep step = {});

/// Directions in which the parameters can be changed together and no residual takes notice, by the singular
/// values of the Jacobian with its columns brought to one length: those under `rank_tolerance` of the
/// largest.
/// @return one unit vector a direction, in the scaled parameters; a parameter belongs to it by the size of
/// its entry.
std::vector<Eigen::VectorXd> blind_directions(const Eigen::MatrixXd& jacobian);
inline constexpr double rank_tolerance = 1e-6; ///< the differences leave some 1e-9

/// Quantiles of Student's t and of the normal law, 0 < p < 1.
double student_quantile(double p, int degrees);
double normal_quantile(double p);

} // namespace sparecoat::decide
