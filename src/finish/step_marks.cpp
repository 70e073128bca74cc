#include "finish/step_marks.hpp"
#include "finish/clearing.hpp"
#include <cmath>
#include <stdexcept>

namespace sparecoat::finish {
namespace {

/// Depth left, as a share of the median: a population under it shows in no figure.
constexpr double nothing_left = 1e-9;

bool spent(const Marks& marks) {
    const double left = depth_moment(marks.made, 1, marks.worn_um) -
                        marks.worn_um * depth_moment(marks.made, 0, marks.worn_um);
    return left * marks.share < nothing_left * marks.made.depth_um;
}

} // namespace

double work_since_fresh_j(const ArmPath& path, std::span<const StepReport> trace) {
    double work_j = 0;
    for (std::size_t k = 0; k < trace.size(); ++k) {
        if (k < path.samples.size() && path.samples[k].recharge) work_j = 0;
        work_j += trace[k].friction_power_w * trace[k].dt_s;
    }
    return work_j;
}

double grain_at_end_m(const Liquid& liquid, const Pad& pad, double work_j) {
    Abrasive abrasive(liquid, pad, 1);
    abrasive.use(work_j, 0, 0);
    return abrasive.size_m();
}

MarkPopulation step_marks(const Liquid& liquid, const Pad& pad, double work_j, double softness) {
    const double depth_m = (liquid.paper ? paper_groove_per_grain : groove_per_grain) *
                           grain_at_end_m(liquid, pad, work_j) * std::sqrt(pad.cut_factor * softness);
    MarkPopulation own;
    own.kind = liquid.paper ? MarkKind::sanding : MarkKind::haze;
    own.depth_um = depth_m * 1e6;
    own.depth_sd = groove_depth_sd;
    own.width_m = groove_width_per_depth * depth_m;
    own.length_m = 2 * pad.radius_m; // as far as a grain gets before pad and orbit turn it off its line
    const double grooves_per_m = liquid.paper ? 1 / own.width_m : liquid_grooves_per_m2 * depth_m;
    own.per_m2 = grooves_per_m / own.length_m;
    return own;
}

double marks_made(const MarkPopulation& own, double removed_um) {
    return -std::expm1(-removed_um / own.depth_um);
}

std::vector<Marks> after_step(std::vector<Marks> before, const MarkPopulation& own, double removed_um) {
    for (Marks& marks : before) marks.worn_um += removed_um;
    std::erase_if(before, spent);
    if (removed_um > 0) before.push_back({own, 0, marks_made(own, removed_um)});
    return before;
}

MarkedPanel::MarkedPanel(const Panel& panel, std::span<const MarkPopulation> defects) : panel_(&panel) {
    const std::size_t cells = panel.grid.cells();
    for (const MarkPopulation& population : defects) {
        Layer layer{population, std::vector<float>(cells, 0.0f), std::vector<float>(cells, 0.0f)};
        const std::vector<std::uint8_t> there = cells_of_region(panel, population.region);
        for (std::size_t k = 0; k < cells; ++k) layer.share[k] = there[k] ? 1.0f : 0.0f;
        layers_.push_back(std::move(layer));
    }
}

void MarkedPanel::step(std::span<const float> removed_um, const MarkPopulation& own) {
    const std::size_t cells = panel_->grid.cells();
    if (removed_um.size() != cells) throw std::invalid_argument("as many values as the panel has cells");
    for (Layer& layer : layers_)
        for (std::size_t k = 0; k < cells; ++k) layer.worn_um[k] += removed_um[k];
    Layer made{own, std::vector<float>(cells, 0.0f), std::vector<float>(cells, 0.0f)};
    for (std::size_t k = 0; k < cells; ++k)
        if (panel_->inside[k])
            made.share[k] = static_cast<float>(marks_made(own, static_cast<double>(removed_um[k])));
    layers_.push_back(std::move(made));
}

std::vector<Marks> MarkedPanel::at(std::size_t cell) const {
    std::vector<Marks> marks;
    for (const Layer& layer : layers_) {
        const Marks here{layer.made, static_cast<double>(layer.worn_um[cell]),
                         static_cast<double>(layer.share[cell])};
        if (here.share > 0 && !spent(here)) marks.push_back(here);
    }
    return marks;
}

} // namespace sparecoat::finish
