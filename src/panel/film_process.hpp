#pragma once
#include "panel/film_scales.hpp"
#include "panel/panel.hpp"
#include <Eigen/Cholesky>
#include <Eigen/Core>
#include <span>
#include <vector>

namespace sparecoat::panel {

// The Gaussian process behind measured film (kriging). What is modelled is the logarithm of the film over
// its nominal value there, edge thinning included. Why the ratio and not the difference: a panel painted
// thick is thicker everywhere in proportion, edges too, so the ratio is alike all over the panel and the
// difference is not. Why its logarithm: film stays positive, a repaint at three times the film is no wild
// outlier, and the split of the total into layers, which multiplies, adds up.
//
// With R the Matern 5/2 correlation, w = a exp(-s / l) / (1 - a exp(-s / l)) what the log film falls by where
// the thinning `a` is a whole itself larger, and everything on the right independent with mean 0,
//
//     log T/T0 (x) = offset + smooth(x) - w(x) edge(x) + texture(x)       total film
//     log C/C0 (x) = log T/T0 (x) + split(x)                              its clear coat
//
// offset: the panel as a whole (sd `offset`); smooth: sd `signal`, R; edge: the uncertainty of the thinning
// (sd `edge`, R); split: that of the clear coat's share of the total (sd `split`, R, so that a reading of
// the clear coat tells about its own neighbourhood only: a repaint elsewhere has another share); texture:
// from one spot to the next, uncorrelated.

/// Matern correlation of order 5/2 at a distance over the length scale: (1 + q + q²/3) exp(-q), q = sqrt(5)
/// r. Twice differentiable, as a sprayed film is, but without the squared exponential's endless smoothness,
/// which promises too much between readings. Rasmussen and Williams, Gaussian Processes for Machine Learning
/// (2006), eq. 4.17.
double matern52(double distance_over_length);

/// One reading as the process sees it.
struct FilmDatum {
    Point2 at;
    double edge_weight = 0; ///< w there
    bool of_clear = false;  ///< of the clear coat, else of the total
    double log_ratio = 0;   ///< log of reading over nominal there
    double noise_sd = 0;    ///< of log_ratio, by the gauge
};

/// Mean and variance of a log ratio.
struct LogFilm {
    double mean = 0, variance = 0;
};

/// The process given its readings, by algorithm 2.1 of Rasmussen and Williams (2006).
class FilmPosterior {
public:
    /// @param data one datum at the least. @throws std::invalid_argument for none.
    FilmPosterior(std::vector<FilmDatum> data, const FilmScales& scales);

    /// log p(readings), natural logarithm; Rasmussen and Williams (2006), eq. 5.8.
    double log_marginal_likelihood() const { return log_marginal_likelihood_; }
    const FilmScales& scales() const { return scales_; }
    LogFilm offset() const; ///< of the panel as a whole
    LogFilm total_at(Point2 at, double edge_weight) const { return film_at(at, edge_weight, false); }
    LogFilm clear_at(Point2 at, double edge_weight) const { return film_at(at, edge_weight, true); }

    /// Both kinds at every cell of a mask. w changes within millimetres of an edge, everything else over the
    /// length scale; and both moments are polynomials in w whose coefficients are as smooth as R. So these
    /// are solved for on a lattice of a sixteenth of the length scale (an eighth where that would take more
    /// than seconds), interpolated with cubic convolution (Keys, IEEE Trans. Acoust. Speech Signal Process.
    /// 29, 1153 (1981)) and put together with each cell's own w.
    struct Film {
        std::vector<LogFilm> total, clear; ///< zeros where the mask is 0
    };
    Film over(const Grid& grid, const std::vector<std::uint8_t>& mask,
              std::span<const double> edge_weight) const;

private:
    struct Moments;
    LogFilm film_at(Point2 at, double edge_weight, bool of_clear) const;
    void add_columns(Point2 at, bool of_clear, Eigen::Ref<Eigen::VectorXd> even,
                     Eigen::Ref<Eigen::VectorXd> edge) const;
    double prior_variance(double edge_weight, bool of_clear) const;

    std::vector<FilmDatum> data_;
    FilmScales scales_;
    bool any_edge_ = false; ///< whether any reading tells of the thinning
    Eigen::LLT<Eigen::MatrixXd> covariance_;
    Eigen::VectorXd weights_; ///< covariance⁻¹ readings
    double log_marginal_likelihood_ = 0;
};

/// Length scale, signal and texture that make the readings most likely, times a weak log-normal prior so that
/// a handful of readings do not run to a bound:
///     length  0.05 to 1 m,      median 250 mm, sd of its logarithm 0.7
///     signal  0.5 % to 150 %,   median 5 %,    1.0
///     texture 0.3 % to 10 %,    median 1.5 %,  0.5     (bounds and medians from memory)
/// Deterministic: a logarithmic grid, then the simplex of Nelder and Mead, Comput. J. 7, 308 (1965).
/// @param scales whose offset, edge and split are kept.
FilmScales likeliest_scales(const std::vector<FilmDatum>& data, FilmScales scales);

} // namespace sparecoat::panel
