#include "panel/film_process.hpp"
#include "units/quantity.hpp"
#include <algorithm>
#include <array>
#include <cmath>
#include <stdexcept>

namespace sparecoat::panel {
namespace {

double squared(double x) { return x * x; }

/// Eigen cuts its products into blocks that fit the processor's caches, and the order of their sums with it.
/// One set of sizes for every machine keeps the bits the same.
void fix_block_sizes() {
    static const bool done = [] {
        Eigen::setCpuCacheSizes(32 * 1024, 512 * 1024, 4 * 1024 * 1024);
        return true;
    }();
    static_cast<void>(done);
}

/// Weights of the four lattice values around a place, `t` of the way from the second to the third
/// (Keys 1981 with a = -1/2).
std::array<double, 4> cubic_weights(double t) {
    const double t2 = t * t, t3 = t2 * t;
    return {-0.5 * t + t2 - 0.5 * t3, 1 - 2.5 * t2 + 1.5 * t3, 0.5 * t + 2 * t2 - 1.5 * t3,
            -0.5 * t2 + 0.5 * t3};
}

/// Lattice over a grid, with the margin that the cubic's four points need.
struct Lattice {
    double spacing_m = 0;
    int nu = 0, nv = 0;
    Point2 origin;

    Lattice(const Grid& grid, double spacing) : spacing_m(spacing) {
        const auto points = [&](int cells) {
            return static_cast<int>(std::ceil((cells - 1) * grid.h_m / spacing)) + 4;
        };
        nu = points(grid.nu), nv = points(grid.nv);
        origin = {grid.x0_m - spacing, grid.y0_m - spacing};
    }
    std::size_t nodes() const { return static_cast<std::size_t>(nu) * static_cast<std::size_t>(nv); }
    std::size_t node(int i, int j) const {
        return static_cast<std::size_t>(j) * static_cast<std::size_t>(nu) + static_cast<std::size_t>(i);
    }
    Point2 at(std::size_t node) const {
        const auto width = static_cast<std::size_t>(nu);
        return origin +
               spacing_m * Point2{static_cast<double>(node % width), static_cast<double>(node / width)};
    }
    /// First of the four nodes along an axis, and how far the place is between the middle two.
    static std::pair<int, double> stencil(double offset_m, double spacing) {
        const double place = offset_m / spacing;
        const int second = static_cast<int>(std::floor(place));
        return {second - 1, place - second};
    }
};

} // namespace

double matern52(double distance_over_length) {
    const double q = std::sqrt(5.0) * distance_over_length;
    return (1 + q + q * q / 3) * std::exp(-q);
}

FilmPosterior::FilmPosterior(std::vector<FilmDatum> data, const FilmScales& scales)
    : data_(std::move(data)), scales_(scales) {
    if (data_.empty()) throw std::invalid_argument("no readings");
    fix_block_sizes();
    const auto n = static_cast<Eigen::Index>(data_.size());
    Eigen::MatrixXd covariance(n, n);
    Eigen::VectorXd readings(n), even(n), edge(n);
    for (Eigen::Index j = 0; j < n; ++j) {
        const FilmDatum& datum = data_[static_cast<std::size_t>(j)];
        add_columns(datum.at, datum.of_clear, even, edge);
        covariance.col(j) = even + datum.edge_weight * edge;
        covariance(j, j) += squared(scales_.texture) + squared(datum.noise_sd);
        readings[j] = datum.log_ratio;
        any_edge_ = any_edge_ || datum.edge_weight > 1e-4;
    }
    covariance_.compute(covariance);
    weights_ = covariance_.solve(readings);
    const double half_log_determinant = covariance_.matrixLLT().diagonal().array().log().sum();
    log_marginal_likelihood_ = -0.5 * readings.dot(weights_) - half_log_determinant -
                               0.5 * static_cast<double>(n) * std::log(2 * pi);
}

/// Covariance of the film at a place with every reading, as even + w edge.
void FilmPosterior::add_columns(Point2 at, bool of_clear, Eigen::Ref<Eigen::VectorXd> even,
                                Eigen::Ref<Eigen::VectorXd> edge) const {
    const double offset = squared(scales_.offset), signal = squared(scales_.signal);
    const double split = of_clear ? squared(scales_.split) : 0, thinning = squared(scales_.edge);
    for (std::size_t i = 0; i < data_.size(); ++i) {
        const FilmDatum& datum = data_[i];
        const double r = matern52(norm(at - datum.at) / scales_.length_m);
        even[static_cast<Eigen::Index>(i)] = offset + r * (signal + (datum.of_clear ? split : 0));
        edge[static_cast<Eigen::Index>(i)] = r * thinning * datum.edge_weight;
    }
}

double FilmPosterior::prior_variance(double edge_weight, bool of_clear) const {
    return squared(scales_.offset) + squared(scales_.signal) + squared(scales_.texture) +
           squared(scales_.edge * edge_weight) + (of_clear ? squared(scales_.split) : 0);
}

LogFilm FilmPosterior::offset() const {
    const double variance = squared(scales_.offset);
    const Eigen::VectorXd ones = Eigen::VectorXd::Ones(weights_.size());
    return {variance * weights_.sum(), variance - variance * variance * ones.dot(covariance_.solve(ones))};
}

LogFilm FilmPosterior::film_at(Point2 at, double edge_weight, bool of_clear) const {
    Eigen::VectorXd even(weights_.size()), edge(weights_.size());
    add_columns(at, of_clear, even, edge);
    Eigen::VectorXd column = even + edge_weight * edge;
    const double mean = column.dot(weights_);
    covariance_.matrixL().solveInPlace(column);
    return {mean, prior_variance(edge_weight, of_clear) - column.squaredNorm()};
}

/// What is interpolated: mean = even_mean + w edge_mean, variance explained = even² + 2 w cross + w² edge².
struct FilmPosterior::Moments {
    double even_mean = 0, even_even = 0, cross = 0, edge_mean = 0, edge_edge = 0;

