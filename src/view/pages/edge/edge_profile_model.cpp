#include "view/pages/edge/edge_profile_model.hpp"
#include "study/risk.hpp"
#include "units/error.hpp"
#include "view/pages/risk/risk_model.hpp"
#include <algorithm>
#include <cmath>
#include <limits>

namespace sparecoat::view::edge {
namespace {

/// A trial's steps, longer than the run's: what is asked is how much the edge keeps, to a micrometre.
constexpr StepLimits trial_steps{0.012, 0.3};
constexpr float nothing = std::numeric_limits<float>::quiet_NaN();

std::string name_of(const Panel& panel, PanelFeature ground) {
    return ground.edge >= 0 ? panel.edge_names[static_cast<std::size_t>(ground.edge)]
                            : panel.crest_names[static_cast<std::size_t>(ground.crest)];
}

/// The least of a field along a ribbon, NaN where it has no cell.
std::vector<float> least_values(const EdgeProfile& profile, std::span<const std::uint32_t> cells,
                                std::span<const float> field) {
    std::vector<float> out(profile.pieces(), nothing);
    for (std::size_t n = 0; n < out.size(); ++n)
        if (cells[n] != no_profile_cell) out[n] = field[cells[n]];
    return out;
}

std::vector<float> in_mm(const std::vector<double>& metres) {
    std::vector<float> out;
    for (const double m : metres) out.push_back(static_cast<float>(1e3 * m));
    return out;
}

} // namespace

EdgeProfileModel::EdgeProfileModel() : trials_(work_out), chances_(work_out_chance) {}

void EdgeProfileModel::take_job(const Panel& panel, bool other_panel) {
    forget_trial();
    if (!other_panel && !grounds_.empty()) return take_film(panel);
    grounds_ = profile_features(panel);
    chosen_.reset(), hovered.reset();
    coarse_.reset();
    for (std::size_t k = 0; k < grounds_.size(); ++k)
        if (name_of(panel, grounds_[k]) == chosen_name_) return choose(panel, k);
    if (!grounds_.empty()) choose(panel, 0);
}

void EdgeProfileModel::forget_trial() {
    trials_.call_off();
    chances_.call_off();
    wanted_m.reset(), trial_.reset(), chance_.reset();
}

void EdgeProfileModel::choose(const Panel& panel, std::size_t index) {
    if (chosen_ == index) return;
    chosen_ = index;
    chosen_name_ = name_of(panel, grounds_[index]);
    profile_ = edge_profile_along(panel, grounds_[index]);
    hovered.reset();
    forget_trial();
    columns_ = {};
    columns_.along_mm = in_mm(profile_.along_m);
    left_um_.assign(panel.grid.cells(), 0);
    take_film(panel);
}

void EdgeProfileModel::take_film(const Panel& panel) {
    if (!chosen_) return;
    const std::vector<std::uint32_t> thinnest = least_along(profile_, panel.clear_um);
    columns_.before_um = least_values(profile_, thinnest, panel.clear_um);
    columns_.sd_um = least_values(profile_, thinnest, panel.clear_sd_um);
}

bool EdgeProfileModel::choose_near(const Panel& panel, std::size_t cell) {
    const PanelFeature ground = feature_at(panel, cell);
    const auto at = std::find(grounds_.begin(), grounds_.end(), ground);
    if (at == grounds_.end()) return false;
    choose(panel, static_cast<std::size_t>(at - grounds_.begin()));
    return true;
}

std::string EdgeProfileModel::name(const Panel& panel) const {
    return chosen_ ? name_of(panel, grounds_[*chosen_]) : std::string();
}

void EdgeProfileModel::refresh(const Panel& panel, const LiveView& view) {
    if (!open || !chosen_ || view.fields.removed_um.size() != panel.grid.cells()) return;
    for (const std::uint32_t cell : profile_.cells)
        left_um_[cell] = std::max(0.0f, panel.clear_um[cell] - view.fields.removed_um[cell]);
    columns_.cell = least_along(profile_, left_um_);
    columns_.left_um = least_values(profile_, columns_.cell, left_um_);
}

std::optional<Point2> EdgeProfileModel::hovered_at(const Panel& panel) const {
    if (!open || !hovered || *hovered >= columns_.cell.size() || columns_.cell[*hovered] == no_profile_cell)
        return {};
    return panel.grid.centre(columns_.cell[*hovered]);
}

// ---- holding back ---------------------------------------------------------------------------------

void EdgeProfileModel::ask(const Library& library, const Choices& choices, double hold_back_m,
                           const std::string& line) {
    if (!chosen_) return;
    wanted_m = hold_back_m;
    chance_.reset();
    chances_.call_off();
    library_.emplace(library);
    // What is being run is worth seeing: with every pixel of a drag calling the last one off none would ever
    // end.
    trials_.ask({library, choices, hold_back_m, grounds_[*chosen_], line, coarse_}, true);
}

void EdgeProfileModel::tick() {
    if (std::optional<HoldBackTrial> trial = trials_.take()) {
        if (trial->job) coarse_ = trial->job;
        trial_ = std::move(trial);
        const bool latest = wanted_m && *wanted_m == trial_->hold_back_m;
        if (latest && trial_->job && chosen_)
            chances_.ask({*library_, trial_->job, grounds_[*chosen_], trial_->hold_back_m});
    }
    if (const std::optional<ChanceAnswer> answer = chances_.take())
        if (wanted_m && *wanted_m == answer->hold_back_m) chance_ = answer->chance;
}

HoldBackTrial EdgeProfileModel::work_out(const Ask& ask, TaskState& task) {
    HoldBackTrial out;
    out.hold_back_m = ask.hold_back_m;
    try {
        RunRequest request = ask.choices.request;
        request.grid_m = std::max(request.grid_m, trial_grid_m);
        Technique technique = ask.choices.technique;
        technique.hold_back_edge_m[ask.line] = ask.hold_back_m;
        const bool same_shape = ask.like && ask.like->request.panel == request.panel &&
                                ask.like->request.grid_m == request.grid_m;
        const auto job = std::make_shared<const RunJob>(steady(
            prepare(ask.library, request, technique, same_shape ? &ask.like->panel : nullptr, trial_steps)));
        const auto go_on = [](double, void* on) { return !static_cast<TaskState*>(on)->off; };
        const RunResult result = simulate(job->panel, setup_of(*job), job->path, go_on, &task);
        const EdgeProfile profile = edge_profile_along(job->panel, ask.ground);
        const std::vector<float> left = clear_left_um(job->panel, result.fields);
        out.along_mm = in_mm(profile.along_m);
        out.left_um = least_values(profile, least_along(profile, left), left);
        out.least_um = std::numeric_limits<float>::infinity();
        for (const float value : out.left_um)
            out.least_um = value < out.least_um ? value : out.least_um; // NaN drops out
        out.job = job;
    } catch (const InputError& error) {
        out.fault = error.what();
    }
    return out;
}

EdgeProfileModel::ChanceAnswer EdgeProfileModel::work_out_chance(const ChanceAsk& ask, TaskState& task) {
    try {
        ChanceTerms terms;
        terms.pairs = trial_pairs;
        terms.seed = ask.job->request.seed;
        const RiskMap map = risk_map(ask.library, *ask.job, terms, window_threshold, threads_beside_drawing(),
                                     [&task](double) { return !task.off; });
        double most = 0;
        for (const std::uint32_t cell : edge_profile_along(ask.job->panel, ask.ground).cells)
            most = std::max(most, static_cast<double>(map.chance[cell]));
        return {most, ask.hold_back_m};
    } catch (const Stopped&) {
        return {{}, ask.hold_back_m};
    } catch (const InputError&) { // takes nothing off at all
        return {0.0, ask.hold_back_m};
    }
}

} // namespace sparecoat::view::edge
