#include "decide/chance.hpp"
#include "units/quantity.hpp"
#include <algorithm>
#include <cmath>
#include <limits>
#include <stdexcept>

namespace sparecoat::decide {
namespace {

/// The normal distribution function from a table: it is asked for by the hundred million. Straight lines
/// between values h apart are off by h² / 8 times the largest slope of the density, 0.24: 3e-7.
class NormalTable {
public:
    NormalTable() {
        for (std::size_t k = 0; k < values_.size(); ++k)
            values_[k] = 0.5 * std::erfc((far - static_cast<double>(k) / per_unit) / std::sqrt(2.0));
    }
    double at(double z) const {
        const double place = (z + far) * per_unit;
        if (!(place > 0)) return 0;
        const auto k = static_cast<std::size_t>(place);
        if (k + 1 >= values_.size()) return 1;
        const double share = place - static_cast<double>(k);
        return (1 - share) * values_[k] + share * values_[k + 1];
    }

private:
    static constexpr double far = 6, per_unit = 320;
    std::array<double, static_cast<std::size_t>(2 * far * per_unit) + 1> values_{};
};

double normal_cdf(double z) {
    static const NormalTable table;
    return table.at(z);
}

/// A cut this many standard deviations above the middle stands for the worst there is.
constexpr double most_deviations = 5;
/// Between the nodes of the four rules, in standard deviations.
double node_step(std::size_t rule) { return std::ldexp(1.0, -static_cast<int>(rule)); }
/// Force and dwell of one draw, at the most, over those as meant.
constexpr float most_of_a_draw = 2;

/// The largest value within `reach` cells along both axes.
std::vector<float> widened(const Grid& grid, std::span<const float> values, int reach) {
    const auto along = [&](const std::vector<float>& in, int count, int lines, auto index) {
        std::vector<float> out(in.size());
        for (int line = 0; line < lines; ++line)
            for (int at = 0; at < count; ++at) {
                float most = 0;
                for (int k = std::max(0, at - reach); k <= std::min(count - 1, at + reach); ++k)
                    most = std::max(most, in[index(k, line)]);
                out[index(at, line)] = most;
            }
        return out;
    };
    const std::vector<float> rows = along({values.begin(), values.end()}, grid.nu, grid.nv,
                                          [&](int i, int j) { return grid.index(i, j); });
    return along(rows, grid.nv, grid.nu, [&](int j, int i) { return grid.index(i, j); });
}

} // namespace

// ---- one cell ---------------------------------------------------------------------------------------

CellChance::CellChance(const ChanceTerms& terms) : reserve_um_(terms.reserve_um), cut_sd_(terms.cut_sd) {
    for (std::size_t k = 0; k < weights_.size(); ++k) {
        double sum = 0;
        for (double z = -most_deviations; z <= most_deviations + 1e-9; z += node_step(k)) {
            weights_[k].push_back(std::exp(-0.5 * z * z));
            sum += weights_[k].back();
        }
        for (double& weight : weights_[k]) weight /= sum;
    }
}

double CellChance::at(double clear_um, double sd_um, double removed_um, double loss_sd) const {
    if (removed_um <= 0) return 0;
    const double spare_um = clear_um - reserve_um_;
    if (sd_um <= 0) { // the film is known, the cut decides
        if (spare_um <= 0) return 1;
        return loss_sd > 0 ? normal_cdf(std::log(removed_um / spare_um) / loss_sd) : removed_um > spare_um;
    }
    const double width = sd_um / (loss_sd * removed_um);
    const std::size_t finer = width >= 2 ? 0 : width >= 1 ? 1 : width >= 0.5 ? 2 : 3;
    // Losses at the nodes are a geometric sequence.
    double lost_um = removed_um * std::exp(-most_deviations * loss_sd);
    const double ratio = std::exp(node_step(finer) * loss_sd);
    double sum = 0;
    for (const double weight : weights_[finer]) {
        sum += weight * normal_cdf((lost_um - spare_um) / sd_um);
        lost_um *= ratio;
    }
    return sum;
}

bool CellChance::safe(double clear_um, double sd_um, double removed_um, double loss_sd) const {
    return clear_um - reserve_um_ - std::exp(most_deviations * loss_sd) * removed_um > 5.2 * sd_um;
}

double CellChance::thin_before(double clear_um, double sd_um) const {
    if (sd_um <= 0) return clear_um < reserve_um_ ? 1 : 0;
    return normal_cdf((reserve_um_ - clear_um) / sd_um);
}

double LossDoubt::sd_at(std::size_t cell) const {
    double taken = 0, by_pressure = 0, by_speed = 0;
    for (const Step& step : steps_) {
        const auto time_s = static_cast<double>(step.fields->contact_time_s[cell]),
                   pressed = static_cast<double>(step.fields->pressure_time_pa_s[cell]),
                   rubbed = static_cast<double>(step.fields->friction_path_pa_m[cell]),
                   removed = step.times * static_cast<double>(step.fields->removed_um[cell]);
        if (!(removed > 0 && pressed > 0 && rubbed > 0)) continue;
        taken += removed;
        by_pressure += removed * step.liquid->pressure_exponent_sd *
                       std::log(pressed / time_s / Liquid::usual_pressure_pa);
        by_speed +=
            removed * step.liquid->speed_exponent_sd * std::log(rubbed / pressed / Liquid::usual_speed_m_s);
    }
    return taken > 0 ? std::hypot(cut_sd_, by_pressure / taken, by_speed / taken) : cut_sd_;
}

// ---- from coarse to fine ----------------------------------------------------------------------------

Refinement::Refinement(const Panel& coarse, const Panel& fine) : stencils_(fine.grid.cells()) {
    const Grid& g = coarse.grid;
    for (std::size_t k = 0; k < stencils_.size(); ++k) {
        if (!fine.inside[k]) continue;
        const Point2 at = fine.grid.centre(k);
        const double u = (at.x - g.x0_m) / g.h_m, v = (at.y - g.y0_m) / g.h_m;
        const int i = static_cast<int>(std::floor(u)), j = static_cast<int>(std::floor(v));
        const auto fu = static_cast<float>(u - i), fv = static_cast<float>(v - j);
        Stencil& stencil = stencils_[k];
        const auto gather = [&](int reach, auto weight_of) {
            std::size_t taken = 0;
            float sum = 0;
            for (int dj = 1 - reach; dj <= reach; ++dj)
                for (int di = 1 - reach; di <= reach; ++di) {
                    const int ci = i + di, cj = j + dj;
                    if (ci < 0 || cj < 0 || ci >= g.nu || cj >= g.nv || !coarse.inside[g.index(ci, cj)])
                        continue;
                    const float weight = weight_of(di, dj);
                    if (weight <= 0 || taken == 4) continue;
                    stencil.cell[taken] = static_cast<std::uint32_t>(g.index(ci, cj));
                    stencil.weight[taken++] = weight;
                    sum += weight;
                }
            for (float& weight : stencil.weight) weight = sum > 0 ? weight / sum : 0;
            return sum > 0;
        };
        const auto bilinear = [&](int di, int dj) { return (di ? fu : 1 - fu) * (dj ? fv : 1 - fv); };
        if (gather(1, bilinear)) continue;
        // A corner that no coarse cell's centre is near: the mean of up to four within two cells.
        gather(2, [](int, int) { return 1.0f; });
    }
}

// ---- the tally --------------------------------------------------------------------------------------

ChanceTally::ChanceTally(const DrawContext& ground, const ChanceTerms& terms)
    : ground_(ground), cell_(terms) {
    const Panel& fine = *ground_.fine;
    const int reach = static_cast<int>(std::ceil(ground_.reach_m / ground_.coarse->grid.h_m));
    const std::vector<float> most = widened(ground_.coarse->grid, ground_.steady_coarse_um, reach);
    for (std::size_t k = 0; k < fine.grid.cells(); ++k) {
        if (!fine.inside[k]) continue;
        const float steady = ground_.steady_fine->removed_um[k];
        const float bound = static_cast<float>(ground_.times) * most_of_a_draw *
                            std::max(steady, ground_.refine->at(k, most));
        if (!(bound > 0)) continue;
        const double loss_sd = ground_.doubt ? ground_.doubt->sd_at(k) : terms.cut_sd;
        if (cell_.safe(static_cast<double>(fine.clear_um[k]), static_cast<double>(fine.clear_sd_um[k]),
                       static_cast<double>(bound), loss_sd))
            continue;
        cells_.push_back(static_cast<std::uint32_t>(k));
        loss_sd_.push_back(loss_sd);
    }
    sum_.assign(cells_.size(), 0), squares_.assign(cells_.size(), 0), removed_.assign(cells_.size(), 0);
}

void ChanceTally::add(std::span<const float> drawn, std::span<const float> mirrored) {
    const Panel& fine = *ground_.fine;
    for (std::size_t n = 0; n < cells_.size(); ++n) {
        const std::size_t k = cells_[n];
        const double steady = static_cast<double>(ground_.steady_fine->removed_um[k]);
        const double carried = static_cast<double>(ground_.refine->at(k, ground_.steady_coarse_um));
        const double clear = static_cast<double>(fine.clear_um[k]),
                     sd = static_cast<double>(fine.clear_sd_um[k]);
        const double cold = static_cast<double>(ground_.steady_fine->removed_cold_um[k]);
        const double heat = cold > 0 ? steady / cold : 1;
        double chance = 0;
        for (const std::span<const float> draw : {drawn, mirrored}) {
            const double deviation = static_cast<double>(ground_.refine->at(k, draw)) - carried;
            const double removed = ground_.times * std::max(0.0, steady + heat * deviation);
            chance += 0.5 * cell_.at(clear, sd, removed, loss_sd_[n]);
            removed_[n] += static_cast<float>(0.5 * removed);
        }
        sum_[n] += chance;
        squares_[n] += chance * chance;
    }
    ++pairs_;
}

void ChanceTally::merge(const ChanceTally& other) {
    if (other.cells_.size() != cells_.size()) throw std::logic_error("tallies of different runs");
    for (std::size_t n = 0; n < cells_.size(); ++n) {
        sum_[n] += other.sum_[n];
        squares_[n] += other.squares_[n];
        removed_[n] += other.removed_[n];
    }
    pairs_ += other.pairs_;
}

template <class Value> std::vector<float> ChanceTally::per_cell(Value value) const {
    const Panel& fine = *ground_.fine;
    std::vector<float> out(fine.grid.cells(), std::numeric_limits<float>::quiet_NaN());
    for (std::size_t k = 0; k < out.size(); ++k)
        if (fine.inside[k]) out[k] = 0;
    for (std::size_t n = 0; n < cells_.size(); ++n) out[cells_[n]] = static_cast<float>(value(n));
    return out;
}

std::vector<float> ChanceTally::chance() const {
    return per_cell([&](std::size_t n) { return pairs_ > 0 ? sum_[n] / pairs_ : 0; });
}

std::vector<float> ChanceTally::standard_error() const {
    return per_cell([&](std::size_t n) {
        if (pairs_ < 2) return 0.0;
        const double mean = sum_[n] / pairs_;
        return std::sqrt(std::max(0.0, squares_[n] / pairs_ - mean * mean) / (pairs_ - 1));
    });
}

std::vector<float> ChanceTally::mean_removed_um() const {
    std::vector<float> out = ground_.steady_fine->removed_um;
    for (std::size_t n = 0; n < cells_.size(); ++n)
        if (pairs_ > 0) out[cells_[n]] = removed_[n] / static_cast<float>(pairs_);
    return out;
}

// ---- regions ----------------------------------------------------------------------------------------

std::vector<RegionAtRisk> regions_at_risk(const Panel& panel, const Fields& fields, const OpenPanel& open,
                                          const ChanceTerms& terms, std::span<const float> chance,
                                          std::span<const float> standard_error, double threshold) {
    const Grid& g = panel.grid;
    const CellChance cell_chance(terms);
    std::vector<std::uint8_t> seen(g.cells(), 0);
    const auto at_risk = [&](std::size_t k) {
        return panel.inside[k] && static_cast<double>(chance[k]) >= threshold;
    };
    const int gap = std::max(1, static_cast<int>(std::lround(region_gap_m / g.h_m)));
    std::vector<RegionAtRisk> regions;
    for (std::size_t start = 0; start < g.cells(); ++start) {
        if (seen[start] || !at_risk(start)) continue;
        const PanelFeature ground = feature_at(panel, start);
        RegionAtRisk region;
        region.edge = ground.edge, region.crest = ground.crest;
        std::vector<std::uint32_t>& cells = region.cells;
        cells.push_back(static_cast<std::uint32_t>(start));
        seen[start] = 1;
        for (std::size_t n = 0; n < cells.size(); ++n) {
            const int i = static_cast<int>(cells[n]) % g.nu, j = static_cast<int>(cells[n]) / g.nu;
            for (int nj = std::max(0, j - gap); nj <= std::min(g.nv - 1, j + gap); ++nj)
                for (int ni = std::max(0, i - gap); ni <= std::min(g.nu - 1, i + gap); ++ni) {
                    const std::size_t next = g.index(ni, nj);
                    if (seen[next] || !at_risk(next) || !(feature_at(panel, next) == ground)) continue;
                    seen[next] = 1;
                    cells.push_back(static_cast<std::uint32_t>(next));
                }
        }
        // The spot that stands for it: worked even by a steady hand if any is, so that its factors say why.
        const auto left = [&](std::size_t k) { return panel.clear_um[k] - fields.removed_um[k]; };
        const auto worse = [&](std::size_t a, std::size_t b) {
            const bool a_worked = fields.removed_um[a] > 0, b_worked = fields.removed_um[b] > 0;
            if (a_worked != b_worked) return a_worked;
            if (chance[a] != chance[b]) return chance[a] > chance[b];
            return left(a) != left(b) ? left(a) < left(b) : a < b;
        };
        std::size_t spot = start;
        for (const std::uint32_t k : cells)
            if (worse(k, spot)) spot = k;
        region.spot = describe_spot(panel, fields, open, spot);
        region.chance = static_cast<double>(chance[spot]);
        region.standard_error = static_cast<double>(standard_error[spot]);
        region.thin_before = cell_chance.thin_before(static_cast<double>(panel.clear_um[spot]),
                                                     static_cast<double>(panel.clear_sd_um[spot]));
        region.area_m2 = static_cast<double>(cells.size()) * g.h_m * g.h_m;
        regions.push_back(std::move(region));
    }
    std::stable_sort(regions.begin(), regions.end(), [](const RegionAtRisk& a, const RegionAtRisk& b) {
        return a.chance != b.chance ? a.chance > b.chance : a.area_m2 > b.area_m2;
    });
    return regions;
}

Peak peak_around(const Panel& panel, const RegionAtRisk& region, std::span<const float> chance,
                 std::span<const float> standard_error, double around_m) {
    const Grid& g = panel.grid;
    const int reach = static_cast<int>(std::ceil(around_m / g.h_m));
    std::vector<std::uint8_t> near(g.cells(), 0);
    for (const std::uint32_t k : region.cells) {
        const int i = static_cast<int>(k) % g.nu, j = static_cast<int>(k) / g.nu;
        for (int cj = std::max(0, j - reach); cj <= std::min(g.nv - 1, j + reach); ++cj)
            for (int ci = std::max(0, i - reach); ci <= std::min(g.nu - 1, i + reach); ++ci)
                near[g.index(ci, cj)] = 1;
    }
    const PanelFeature ground{region.edge, region.crest};
    Peak peak;
    for (std::size_t k = 0; k < g.cells(); ++k) {
        if (!near[k] || !panel.inside[k] || !(feature_at(panel, k) == ground)) continue;
        if (static_cast<double>(chance[k]) > peak.chance)
            peak = {static_cast<double>(chance[k]), static_cast<double>(standard_error[k])};
    }
    return peak;
}

} // namespace sparecoat::decide
