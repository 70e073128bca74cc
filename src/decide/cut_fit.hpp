#pragma once
#include "decide/stats/least_squares.hpp"
#include "sim/simulate.hpp"
#include <cstddef>
#include <optional>
#include <span>
#include <string>
#include <vector>

namespace sparecoat::decide {

/// A run as it would go with an abrasive that stays fresh and a pad that does not load, step by step. Where
/// the film goes and how much friction there is do not depend on the cut (Preston's law is linear in it), so
/// that one such run gives the loss for every cut, breakdown and pad factor, in the simulation's own steps.
struct WorkTrace {
    struct Step {
        double film_um = 0;    ///< mean over the ground that is measured
        double removed_m3 = 0; ///< all over the panel
        double work_j = 0;     ///< of friction
        bool recharge = false; ///< fresh liquid and a clean pad before it
        bool counts = true;    ///< between the two measurements
    };
    /// What other exponents on pressure and speed make of a loss, to second order in its logarithm: the mean
    /// of a power of the pressure, over places and times, is a cumulant generating function of ln p, and its
    /// third order, the skewness of ln p, is left out.
    struct Response {
        double by_pressure = 0, by_speed = 0, pressure_twice = 0, both = 0, speed_twice = 0;
        double at(double more_pressure, double more_speed) const; ///< times the loss at the trace's exponents
    };
    std::vector<Step> steps;
    Response film, removed; ///< of trace_work with `exponents`; else nothing responds
    double pad_area_m2 = 0;
    double capacity_m = 0; ///< of the pad; 0: never loads
    double end_size = 1;   ///< broken-down grain over fresh grain
    double work_j_m2 = 0;  ///< behind the charge when the measured part is half done, for charts
};

/// @param cells the ground that is measured. @param counts_from_s, counts_to_s the part of the path between
/// the measurements, s of its time. @param exponents whether the responses are found too, by five more runs.
/// @throws std::invalid_argument without cells.
WorkTrace trace_work(const Panel& panel, const Setup& setup, const ArmPath& path,
                     std::span<const std::size_t> cells, double counts_from_s, double counts_to_s,
                     bool exponents = false);

/// What is lost between the measurements. See Abrasive for the equations.
struct WorkLoss {
    double film_um = 0, removed_m3 = 0;
};
/// @param cut times the trace's own, @param breakdown_j_m2 friction work per pad area that takes the grain 63
/// % of the way to its end; 0: it stays fresh. @param more_pressure, more_speed added to the exponents.
WorkLoss loss_of(const WorkTrace& trace, double cut, double breakdown_j_m2, double more_pressure = 0,
                 double more_speed = 0);

/// One measurement with the work it follows.
struct MeasuredLoss {
    std::size_t trace = 0;      ///< of the traces
    std::size_t pad = 0;        ///< of the pads
    double film_um = 0;         ///< measured; of a weighed plate its mean over the worked area
    double sd_um = 0;           ///< of that
    double weighed_area_m2 = 0; ///< worked area of a weighed plate; 0: read with a gauge
};

enum class CutParameterKind { cut, breakdown, pressure_exponent, speed_exponent, pad_factor };

/// A parameter times its preset's value, with an interval; or held at the preset, and why.
struct CutParameter {
    CutParameterKind kind = CutParameterKind::cut;
    std::size_t pad = 0; ///< of a pad factor
    double value = 1, low = 1, high = 1;
    std::string held; ///< empty: fitted
    bool fitted() const { return held.empty(); }
};

/// What a set of measurements says. Rows count as measurements do.
struct CutFit {
    std::vector<CutParameter>
        parameters; ///< cut; breakdown, where the liquid breaks down; exponents, where asked for; pad factors
    std::vector<double> model_um; ///< of each row
    std::vector<double> residual; ///< measured less model, over its standard deviation
    std::vector<double> leverage;
    std::vector<bool> outlier;
    double chi_square = 0, chance = 1, scale = 1;
    int degrees = 0;
    bool converged = false;
    const CutParameter& cut() const { return parameters.front(); }
};

inline constexpr double fit_level = 0.9;  ///< of the intervals
inline constexpr double told_range = 400; ///< times the preset's breakdown, either way, that is searched
inline constexpr double widest_told = 80; ///< upper over lower end of breakdown's interval
inline constexpr double widest_exponent =
    0.4; ///< half of an exponent's interval, beyond which it is not told

/// A liquid's exponents on pressure and speed, by its preset.
struct Exponents {
    double pressure = 1, speed = 1;
};

/// Fits logarithms of factors on the presets' cut, breakdown and pad factors by weighted least squares. What
/// the rows cannot tell apart is held at its preset, exponents first, then pads' factors, then breakdown: by
/// rank (see blind_directions), an exponent also where its interval is wider than `widest_exponent` to either
/// side, and breakdown where its runs on past `told_range` to either side or spans more than `widest_told`.
///
/// A grain that is worn at once and one that hardly wears can fit alike, with poorer values between them. So
/// with breakdown fitted the intervals are not those of the covariance at the best fit but of the profile:
/// breakdown is stepped over its range and the rest fitted at each step, and what has a chi-square within t²
/// scale² of the least counts, for the other values with their conditional widths. Where the sum of squares
/// is a paraboloid these are the covariance's (Bates and Watts, Nonlinear Regression Analysis, 1988,
/// section 6.1, from memory).
/// @param breakdown_j_m2 the preset's; 0: none to fit. @param pad_names for the words of what is held.
/// @param exponents the preset's where they are to be fitted; the traces have their responses then.
/// @throws InputError where there is no row, or where the rows show no loss to fit.
CutFit fit_cut(std::span<const WorkTrace> traces, std::span<const MeasuredLoss> rows, double breakdown_j_m2,
               const std::vector<std::string>& pad_names, std::optional<Exponents> exponents = {});

} // namespace sparecoat::decide
