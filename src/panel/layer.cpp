#include "panel/panel.hpp"
#include <algorithm>
#include <array>
#include <cmath>
#include <span>

// A spread load is the answer of (1 - l² lap) c = source on the inside cells. Per cell, with h the
// spacing and g = l² / h²,
//   c + sum over inside neighbours of g (c - c_neighbour) = source,
// a symmetric positive matrix whose rows sum to 1: nothing leaves through an edge, and the total is
// kept. It is solved by conjugate gradients; a V-cycle over coarser and coarser grids, in each of
// which a cell stands for 2 x 2 of the finer one, keeps the iterations few whatever g and the outline.

namespace sparecoat::panel {
namespace {

/// A field with a spare row before and after, so that a stencil reads its neighbours without asking
/// where it is; the spare rows stay zero.
class Field {
public:
    Field() = default;
    Field(std::size_t cells, std::size_t row) : row_(row), values_(cells + 2 * row, 0.0f) {}
    float* data() { return values_.data() + row_; }
    const float* data() const { return values_.data() + row_; }
    void swap(Field& other) { values_.swap(other.values_); }

private:
    std::size_t row_ = 0;
    std::vector<float> values_;
};

/// The cells of one row from the first inside one to past the last.
struct Span {
    std::size_t first = 0, last = 0;
};

/// One grid: volume c + sum over faces of conductance (c - c_neighbour) = b.
struct Level {
    std::size_t nu = 0, nv = 0;
    Field volume;           ///< inside cells of the finest grid that a cell stands for
    Field east, north;      ///< conductance of the face to the next cell along u and v; 0 past the edge
    Field inverse_diagonal; ///< 0 outside
    std::vector<Span> rows;
    Field answer, load, spare;

    Level(std::size_t columns, std::size_t lines) : nu(columns), nv(lines) {
        for (Field* field : {&volume, &east, &north, &inverse_diagonal, &answer, &load, &spare})
            *field = Field(nu * nv, nu);
    }

