#include "view/pages/risk/risk_model.hpp"
#include "units/error.hpp"
#include <algorithm>
#include <thread>

namespace sparecoat::view::risk {

RiskModel::RiskModel() : chances_(find), trials_(try_out) {}

void RiskModel::ask(const Library& library, const Choices& choices, std::shared_ptr<const RunJob> job) {
    forget();
    chances_.ask({library, choices, std::move(job)});
}

void RiskModel::forget() {
    call_off();
    finding_.reset();
    advice_.clear();
    fault_.clear();
}

void RiskModel::call_off() {
    chances_.call_off();
    trials_.call_off();
}

bool RiskModel::tick() {
    if (std::optional<Tried> tried = trials_.take()) {
        if (tried->advice) advice_[tried->region] = std::move(*tried->advice);
        fault_ = tried->fault;
    }
    std::optional<Found> found = chances_.take();
    if (!found) return false;
    finding_ = std::move(found->finding);
    fault_ = std::move(found->fault);
    return finding_ != nullptr;
}

void RiskModel::try_changes(const Library& library, std::size_t region) {
    if (!finding_ || region >= finding_->map.regions.size()) return;
    tried_ = region;
    trials_.ask({library, finding_, region});
}

const SpotAdvice* RiskModel::advice(std::size_t region) const {
    const auto found = advice_.find(region);
    return found == advice_.end() ? nullptr : &found->second;
}

RiskModel::Found RiskModel::find(const Ask& ask, TaskState& task) {
    try {
        auto out = std::make_shared<RiskFinding>();
        out->job = std::make_shared<const RunJob>(
            steady(prepare(ask.library, ask.choices.request, ask.choices.technique, &ask.job->panel)));
        out->terms.pairs = window_pairs;
        out->terms.seed = ask.choices.request.seed;
        out->threshold = window_threshold;
        out->map = risk_map(ask.library, *out->job, out->terms, out->threshold, threads_beside_drawing(),
                            watched_by(task));
        out->percent = out->map.chance;
        for (float& value : out->percent) value *= 100; // NaN stays
        out->region.assign(out->percent.size(), -1);
        for (std::size_t k = 0; k < out->map.regions.size(); ++k)
            for (const std::uint32_t cell : out->map.regions[k].cells)
                out->region[cell] = static_cast<std::int16_t>(k);
        return {std::move(out), ""};
    } catch (const Stopped&) {
        return {}; // called off: nobody will look at it
    } catch (const InputError& error) {
        return {nullptr, error.what()};
    }
}

RiskModel::Tried RiskModel::try_out(const Trial& trial, TaskState& task) {
    try {
        ChanceTerms terms = trial.finding->terms;
        terms.pairs = window_trial_pairs;
        std::vector<SpotAdvice> spots =
            study::try_changes(trial.library, *trial.finding->job, {trial.finding->map.regions[trial.region]},
                               terms, trial.finding->threshold, trial.finding->map.verdict.open.median_um,
                               threads_beside_drawing(), watched_by(task));
        return {std::move(spots.front()), trial.region, ""};
    } catch (const Stopped&) {
        return {{}, trial.region, ""};
    } catch (const InputError& error) {
        return {{}, trial.region, error.what()};
    }
}

} // namespace sparecoat::view::risk