    void add(double weight, const Moments& m) {
        even_mean += weight * m.even_mean, even_even += weight * m.even_even, cross += weight * m.cross;
        edge_mean += weight * m.edge_mean, edge_edge += weight * m.edge_edge;
    }
};

namespace {

/// Calls `visit(node, weight)` for the sixteen nodes that a cell's value is interpolated from.
template <class Visit> void visit_stencil(const Grid& grid, const Lattice& lattice, double spacing, int i,
                                          int j, const Visit& visit) {
    const auto [a, s] = Lattice::stencil(grid.x(i) - lattice.origin.x, spacing);
    const auto [b, t] = Lattice::stencil(grid.y(j) - lattice.origin.y, spacing);
    const std::array<double, 4> across = cubic_weights(s), along = cubic_weights(t);
    for (int q = 0; q < 4; ++q)
        for (int p = 0; p < 4; ++p) {
            // Rounding can put a place on the last line one stencil too far; its weight there is nil.
            const int column = std::clamp(a + p, 0, lattice.nu - 1),
                      row = std::clamp(b + q, 0, lattice.nv - 1);
            visit(lattice.node(column, row),
                  across[static_cast<std::size_t>(p)] * along[static_cast<std::size_t>(q)]);
        }
}

} // namespace

FilmPosterior::Film FilmPosterior::over(const Grid& grid, const std::vector<std::uint8_t>& mask,
                                        std::span<const double> edge_weight) const {
    const auto n = static_cast<Eigen::Index>(data_.size());
    const bool any_clear =
        std::any_of(data_.begin(), data_.end(), [](const FilmDatum& d) { return d.of_clear; });

    // A sixteenth of the length scale, or an eighth where that would take more than seconds. Never finer than
    // the cells, whose own answer is then as cheap.
    constexpr double most_products = 6e9;
    double spacing = std::max(scales_.length_m / 16, grid.h_m);
    if (static_cast<double>(Lattice(grid, spacing).nodes()) * static_cast<double>(n * n) > most_products)
        spacing = std::max(scales_.length_m / 8, grid.h_m);
    const Lattice lattice(grid, spacing);

    std::vector<std::uint8_t> wanted(lattice.nodes(), 0);
    const auto for_stencil = [&](int i, int j, const auto& visit) {
        visit_stencil(grid, lattice, spacing, i, j, visit);
    };
    for (int j = 0; j < grid.nv; ++j)
        for (int i = 0; i < grid.nu; ++i)
            if (mask[grid.index(i, j)])
                for_stencil(i, j, [&](std::size_t node, double) { wanted[node] = 1; });
    std::vector<std::size_t> nodes;
    for (std::size_t k = 0; k < wanted.size(); ++k)
        if (wanted[k]) nodes.push_back(k);

    std::vector<Moments> total(lattice.nodes()), clear(any_clear ? lattice.nodes() : 0);
    constexpr std::size_t block = 256;
    Eigen::MatrixXd even(n, block), edge(n, block);
    const auto solve_block = [&](std::size_t first, std::size_t count, bool of_clear,
                                 std::vector<Moments>& out) {
        const auto columns = static_cast<Eigen::Index>(count);
        for (Eigen::Index k = 0; k < columns; ++k)
            add_columns(lattice.at(nodes[first + static_cast<std::size_t>(k)]), of_clear, even.col(k),
                        edge.col(k));
        const Eigen::VectorXd even_mean = even.leftCols(columns).transpose() * weights_;
        const Eigen::VectorXd edge_mean = edge.leftCols(columns).transpose() * weights_;
        auto even_block = even.leftCols(columns);
        auto edge_block = edge.leftCols(columns);
        covariance_.matrixL().solveInPlace(even_block);
        if (any_edge_) covariance_.matrixL().solveInPlace(edge_block);
        for (Eigen::Index k = 0; k < columns; ++k) {
            Moments& m = out[nodes[first + static_cast<std::size_t>(k)]];
            m.even_mean = even_mean[k], m.even_even = even.col(k).squaredNorm();
            if (!any_edge_) continue;
            m.edge_mean = edge_mean[k], m.edge_edge = edge.col(k).squaredNorm(),
            m.cross = even.col(k).dot(edge.col(k));
        }
    };
    for (std::size_t first = 0; first < nodes.size(); first += block) {
        const std::size_t count = std::min(block, nodes.size() - first);
        solve_block(first, count, false, total);
        if (any_clear) solve_block(first, count, true, clear);
    }

    const double floor = squared(scales_.texture); // what no number of readings elsewhere can tell
    const auto combined = [&](const Moments& m, double w, bool of_clear) -> LogFilm {
        const double explained = m.even_even + 2 * w * m.cross + w * w * m.edge_edge;
        return {m.even_mean + w * m.edge_mean, std::max(floor, prior_variance(w, of_clear) - explained)};
    };
    Film film{std::vector<LogFilm>(grid.cells()), std::vector<LogFilm>(grid.cells())};
    for (int j = 0; j < grid.nv; ++j)
        for (int i = 0; i < grid.nu; ++i) {
            const std::size_t k = grid.index(i, j);
            if (!mask[k]) continue;
            Moments of_total, of_clear;
            for_stencil(i, j, [&](std::size_t node, double weight) {
                of_total.add(weight, total[node]);
                if (any_clear) of_clear.add(weight, clear[node]);
            });
            film.total[k] = combined(of_total, edge_weight[k], false);
            film.clear[k] = combined(any_clear ? of_clear : of_total, edge_weight[k], true);
        }
    return film;
}

// ---- length scale, signal, texture ---------------------------------------------------------------
namespace {

/// Logarithms of length scale, signal and texture.
using LogScales = std::array<double, 3>;

struct ScalePrior {
    double low, high, median, log_sd;
    double clamped(double log_value) const { return std::clamp(log_value, std::log(low), std::log(high)); }
};
constexpr std::array<ScalePrior, 3> scale_priors = {
    ScalePrior{0.05, 1, 0.25, 0.7}, ScalePrior{0.005, 1.5, 0.05, 1.0}, ScalePrior{0.003, 0.1, 0.015, 0.5}};

FilmScales with(FilmScales scales, const LogScales& p) {
    scales.length_m = std::exp(p[0]), scales.signal = std::exp(p[1]), scales.texture = std::exp(p[2]);
    return scales;
}

LogScales clamped(LogScales p) {
    for (std::size_t k = 0; k < p.size(); ++k) p[k] = scale_priors[k].clamped(p[k]);
    return p;
}

/// Minus the logarithm of likelihood times prior, up to a constant.
double unlikelihood(const std::vector<FilmDatum>& data, const FilmScales& fixed, const LogScales& p) {
    double sum = -FilmPosterior(data, with(fixed, p)).log_marginal_likelihood();
    for (std::size_t k = 0; k < p.size(); ++k)
        sum += 0.5 * squared((p[k] - std::log(scale_priors[k].median)) / scale_priors[k].log_sd);
    return sum;
}

LogScales best_of_grid(const std::vector<FilmDatum>& data, const FilmScales& fixed) {
    LogScales best{};
    double least = INFINITY;
    for (const double length : {0.06, 0.12, 0.24, 0.48, 0.9})
        for (const double signal : {0.01, 0.03, 0.1, 0.3, 0.9})
            for (const double texture : {0.006, 0.015, 0.04}) {
                const LogScales p{std::log(length), std::log(signal), std::log(texture)};
                const double value = unlikelihood(data, fixed, p);
                if (value < least) least = value, best = p;
            }
    return best;
}

/// Nelder and Mead (1965) with the usual coefficients 1, 2, 1/2, 1/2; points outside the bounds are put on
/// them.
template <class Function> LogScales simplex_minimum(const Function& f, const LogScales& start, double step) {
    struct Vertex {
        LogScales at;
        double value;
    };
    const auto vertex = [&](const LogScales& p) { return Vertex{clamped(p), f(clamped(p))}; };
    std::array<Vertex, 4> simplex;
    simplex[0] = vertex(start);
    for (std::size_t k = 0; k < 3; ++k) {
        LogScales p = start;
        p[k] += p[k] + step > std::log(scale_priors[k].high) ? -step : step;
        simplex[k + 1] = vertex(p);
    }
    constexpr int most_rounds = 80;
    constexpr double close_enough = 1e-5; // of a log likelihood
    for (int round = 0; round < most_rounds; ++round) {
        std::stable_sort(simplex.begin(), simplex.end(),
                         [](const Vertex& a, const Vertex& b) { return a.value < b.value; });
        Vertex& worst = simplex[3];
        if (worst.value - simplex[0].value < close_enough) break;
        const auto along = [&](double share) { // 0: the middle of the others, 1: the worst
            LogScales p{};
            for (std::size_t k = 0; k < 3; ++k) {
                const double middle = (simplex[0].at[k] + simplex[1].at[k] + simplex[2].at[k]) / 3;
                p[k] = middle + share * (worst.at[k] - middle);
            }
            return vertex(p);
        };
        const Vertex reflected = along(-1);
        if (reflected.value < simplex[0].value) {
            const Vertex further = along(-2);
            worst = further.value < reflected.value ? further : reflected;
        } else if (reflected.value < simplex[2].value) {
            worst = reflected;
        } else {
            const Vertex between = along(reflected.value < worst.value ? -0.5 : 0.5);
            if (between.value < std::min(reflected.value, worst.value)) {
                worst = between;
            } else {
                for (std::size_t v = 1; v < 4; ++v) {
                    LogScales p{};
                    for (std::size_t k = 0; k < 3; ++k) p[k] = 0.5 * (simplex[0].at[k] + simplex[v].at[k]);
                    simplex[v] = vertex(p);
                }
            }
        }
    }
    return std::min_element(simplex.begin(), simplex.end(),
                            [](const Vertex& a, const Vertex& b) { return a.value < b.value; })
        ->at;
}

} // namespace

FilmScales likeliest_scales(const std::vector<FilmDatum>& data, FilmScales scales) {
    // The grid only has to find the right hill, for which part of many readings will do.
    constexpr std::size_t enough = 120;
    std::vector<FilmDatum> some;
    for (std::size_t k = 0, every = (data.size() + enough - 1) / enough; k < data.size(); k += every)
        some.push_back(data[k]);
    const LogScales start = best_of_grid(some, scales);
    return with(scales, simplex_minimum([&](const LogScales& p) { return unlikelihood(data, scales, p); },
                                        start, 0.35));
}

} // namespace sparecoat::panel
