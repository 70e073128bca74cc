#pragma once
// The nodes over which learning sums, and what it does with densities on them.
#include "decide/learning.hpp"
#include <cstddef>
#include <limits>
#include <span>
#include <vector>

namespace sparecoat::decide::bayes {

// All densities are kept as logarithms: two gauges that contradict each other leave every node with a
// probability that a double cannot hold, and the answer has to be said all the same.

/// -infinity is the logarithm of what cannot be.
inline constexpr double infinity = std::numeric_limits<double>::infinity();

/// ln of a sum of terms that are given as logarithms.
double ln_sum(std::span<const double> ln_terms);

/// Turns logarithms of weights into weights that sum to 1.
std::vector<double> normalised(std::vector<double> ln_weight);

/// Rows of columns, row by row: a function of the cut and the depth.
struct Table {
    std::size_t rows = 0, columns = 0;
    std::vector<double> value;
    Table(std::size_t r, std::size_t c, double fill = 0) : rows(r), columns(c), value(r * c, fill) {}
    double* row(std::size_t r) { return value.data() + r * columns; }
    const double* row(std::size_t r) const { return value.data() + r * columns; }
    Table& operator+=(const Table& other) {
        for (std::size_t k = 0; k < value.size(); ++k) value[k] += other.value[k];
        return *this;
    }
};

// Hand, softness and what differs between squares share one step, so that their sums are nodes again:
//     cut c = h + s_p      rows 0 .. 2 (hand + soft)
//     of a square, c + e   rows 0 .. 2 (hand + soft + own)
// each axis from -n to n steps around 0, n the number below.

struct Nodes {
    double cut_step = 0, depth_step = 0;
    std::size_t hand = 0, soft = 0, own = 0, depth = 0;

    std::size_t cut() const { return hand + soft; }
    std::size_t square() const { return cut() + own; }
    double cut_at(std::size_t row) const { return place(row, square(), cut_step); }
    double depth_at(std::size_t column) const { return place(column, depth, depth_step); }

    static std::size_t count(std::size_t half) { return 2 * half + 1; }
    static double place(std::size_t k, std::size_t half, double step) {
        return (static_cast<double>(k) - static_cast<double>(half)) * step;
    }
};

/// As fine as the narrowest of priors and looks asks for.
Nodes nodes_for(const Evidence& evidence, const LearningTerms& terms);

/// ln of the weights of N(0, sd²) on 2 half + 1 nodes.
std::vector<double> ln_normal(std::size_t half, double step, double sd);

Belief1 belief(std::vector<double> ln_weight, std::size_t half, double step);

/// ln of the sum over e of exp(ln_kernel(e) + in(row + e)), rows counted so that row 0 of the outcome meets
/// the kernel's end at row `first` of the input; rows beyond the input count nothing.
Table smeared(const Table& in, std::span<const double> ln_kernel, std::size_t rows, std::ptrdiff_t first);

} // namespace sparecoat::decide::bayes
