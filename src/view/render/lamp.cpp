#include "view/render/lamp.hpp"
#include "finish/clearing.hpp"
#include "view/render/scene.hpp"
#include <algorithm>
#include <array>
#include <cmath>
#include <stdexcept>
#include <string>

namespace sparecoat::view {
namespace {

constexpr std::array show_words{"before", "after", "half"};

/// Of the marks, how many lines a step's own may be: they are faint, and what they do together is a veil.
constexpr std::size_t most_own_marks = 8'000;

/// -ln of the mirror's share as one population leaves it, where all of it is there.
float lost_to(const MarkPopulation& made, double worn_um) {
    const Marks marks{made, worn_um, 1};
    return static_cast<float>(-std::log(std::max(1e-12, mirror_share(std::span(&marks, 1), 0))));
}

/// Of what a population of lines takes from the mirror, the part that goes into a veil instead of lines that
/// are drawn: what marks throw that are thinned out or too shallow to be seen singly. It is half of what is
/// taken: a groove throws about the light that falls on it, and its shadow, which takes as much again, throws
/// none.
float share_unseen(const MarkPopulation& made, double stands_for) {
    if (!made_of_lines(made.kind)) return 0;
    const double drawn = depth_moment(made, 1, visible_um) / depth_moment(made, 1, 0) / stands_for;
    return static_cast<float>(0.5 * (1 - drawn));
}

} // namespace

std::string_view name_of(LampShow show) { return show_words[static_cast<std::size_t>(show)]; }

LampShow lamp_show(std::string_view word) {
    const auto found = std::ranges::find(show_words, word);
    if (found == show_words.end())
        throw std::invalid_argument("\"" + std::string(word) + "\" is not a way to show the paint");
    return static_cast<LampShow>(found - show_words.begin());
}

// ---- the lamp's place ------------------------------------------------------------------------------

Point2 open_place(const Panel& panel) {
    const Grid& grid = panel.grid;
    const Point2 middle = 0.5 * (grid.centre(0) + grid.centre(grid.cells() - 1));
    Point2 best = middle;
    double most = -INFINITY;
    for (std::size_t k = 0; k < grid.cells(); ++k) {
        const double worth =
            static_cast<double>(panel.edge_distance_m[k]) - 0.3 * norm(grid.centre(k) - middle);
        if (panel.inside[k] && worth > most) most = worth, best = grid.centre(k);
    }
    return best;
}

glm::vec3 lamp_mirrored_at(const Panel& panel, Point2 at, glm::vec3 eye, double height_m) {
    const glm::vec3 here(at.x, at.y, height_at(panel, at));
    const glm::vec3 normal = normal_at(panel, at);
    glm::vec3 towards = glm::reflect(glm::normalize(here - eye), normal);
    // From a flat view of a steep place the image may lie below the horizon: the lamp stays over the panel.
    constexpr float lowest = 0.15f;
    towards.z = std::max(towards.z, lowest);
    return here + towards * (static_cast<float>(height_m) / towards.z);
}

Point2 lamp_image(const Panel& panel, glm::vec3 lamp, glm::vec3 eye) {
    // Cell by cell, a few apart, then closer in round the best.
    const Grid& grid = panel.grid;
    const auto off = [&](std::size_t k, Point2 at) {
        const glm::vec3 here(at.x, at.y, panel.height_m[k]);
        const glm::vec3 half = glm::normalize(glm::normalize(lamp - here) + glm::normalize(eye - here));
        return 1 - glm::dot(half, normal_at(panel, at));
    };
    Point2 best = grid.centre(0);
    float least = 1e9f;
    const auto search = [&](int i0, int i1, int j0, int j1, int step) {
        int at_i = i0, at_j = j0;
        for (int j = std::max(0, j0); j <= std::min(grid.nv - 1, j1); j += step)
            for (int i = std::max(0, i0); i <= std::min(grid.nu - 1, i1); i += step) {
                const std::size_t k = grid.index(i, j);
                if (!panel.inside[k]) continue;
                if (const float here = off(k, grid.centre(k)); here < least)
                    least = here, best = grid.centre(k), at_i = i, at_j = j;
            }
        return std::pair{at_i, at_j};
    };
    constexpr int coarse = 8;
    const auto [i, j] = search(0, grid.nu - 1, 0, grid.nv - 1, coarse);
    search(i - coarse, i + coarse, j - coarse, j + coarse, 1);
    return best;
}

// ---- marks -----------------------------------------------------------------------------------------

double groove_slope(double depth_um, double width_m) {
    // Flanks rise by the depth over half the width; worn as they are their slopes lie evenly between none and
    // that, which makes a standard deviation of a third of its square. A narrow groove spreads light besides:
    // a slit's first dark fringe is at wavelength/width, which the half vector sees halved; half of that
    // again stands for its deviation.
    const double flank = 2 * depth_um * 1e-6 / width_m, fringe = gloss_wavelength_m / width_m;
    return std::sqrt(flank * flank / 3 + fringe * fringe / 16);
}

LampMarks::LampMarks(const Panel& panel, std::span<const MarkPopulation> defects, const MarkPopulation& own,
                     std::uint64_t seed, std::size_t most)
    : defects_(defects.begin(), defects.end()), own_(own), scattered_(scatter(panel, defects, seed, most)),
      own_scattered_(scatter(panel, std::span(&own, 1), seed + 1, most_own_marks)) {
    double lost_sum = 0, slope_sum = 0;
    const auto count_in = [&](const MarkPopulation& made, double unseen) {
        slope_sum += unseen * groove_slope(made.depth_um, made.width_m);
        lost_sum += unseen;
    };
    for (std::size_t n = 0; n < defects_.size(); ++n) {
        const MarkPopulation& made = defects_[n];
        Layer layer;
        if (!made.region.empty()) layer.there = cells_of_region(panel, made.region);
        // Etched spots and chips are drawn one by one and dull what they cover themselves.
        layer.lost.assign(table_size, 0.0f);
        if (made_of_lines(made.kind))
            for (int k = 0; k < table_size; ++k) {
                const double root = static_cast<double>(k) / (table_size - 1);
                layer.lost[static_cast<std::size_t>(k)] =
                    lost_to(made, root * root * static_cast<double>(table_end_um));
            }
        layer.unseen = share_unseen(made, scattered_.stands_for[n]);
        count_in(made, static_cast<double>(layer.unseen * layer.lost.front()));
        layers_.push_back(std::move(layer));
    }
    if (own_.per_m2 > 0) count_in(own_, static_cast<double>(lost_to_own(own_).unseen));
    if (lost_sum > 0) veil_slope_ = slope_sum / lost_sum;
}

LampMarks::Lost LampMarks::lost_to_defects(std::size_t cell, float worn_um) const {
    Lost lost;
    const float at = std::sqrt(std::clamp(worn_um / table_end_um, 0.0f, 1.0f)) * (table_size - 1);
    const auto k = std::min(static_cast<std::size_t>(at), static_cast<std::size_t>(table_size - 2));
    const float share = at - static_cast<float>(k);
    for (const Layer& layer : layers_) {
        if (!layer.there.empty() && !layer.there[cell]) continue;
        const float here = (1 - share) * layer.lost[k] + share * layer.lost[k + 1];
        lost.all += here;
        lost.unseen += layer.unseen * here;
    }
    return lost;
}

LampMarks::Lost LampMarks::lost_to_own(const MarkPopulation& own) const {
    if (!(own.per_m2 > 0)) return {};
    const float all = lost_to(own, 0);
    return {all, share_unseen(own, own_scattered_.stands_for.front()) * all};
}

// ---- cells -----------------------------------------------------------------------------------------

std::vector<Tile> LampCells::update(const Panel& panel, const std::shared_ptr<const LampMarks>& marks,
                                    std::span<const float> removed_um, const MarkPopulation& own,
                                    const LampState& lamp, const std::vector<Tile>& tiles) {
    constexpr double seen = 0.03; // of the step's own depth: less is not
    const Grid& grid = panel.grid;
    const bool other_own = std::abs(own.depth_um - own_.depth_um) > seen * own_.depth_um;
    const bool moved = lamp.show == LampShow::half && lamp.half_at_m != half_at_m_;
    const bool all =
        marks != marks_ || cells_.size() != grid.cells() || show_ != lamp.show || moved || other_own;
    if (all) {
        marks_ = marks;
        cells_.assign(grid.cells(), LampCell(0, 0, 1, 0));
        show_ = lamp.show, half_at_m_ = lamp.half_at_m;
        own_ = own;
        own_scale_ =
            marks->own().depth_um > 0 ? static_cast<float>(own.depth_um / marks->own().depth_um) : 1.0f;
    }
    const LampMarks::Lost own_lost = marks->lost_to_own(own_);
    const std::vector<Tile> changed = all ? all_tiles(grid) : tiles;
    for (const Tile tile : changed) {
        const int i1 = std::min(grid.nu, (tile.i + 1) * Tile::side),
                  j1 = std::min(grid.nv, (tile.j + 1) * Tile::side);
        for (int j = tile.j * Tile::side; j < j1; ++j)
            for (int i = tile.i * Tile::side; i < i1; ++i) {
                const std::size_t k = grid.index(i, j);
                if (!panel.inside[k]) continue;
                const bool worked = lamp.show == LampShow::after ||
                                    (lamp.show == LampShow::half && grid.x(i) >= lamp.half_at_m);
                const float worn = worked ? removed_um[k] : 0.0f;
                const auto made = worn > 0 && own_.depth_um > 0
                                      ? static_cast<float>(marks_made(own_, static_cast<double>(worn)))
                                      : 0.0f;
                const LampMarks::Lost lost = marks->lost_to_defects(k, worn);
                cells_[k] = {worn, made * own_scale_, std::exp(-lost.all - made * own_lost.all),
                             1 - std::exp(-lost.unseen - made * own_lost.unseen)};
            }
    }
    return changed;
}

} // namespace sparecoat::view