    /// Once volume and conductances stand.
    void finish() {
        rows.resize(nv);
        const float *v = volume.data(), *e = east.data(), *n = north.data();
        float* inverse = inverse_diagonal.data();
        for (std::size_t j = 0; j < nv; ++j) {
            Span& row = rows[j];
            row = {(j + 1) * nu, j * nu};
            for (std::size_t k = j * nu; k < (j + 1) * nu; ++k) {
                if (v[k] == 0) continue;
                inverse[k] = 1 / (v[k] + e[k] + e[k - 1] + n[k] + n[k - nu]);
                row.first = std::min(row.first, k);
                row.last = k + 1;
            }
            row.first = std::min(row.first, row.last);
        }
    }
};

template <class Kernel> // kernel(first, last) over flat cells
void by_rows(const Level& level, Kernel kernel) {
    for (const Span& row : level.rows)
        if (row.first < row.last) kernel(row.first, row.last);
}

/// Left side of the equation at cell k. Differences first: a large conductance times nearly equal
/// values would lose the volume's own term.
struct Stencil {
    const float *volume, *east, *north;
    std::size_t nu;
    explicit Stencil(const Level& level)
        : volume(level.volume.data()), east(level.east.data()), north(level.north.data()), nu(level.nu) {}
    float operator()(const float* x, std::size_t k) const {
        return volume[k] * x[k] + east[k] * (x[k] - x[k + 1]) + east[k - 1] * (x[k] - x[k - 1]) +
               north[k] * (x[k] - x[k + nu]) + north[k - nu] * (x[k] - x[k - nu]);
    }
};

void multiply(const Level& level, const Field& field, Field& result) {
    const Stencil stencil(level);
    const float* x = field.data();
    float* y = result.data();
    by_rows(level, [=](std::size_t first, std::size_t last) {
        for (std::size_t k = first; k < last; ++k) y[k] = stencil(x, k);
    });
}

constexpr float damping = 0.8f; // of Jacobi steps; below 1 keeps the V-cycle positive

/// The first Jacobi step, from zero.
void smooth_from_zero(Level& level) {
    const float *b = level.load.data(), *inverse = level.inverse_diagonal.data();
    float* x = level.answer.data();
    by_rows(level, [=](std::size_t first, std::size_t last) {
        for (std::size_t k = first; k < last; ++k) x[k] = damping * inverse[k] * b[k];
    });
}

void smooth(Level& level) {
    const Stencil stencil(level);
    const float *x = level.answer.data(), *b = level.load.data(), *inverse = level.inverse_diagonal.data();
    float* y = level.spare.data();
    by_rows(level, [=](std::size_t first, std::size_t last) {
        for (std::size_t k = first; k < last; ++k)
            y[k] = x[k] + damping * inverse[k] * (b[k] - stencil(x, k));
    });
    level.answer.swap(level.spare);
}

/// What the answer leaves of the load, added up over the fine cells of each coarse one.
void restrict_residual(const Level& fine, Level& coarse) {
    const Stencil stencil(fine);
    const float *x = fine.answer.data(), *b = fine.load.data();
    float* sum = coarse.load.data();
    std::fill_n(sum, coarse.nu * coarse.nv, 0.0f);
    for (std::size_t j = 0; j < fine.nv; ++j) {
        const Span row = fine.rows[j];
        const std::size_t start = j * fine.nu, coarse_start = (j / 2) * coarse.nu;
        for (std::size_t k = row.first; k < row.last; ++k)
            sum[coarse_start + (k - start) / 2] += b[k] - stencil(x, k);
    }
}

void add_correction(Level& fine, const Level& coarse) {
    const float *correction = coarse.answer.data(), *inverse = fine.inverse_diagonal.data();
    float* x = fine.answer.data();
    for (std::size_t j = 0; j < fine.nv; ++j) {
        const Span row = fine.rows[j];
        const std::size_t start = j * fine.nu, coarse_start = (j / 2) * coarse.nu;
        for (std::size_t k = row.first; k < row.last; ++k)
            x[k] += inverse[k] > 0 ? correction[coarse_start + (k - start) / 2] : 0.0f;
    }
}

/// Volumes add up. So do the faces' conductances, but over twice the distance, which halves them.
Level coarsened(const Level& fine) {
    Level coarse((fine.nu + 1) / 2, (fine.nv + 1) / 2);
    const float *volume = fine.volume.data(), *east = fine.east.data(), *north = fine.north.data();
    for (std::size_t j = 0; j < fine.nv; ++j)
        for (std::size_t i = 0; i < fine.nu; ++i) {
            const std::size_t k = j * fine.nu + i, at = (j / 2) * coarse.nu + i / 2;
            coarse.volume.data()[at] += volume[k];
            if (i % 2 == 1) coarse.east.data()[at] += 0.5f * east[k];
            if (j % 2 == 1) coarse.north.data()[at] += 0.5f * north[k];
        }
    coarse.finish();
    return coarse;
}

class Hierarchy {
public:
    Hierarchy(const Grid& grid, const std::vector<std::uint8_t>& inside, double conductance) {
        Level finest(static_cast<std::size_t>(grid.nu), static_cast<std::size_t>(grid.nv));
        const auto g = static_cast<float>(conductance);
        for (std::size_t j = 0; j < finest.nv; ++j)
            for (std::size_t i = 0; i < finest.nu; ++i) {
                const std::size_t k = j * finest.nu + i;
                if (!inside[k]) continue;
                finest.volume.data()[k] = 1;
                if (i + 1 < finest.nu && inside[k + 1]) finest.east.data()[k] = g;
                if (j + 1 < finest.nv && inside[k + finest.nu]) finest.north.data()[k] = g;
            }
        finest.finish();
        levels_.push_back(std::move(finest));
        // Coarse enough when a cell's own term outweighs its faces: plain Jacobi steps do the rest.
        constexpr double weak = 0.2;
        for (double left = conductance; left > weak && levels_.back().nu * levels_.back().nv > 4; left /= 4)
            levels_.push_back(coarsened(levels_.back()));
    }

