#include "study/sweep/sweep.hpp"
#include "formats/encoding.hpp"
#include "tool/vary.hpp"
#include <algorithm>
#include <fmt/format.h>

namespace sparecoat::study {

using nlohmann::json;

namespace {

std::vector<FactorScale> scales_of(const SweepDesign& design) {
    std::vector<FactorScale> scales;
    for (std::size_t k = 0; k < design.factors.size(); ++k)
        scales.emplace_back(design.factors[k], Place{design.file, ""}.at("factors").at(k));
    return scales;
}

/// Runs that a design comes to, before its points are laid.
double runs_of(const SweepDesign& design, const std::vector<FactorScale>& factors) {
    double points = static_cast<double>(design.points);
    if (design.kind == DesignKind::saltelli) points *= static_cast<double>(factors.size() + 2);
    if (design.kind == DesignKind::grid) {
        points = 1;
        for (const FactorScale& factor : factors) points *= static_cast<double>(factor.parts());
    }
    return points * static_cast<double>(design.paints.size() * design.hands);
}

Points points_of(const SweepDesign& design, const std::vector<FactorScale>& factors) {
    if (const double runs = runs_of(design, factors); runs > static_cast<double>(most_sweep_runs))
        throw InputError(design.file, "/design", fmt::format("a design of {:.3g} runs", runs),
                         fmt::format("at most {}", most_sweep_runs));
    const std::size_t dims = factors.size();
    switch (design.kind) {
    case DesignKind::grid: {
        std::vector<std::size_t> levels;
        for (const FactorScale& factor : factors) levels.push_back(factor.parts());
        return full_grid(levels);
    }
    case DesignKind::latin_hypercube: return latin_hypercube(design.points, dims, design.point_seed);
    case DesignKind::sobol: return sobol_points(design.points, dims, design.point_seed);
    case DesignKind::saltelli:
        return saltelli_scheme(sobol_points(design.points, 2 * dims, design.point_seed));
    }
    return {};
}

std::string fault_text(const InputError& fault) {
    return fmt::format("{}{}found {}{}{}", fault.place(), fault.place().empty() ? "" : ": ", fault.found(),
                       fault.allowed().empty() ? "" : "; allowed: ", fault.allowed());
}

} // namespace

Sweep::Sweep(const Library& library, SweepDesign design)
    : library_(library), design_(std::move(design)), factors_(scales_of(design_)),
      points_(points_of(design_, factors_)) {
    const Place place{design_.file, ""};
    const auto named = [&](const Place& at, auto read) {
        try {
            read();
        } catch (const UnknownPreset& unknown) {
            at.refuse(unknown.found(), unknown.allowed());
        }
    };
    named(place.at("panel"), [&] { library_.panel(design_.panel); });
    named(place.at("defects"), [&] { library_.file_of(PresetKind::defects, design_.defects); });
    named(place.at("technique"), [&] { library_.file_of(PresetKind::technique, design_.technique); });
    for (std::size_t k = 0; k < design_.paints.size(); ++k)
        named(place.at("paints").at(k), [&] { library_.file_of(PresetKind::paint, design_.paints[k]); });

    const RunInputs base = run_inputs(library_, files_, design_, design_.paints.front(), {});
    const RunJob job = prepared(base, design_.paints.front(), design_.seed);
    if (std::ranges::none_of(design_.factors, [](const SweepFactor& factor) {
            return factor.of == PresetKind::panel || factor.of == PresetKind::substrate;
        }))
        panel_ = job.panel;
    for (std::size_t k = 0; k < factors_.size(); ++k) look_at_factor(k);
}

void Sweep::look_at_factor(std::size_t factor) const {
    const FactorScale& scale = factors_[factor];
    const Place place = Place{design_.file, ""}.at("factors").at(factor);
    // The ends of a range, the middle of each value's part of the line.
    std::vector<std::pair<double, Place>> tried{{0.0, place.at("from")}, {1.0, place.at("to")}};
    if (scale.listed()) {
        tried.clear();
        for (std::size_t k = 0; k < scale.parts(); ++k)
            tried.emplace_back((static_cast<double>(k) + 0.5) / static_cast<double>(scale.parts()),
                               place.at("values").at(k));
    }
    for (const auto& [x, at] : tried)
        for (const std::string& paint : design_.paints) {
            const FactorSetting setting{&design_.factors[factor], scale.value(x)};
            try {
                (void)prepared(run_inputs(library_, files_, design_, paint, std::span(&setting, 1)), paint,
                               design_.seed);
            } catch (const InputError& fault) {
                const bool missing = fault.found() == "no value";
                (missing ? place.at("at") : at)
                    .refuse(missing ? fmt::format("\"{}\", where {} has no value", design_.factors[factor].at,
                                                  fault.file())
                                    : fmt::format("{}, with which {} does not hold: {}", shown(setting.value),
                                                  fault.file(), fault.place() + " found " + fault.found()),
                            fault.allowed());
            }
        }
}

SweepPlace Sweep::place(std::size_t run) const {
    return {run / replicates(), run / design_.hands % design_.paints.size(), run % design_.hands};
}

std::vector<FactorSetting> Sweep::settings(std::size_t point) const {
    std::vector<FactorSetting> out;
    for (std::size_t k = 0; k < factors_.size(); ++k)
        out.push_back({&design_.factors[k], factors_[k].value(points_.at(point)[k])});
    return out;
}

RunInputs Sweep::inputs(std::size_t run) const {
    const SweepPlace at = place(run);
    return run_inputs(library_, files_, design_, design_.paints[at.paint], settings(at.point));
}

RunJob Sweep::prepared(const RunInputs& in, const std::string& paint, std::uint64_t seed) const {
    RunRequest request;
    request.panel = design_.panel, request.technique = design_.technique, request.paint = paint;
    request.grid_m = design_.grid_m, request.air_c = design_.air_c, request.seed = seed;
    LaidPanel laid;
    laid.paint = in.paint;
    laid.panel = panel_ ? *panel_ : build_panel(in.panel, design_.grid_m, in.panel_file);
    laid.panel.substrate_name = in.panel.substrate, laid.panel.substrate = in.substrate;
    lay_film(laid.panel, laid.paint);
    return prepare(request, in.step, std::move(laid), {}, in.technique_file);
}

ChanceTerms Sweep::terms() const {
    ChanceTerms terms;
    terms.reserve_um = design_.reserve_um, terms.cut_sd = design_.cut_sd;
    return terms;
}

std::string Sweep::key(std::size_t run) const {
    json identity{{"model", sweep_model}};
    try {
        const RunInputs in = inputs(run);
        identity.update(in.identity);
        identity["grid_m"] = design_.grid_m, identity["air_c"] = design_.air_c;
        identity["reserve_um"] = design_.reserve_um, identity["cut_sd"] = design_.cut_sd;
        if (varies(in.step.technique.hand)) identity["seed"] = seed(run);
    } catch (const InputError& fault) {
        identity["fault"] = fault_text(fault);
    }
    return sha256(identity.dump(-1, ' ', false, json::error_handler_t::replace));
}

std::optional<SweepRow> Sweep::work(std::size_t run, const Progress& progress) const {
    try {
        const RunInputs in = inputs(run);
        const RunJob job = prepared(in, design_.paints[place(run).paint], seed(run));
        const RunResult result = simulate(job, progress);
        const std::optional<Verdict> verdict =
            judge_if_worked(job.panel, result.fields, job.step.pad.radius_m);
        if (!verdict) return failed_row("an arm path that takes no film off the panel");
        return row_of(job, result, *verdict, in.defects, terms());
    } catch (const Stopped&) {
        return std::nullopt;
    } catch (const InputError& fault) {
        return failed_row(fault_text(fault));
    }
}

} // namespace sparecoat::study
