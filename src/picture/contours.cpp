#include "picture/contours.hpp"
#include <array>
#include <cmath>
#include <stdexcept>

namespace sparecoat::picture {
namespace {

// Every side between two neighbouring cell centres has a number: 2k for the one that runs along u from
// cell k, 2k + 1 for the one along v. A line crosses a side at most once and is written down as
// `next[side]`: the side where it goes on. The high ground is kept on the left, so each side has at
// most one successor and one predecessor, and joining is following.
class Tracer {
public:
    Tracer(const Grid& grid, std::span<const float> field, const std::vector<std::uint8_t>& known)
        : grid_(grid), field_(field), known_(known), next_(2 * grid.cells()), entered_(2 * grid.cells()) {}

    void trace(double level, std::vector<Contour>& out) {
        level_ = level;
        next_.assign(next_.size(), none);
        entered_.assign(entered_.size(), 0);
        for (int j = 0; j + 1 < grid_.nv; ++j)
            for (int i = 0; i + 1 < grid_.nu; ++i) cross_square(i, j);
        for (std::size_t side = 0; side < next_.size(); ++side)
            if (next_[side] != none && !entered_[side]) follow(side, false, out);
        for (std::size_t side = 0; side < next_.size(); ++side)
            if (next_[side] != none) follow(side, true, out);
    }

private:
    static constexpr std::size_t none = static_cast<std::size_t>(-1);

    void cross_square(int i, int j) {
        const std::array<std::size_t, 4> corner = {grid_.index(i, j), grid_.index(i + 1, j),
                                                   grid_.index(i + 1, j + 1), grid_.index(i, j + 1)};
        std::array<bool, 4> high{};
        double sum = 0;
        int highs = 0;
        for (std::size_t n = 0; n < 4; ++n) {
            if (!known_[corner[n]]) return;
            const double value = static_cast<double>(field_[corner[n]]);
            high[n] = value >= level_;
            highs += high[n] ? 1 : 0;
            sum += value;
        }
        if (highs == 0 || highs == 4) return;

        // Sides counter-clockwise from the lower one. Walking round, the line starts where the ground
        // falls below the level and ends where it rises again.
        const std::array<std::size_t, 4> side = {2 * corner[0], 2 * corner[1] + 1, 2 * corner[3],
                                                 2 * corner[0] + 1};
        const auto falls = [&](std::size_t n) { return high[n] && !high[(n + 1) % 4]; };
        const auto rises = [&](std::size_t n) { return !high[n] && high[(n + 1) % 4]; };
        const bool saddle = highs == 2 && high[0] == high[2];
        const bool joined = sum / 4 >= level_;
        for (std::size_t n = 0; n < 4; ++n) {
            if (!falls(n)) continue;
            std::size_t end = (n + 1) % 4;
            // A saddle whose middle is high keeps its two high corners together: each line turns
            // round a low corner, which is the next side; else round a high one, the side before.
            if (saddle) end = joined ? (n + 1) % 4 : (n + 3) % 4;
            else
                while (!rises(end)) end = (end + 1) % 4;
            next_[side[n]] = side[end];
            entered_[side[end]] = 1;
        }
    }

    Point2 crossing(std::size_t side) const {
        const std::size_t from = side / 2;
        const bool along_v = side % 2 != 0;
        const std::size_t to = from + (along_v ? static_cast<std::size_t>(grid_.nu) : 1);
        const double a = static_cast<double>(field_[from]), b = static_cast<double>(field_[to]);
        const double step = grid_.h_m * (level_ - a) / (b - a); // a and b lie on either side of the level
        const Point2 p = grid_.centre(from);
        return along_v ? Point2{p.x, p.y + step} : Point2{p.x + step, p.y};
    }

    void follow(std::size_t side, bool closed, std::vector<Contour>& out) {
        Contour line{level_, {}, closed};
        const auto add = [&](Point2 p) {
            // A cell centre exactly at the level is met by several sides at the same point.
            if (line.points.empty() || norm(p - line.points.back()) > 1e-9 * grid_.h_m)
                line.points.push_back(p);
        };
        while (side != none && next_[side] != none) {
            add(crossing(side));
            const std::size_t after = next_[side];
            next_[side] = none;
            side = after;
        }
        if (!closed && side != none) add(crossing(side));
        if (closed && line.points.size() > 1 &&
            norm(line.points.front() - line.points.back()) <= 1e-9 * grid_.h_m)
            line.points.pop_back();
        if (line.points.size() >= (closed ? 3u : 2u)) out.push_back(std::move(line));
    }

    const Grid& grid_;
    std::span<const float> field_;
    const std::vector<std::uint8_t>& known_;
    double level_ = 0;
    std::vector<std::size_t> next_;
    std::vector<std::uint8_t> entered_;
};

} // namespace

std::vector<Contour> trace_contours(const Grid& grid, std::span<const float> field,
                                    std::span<const std::uint8_t> inside, std::span<const double> levels) {
    if (field.size() != grid.cells() || inside.size() != grid.cells())
        throw std::invalid_argument("trace_contours: field and mask need one entry a cell");
    std::vector<std::uint8_t> known(grid.cells());
    for (std::size_t k = 0; k < known.size(); ++k) known[k] = inside[k] != 0 && std::isfinite(field[k]);

    std::vector<Contour> lines;
    Tracer tracer(grid, field, known);
    for (const double level : levels) tracer.trace(level, lines);
    return lines;
}

} // namespace sparecoat::picture