    Level& finest() { return levels_.front(); }

    /// answer = an approximate solution for load, by one V-cycle that is symmetric and positive.
    void cycle() {
        const std::size_t coarsest = levels_.size() - 1;
        for (std::size_t depth = 0; depth < coarsest; ++depth) {
            smooth_from_zero(levels_[depth]);
            restrict_residual(levels_[depth], levels_[depth + 1]);
        }
        smooth_from_zero(levels_[coarsest]);
        constexpr int steps = 8;
        for (int step = 0; step < steps; ++step) smooth(levels_[coarsest]);
        for (std::size_t depth = coarsest; depth-- > 0;) {
            add_correction(levels_[depth], levels_[depth + 1]);
            smooth(levels_[depth]);
        }
    }

private:
    std::vector<Level> levels_;
};

/// Sum of products in double. The lanes are part of the definition: the order of the sum is fixed.
double product(const Level& level, const Field& one, const Field& other) {
    constexpr std::size_t lanes = 8;
    std::array<double, lanes> sums{};
    const float *a = one.data(), *b = other.data();
    by_rows(level, [&](std::size_t first, std::size_t last) {
        std::size_t k = first;
        for (; k + lanes <= last; k += lanes)
            for (std::size_t lane = 0; lane < lanes; ++lane)
                sums[lane] += static_cast<double>(a[k + lane]) * static_cast<double>(b[k + lane]);
        for (; k < last; ++k) sums[0] += static_cast<double>(a[k]) * static_cast<double>(b[k]);
    });
    double total = 0;
    for (double sum : sums) total += sum;
    return total;
}

/// y += factor x
void add(const Level& level, float factor, const Field& field, Field& result) {
    const float* x = field.data();
    float* y = result.data();
    by_rows(level, [=](std::size_t first, std::size_t last) {
        for (std::size_t k = first; k < last; ++k) y[k] += factor * x[k];
    });
}

/// p = z + factor p
void redirect(const Level& level, const Field& step, float factor, Field& direction) {
    const float* z = step.data();
    float* p = direction.data();
    by_rows(level, [=](std::size_t first, std::size_t last) {
        for (std::size_t k = first; k < last; ++k) p[k] = z[k] + factor * p[k];
    });
}

} // namespace

std::vector<float> spread_over_layer(const Grid& grid, const std::vector<std::uint8_t>& inside,
                                     const std::vector<float>& source, double decay_length_m) {
    std::vector<float> spread(grid.cells(), 0.0f);
    for (std::size_t k = 0; k < spread.size(); ++k)
        if (inside[k]) spread[k] = source[k];
    const double conductance = (decay_length_m / grid.h_m) * (decay_length_m / grid.h_m);
    constexpr double nothing = 1e-9;
    if (!(conductance > nothing)) return spread;

    Hierarchy hierarchy(grid, inside, conductance);
    Level& level = hierarchy.finest();
    Field& residual = level.load;       // the cycle solves for what is left,
    Field& step = level.answer;         // and its answer is the step to take
    Field& product_field = level.spare; // free between two cycles
    Field solution(grid.cells(), level.nu), direction(grid.cells(), level.nu);
    std::copy(spread.begin(), spread.end(), residual.data());

    constexpr double tolerance = 1e-6; // of the source's norm
    constexpr int most_iterations = 200;
    const double goal = tolerance * tolerance * product(level, residual, residual);
    double progress = 0;
    for (int iteration = 0; iteration < most_iterations && product(level, residual, residual) > goal;
         ++iteration) {
        hierarchy.cycle();
        const double last_progress = progress;
        progress = product(level, residual, step);
        redirect(level, step, iteration == 0 ? 0.0f : static_cast<float>(progress / last_progress),
                 direction);
        multiply(level, direction, product_field);
        const auto length = static_cast<float>(progress / product(level, direction, product_field));
        add(level, length, direction, solution);
        add(level, -length, product_field, residual);
    }
    std::copy_n(solution.data(), spread.size(), spread.begin());
    return spread;
}

} // namespace sparecoat::panel
