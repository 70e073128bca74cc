#include "plan/plan_panel.hpp"
#include "run/draws.hpp"
#include "run/remedies.hpp"
#include "tool/vary.hpp"
#include "units/error.hpp"
#include <algorithm>
#include <cmath>
#include <fmt/format.h>
#include <memory>
#include <oneapi/tbb/parallel_for.h>
#include <set>

namespace sparecoat::plan {
namespace {

/// A step that takes less than this share of the film is worked with a steady hand in the chances.
constexpr double drawn_share = 0.2;
/// A step that takes less than this share of what a spot loses is not held back from it: the finish would
/// show a rim.
constexpr double held_share = 0.1;
/// Work for which all pairs are drawn; of more there are fewer, so that a roof does not take an hour.
constexpr double full_pairs_s = 600;
constexpr int fewest_pairs = 4;
/// Hold-backs and tapes have five notches together.
constexpr int most_rounds = 6;

void add(std::vector<float>& sum, const std::vector<float>& one, float factor) {
    sum.resize(one.size(), 0.0f);
    for (std::size_t k = 0; k < one.size(); ++k) sum[k] += factor * one[k];
}

/// So many sets of a step more. The cut multiplies what is removed and nothing else.
void add(Fields& sum, const Fields& one, int sets, double cut) {
    const auto factor = static_cast<float>(sets), cutting = static_cast<float>(sets * cut);
    add(sum.contact_time_s, one.contact_time_s, factor);
    add(sum.pressure_time_pa_s, one.pressure_time_pa_s, factor);
    add(sum.friction_path_pa_m, one.friction_path_pa_m, factor);
    add(sum.removed_cold_um, one.removed_cold_um, cutting);
    add(sum.removed_um, one.removed_um, cutting);
}

/// What a technique keeps off, in words: hold-backs first.
std::vector<std::string> kept_off_by(const Technique& technique, const Panel& panel) {
    const auto words = [&](const std::string& name) {
        const auto edge = std::ranges::find(panel.edge_names, name);
        if (edge != panel.edge_names.end())
            return feature_text(panel, {static_cast<int>(edge - panel.edge_names.begin()), -1});
        const auto crest = std::ranges::find(panel.crest_names, name);
        return feature_text(panel, {-1, static_cast<int>(crest - panel.crest_names.begin())});
    };
    std::vector<std::string> out;
    for (const auto& [name, held_m] : technique.hold_back_edge_m)
        out.push_back(
            held_m == 0 ? fmt::format("keep the pad's rim off {}", words(name))
                        : fmt::format("hold the pad's rim back {:.0f} mm from {}", held_m / mm, words(name)));
    for (const auto& [name, tape_m] : technique.tape_edge_m)
        out.push_back(fmt::format("tape {} {:.0f} mm wide", words(name), tape_m / mm));
    return out;
}

std::string name_of_feature(const Panel& panel, const RegionAtRisk& region) {
    if (region.edge >= 0) return panel.edge_names[static_cast<std::size_t>(region.edge)];
    return region.crest >= 0 ? panel.crest_names[static_cast<std::size_t>(region.crest)] : "";
}

class Working {
public:
    Working(const Library& library, const WholePanel& whole, std::vector<StepWork> steps,
            const PanelWorkTerms& terms, const Progress& progress)
        : library_(library), whole_(whole), terms_(terms),
          meter_(3.0 * terms.pairs * static_cast<double>(steps.size()), progress, Meter::All::guessed),
          refine_(*whole.panel, *whole.panel) {
        out_.steps = std::move(steps);
        out_.results.resize(out_.steps.size()), out_.open_um.resize(out_.steps.size());
        draws_.resize(out_.steps.size());
    }

    PanelWork work() {
        std::set<std::size_t> changed;
        for (std::size_t k = 0; k < out_.steps.size(); ++k) {
            std::optional<RunJob> job = lay_over(library_, whole_, out_.steps[k].technique);
            if (!job)
                throw InputError("", "/hold_back", "a pad larger than the panel",
                                 "a step whose pad has room on it");
            out_.jobs.push_back(std::move(*job));
            changed.insert(k);
        }
        for (int round = 1; !changed.empty(); ++round) {
            run_steady(changed);
            if (round == 1) find_out_what_is_drawn();
            draw_hand(changed);
            weigh();
            const bool last = round == most_rounds;
            changed = last ? std::set<std::size_t>() : keep_off();
            if (!changed.empty() || pairs_ == all_pairs_) continue;
            // As good as it gets by few draws: now by all of them, and once more with all where that finds
            // more to do.
            pairs_ = all_pairs_;
            draw_the_rest();
            weigh();
            if (!last) changed = keep_off();
        }
        finish();
        return std::move(out_);
    }

private:
    void run_steady(const std::set<std::size_t>& changed) {
        const std::vector<std::size_t> which(changed.begin(), changed.end());
        oneapi::tbb::parallel_for(std::size_t{0}, which.size(), [&](std::size_t n) {
            out_.results[which[n]] = simulate(out_.jobs[which[n]], [this](double) { return meter_.look(); });
            if (!meter_.look()) throw Stopped();
        });
        out_.sum = {};
        radius_m_ = 0;
        for (std::size_t k = 0; k < out_.steps.size(); ++k) {
            add(out_.sum, out_.results[k].fields, out_.steps[k].sets, whole_.cut);
            radius_m_ = std::max(radius_m_, out_.jobs[k].step.pad.radius_m);
            if (!changed.contains(k)) continue;
            const auto verdict =
                judge_if_worked(*whole_.panel, out_.results[k].fields, out_.jobs[k].step.pad.radius_m);
            if (!verdict)
                throw InputError("", "/force", "a step that takes no film off the panel",
                                 "one that presses on it");
            out_.open_um[k] = whole_.cut * verdict->open.median_um;
        }
    }

    /// The same steps all along, or chances before and after a hold-back would not compare.
    void find_out_what_is_drawn() {
        double all_um = 0, time_s = 0;
        for (std::size_t k = 0; k < out_.steps.size(); ++k) all_um += out_.steps[k].sets * out_.open_um[k];
        for (std::size_t k = 0; k < out_.steps.size(); ++k) {
            const bool much = out_.steps[k].sets * out_.open_um[k] >= drawn_share * all_um;
            drawn_.push_back(much && varies(terms_.hand));
            if (drawn_.back()) time_s += out_.jobs[k].path.duration_s();
        }
        all_pairs_ = 1;
        if (time_s > 0)
            all_pairs_ = std::clamp(static_cast<int>(terms_.pairs * full_pairs_s / time_s),
                                    std::min(fewest_pairs, terms_.pairs), std::max(1, terms_.pairs));
        pairs_ = std::min(fewest_pairs, all_pairs_); // to find out what has to be kept off
    }

    /// The draws that few were enough without so far.
    void draw_the_rest() {
        std::set<std::size_t> all;
        for (std::size_t k = 0; k < out_.steps.size(); ++k) all.insert(k);
        draw_hand(all, fewest_pairs);
    }

    /// Pairs of draws from one on, as many as count now.
    void draw_hand(const std::set<std::size_t>& changed, int from = 0) {
        struct Draw {
            std::size_t step;
            int pair;
        };
        std::vector<Draw> all;
        std::vector<std::unique_ptr<const Simulation>> fresh(out_.steps.size());
        for (const std::size_t k : changed) {
            if (!drawn_[k]) continue;
            fresh[k] = std::make_unique<const Simulation>(*whole_.panel, cold_setup_of(out_.jobs[k]));
            draws_[k].resize(static_cast<std::size_t>(pairs_));
            for (int pair = from; pair < pairs_; ++pair) all.push_back({k, pair});
        }
        oneapi::tbb::parallel_for(std::size_t{0}, all.size(), [&](std::size_t n) {
            const auto [k, pair] = all[n];
            const std::uint64_t seed = seed_of_draw(terms_.seed, static_cast<std::uint64_t>(pair), k);
            draws_[k][static_cast<std::size_t>(pair)] =
                drawn_pair(*fresh[k], out_.jobs[k].path, terms_.hand, seed);
            meter_.add(1);
        });
    }

    /// All sets in one draw, of paint that stays cold: each set of a step takes its draws up one later.
    std::vector<float> drawn_sum(int pair, bool mirrored) const {
        std::vector<float> sum;
        for (std::size_t k = 0; k < out_.steps.size(); ++k)
            for (int set = 0; set < out_.steps[k].sets; ++set) {
                const std::vector<float>* one = &out_.results[k].fields.removed_cold_um;
                if (drawn_[k]) {
                    const DrawnPair& pair_of = draws_[k][static_cast<std::size_t>((pair + set) % pairs_)];
                    one = mirrored ? &pair_of.mirrored : &pair_of.drawn;
                }
                add(sum, *one, static_cast<float>(whole_.cut));
            }
        return sum;
    }

    void weigh() {
        const Panel& panel = *whole_.panel;
        ChanceTerms terms;
        terms.reserve_um = terms_.reserve_um, terms.cut_sd = whole_.cut_sd, terms.pairs = pairs_;
        LossDoubt doubt(whole_.cut_sd);
        for (std::size_t k = 0; k < out_.steps.size(); ++k)
            doubt.add_step(out_.results[k].fields, out_.jobs[k].step.liquid, out_.steps[k].sets);
        const DrawContext ground{.fine = &panel,
                                 .steady_fine = &out_.sum,
                                 .coarse = &panel,
                                 .steady_coarse_um = out_.sum.removed_cold_um,
                                 .refine = &refine_,
                                 .reach_m = farthest_deviations * terms_.hand.spacing_m,
                                 .doubt = &doubt};
        const auto draw = [&](ChanceTally& tally, std::size_t pair) {
            const int n = static_cast<int>(pair);
            tally.add(drawn_sum(n, false), drawn_sum(n, true));
        };
        const ChanceTally tally = tally_draws(pairs_, ChanceTally(ground, terms), draw);
        const std::vector<float> chance = tally.chance(), error = tally.standard_error();
        out_.highest_chance = out_.standard_error = 0;
        for (std::size_t k = 0; k < chance.size(); ++k)
            if (panel.inside[k] && static_cast<double>(chance[k]) > out_.highest_chance) {
                out_.highest_chance = static_cast<double>(chance[k]);
                out_.standard_error = static_cast<double>(error[k]);
                out_.weakest_cell = k;
            }
        const auto verdict = judge_if_worked(panel, out_.sum, radius_m_);
        if (!verdict)
            throw InputError("", "/force", "steps that take no film off the panel", "some that press on it");
        out_.regions =
            regions_at_risk(panel, out_.sum, verdict->open, terms, chance, error, terms_.threshold);
    }

    enum class First { hold_back, tape };

    /// The next notch for a region's edge or line, of what comes first; the other where there is no more of
    /// it.
    std::optional<Change> next_notch(const RegionAtRisk& region, std::size_t step, First wanted) const {
        std::optional<Change> first, second;
        for (const std::vector<Change>& chain : changes_at(out_.jobs[step], region)) {
            const bool holds = chain.front().kind == RemedyKind::hold_back;
            (holds == (wanted == First::hold_back) ? first : second) = chain.front();
        }
        return first ? first : second;
    }

    /// At an edge hold-backs come before tape, unless tape is to come first; at a line that a pad crosses,
    /// tape.
    First at_risk_first(const RegionAtRisk& region) const {
        return region.edge >= 0 && !terms_.tape_first ? First::hold_back : First::tape;
    }

    /// @return whether a step was changed.
    bool put_notch(const RegionAtRisk& region, std::size_t k, First wanted) {
        const std::string name = name_of_feature(*whole_.panel, region);
        const std::optional<Change> notch = next_notch(region, k, wanted);
        if (!notch) return false;
        Technique technique = out_.steps[k].technique;
        if (const auto held = notch->technique.hold_back_edge_m.find(name);
            held != notch->technique.hold_back_edge_m.end())
            technique.hold_back_edge_m[name] = held->second;
        if (const auto tape = notch->technique.tape_edge_m.find(name);
            tape != notch->technique.tape_edge_m.end())
            technique.tape_edge_m[name] = tape->second;
        std::optional<RunJob> job = lay_over(library_, whole_, technique);
        if (!job) return false; // no room left for the pad
        out_.steps[k].technique = std::move(technique);
        out_.jobs[k] = std::move(*job);
        return true;
    }

    /// Puts one more notch on every edge and line at risk, and where a step gets too hot. @return the steps
    /// that changed.
    std::set<std::size_t> keep_off() {
        std::set<std::size_t> changed;
        std::set<std::string> seen;
        for (const RegionAtRisk& region : out_.regions) {
            const std::string name = name_of_feature(*whole_.panel, region);
            if (name.empty() || !seen.insert(name).second) continue;
            for (std::size_t k = 0; k < out_.steps.size(); ++k) {
                const double here = out_.steps[k].sets * whole_.cut *
                                    static_cast<double>(out_.results[k].fields.removed_um[region.spot.cell]);
                if (here >= held_share * region.spot.removed_um &&
                    put_notch(region, k, at_risk_first(region)))
                    changed.insert(k);
            }
        }
        for (std::size_t k = 0; k < out_.steps.size(); ++k)
            for (const RegionAtRisk& region : too_hot_at(k))
                if (put_notch(region, k, First::hold_back)) changed.insert(k);
        return changed;
    }

    /// Edges and lines where a step gets the film hotter than it may, each at its hottest cell.
    std::vector<RegionAtRisk> too_hot_at(std::size_t k) const {
        const PanelHeat& heat = *out_.results[k].heat;
        std::vector<RegionAtRisk> found;
        if (heat.peak().film_c <= Surroundings{}.film_limit_c) return found;
        const Panel& panel = *whole_.panel;
        for (std::size_t cell = 0; cell < panel.grid.cells(); ++cell) {
            if (!panel.inside[cell] || heat.peak_film_c(cell) <= Surroundings{}.film_limit_c) continue;
            const PanelFeature feature = feature_at(panel, cell);
            if (feature == PanelFeature{}) continue; // open ground: no holding back from that
            const auto known = std::ranges::find_if(found, [&](const RegionAtRisk& one) {
                return PanelFeature{one.edge, one.crest} == feature;
            });
            if (known == found.end()) {
                RegionAtRisk region;
                region.edge = feature.edge, region.crest = feature.crest, region.spot.cell = cell;
                found.push_back(std::move(region));
            } else if (heat.peak_film_c(cell) > heat.peak_film_c(known->spot.cell)) {
                known->spot.cell = cell;
            }
        }
        return found;
    }

    void finish() {
        std::set<std::string> taped;
        for (std::size_t k = 0; k < out_.steps.size(); ++k) {
            const StepWork& step = out_.steps[k];
            out_.kept_off.push_back(kept_off_by(step.technique, *whole_.panel));
            out_.time_s += step.sets * out_.jobs[k].path.duration_s();
            const double peak_c = out_.results[k].heat->peak().film_c;
            if (peak_c > out_.peak_film_c) out_.peak_film_c = peak_c, out_.hottest_step = k;
            for (const auto& [name, width_m] : step.technique.tape_edge_m) taped.insert(name);
        }
        out_.tapes = static_cast<int>(taped.size());
    }

    const Library& library_;
    const WholePanel& whole_;
    PanelWorkTerms terms_;
    Meter meter_;
    Refinement refine_;
    PanelWork out_;
    std::vector<std::vector<DrawnPair>> draws_; ///< per step
    std::vector<bool> drawn_;
    int pairs_ = 1, all_pairs_ = 1; ///< that count now, and at the end
    double radius_m_ = 0;
};

} // namespace

std::optional<RunJob> lay_over(const Library& library, const WholePanel& whole, const Technique& technique) {
    try {
        RunJob job = prepare(library, whole.request, technique, whole.panel.get(), coarse_steps);
        job.panel = *whole.panel; // with its film
        return job;
    } catch (const InputError& error) {
        if (error.place().starts_with("/section") || error.place().starts_with("/hold_back"))
            return std::nullopt;
        throw;
    }
}

double open_keeping(const WholePanel& whole, double removed_um, double reserve_um, double clear_of_m) {
    constexpr std::size_t enough_cells = 50;
    const Panel& panel = *whole.panel;
    ChanceTerms terms;
    terms.reserve_um = reserve_um, terms.cut_sd = whole.cut_sd;
    const CellChance cell(terms);
    const double removed = whole.cut * removed_um;
    for (double clear_of = clear_of_m;; clear_of /= 2) {
        std::size_t cells = 0;
        double highest = 0;
        for (std::size_t k = 0; k < panel.grid.cells(); ++k) {
            const double away =
                static_cast<double>(std::min(panel.edge_distance_m[k], panel.crest_distance_m[k]));
            if (!panel.inside[k] || away < clear_of) continue;
            ++cells;
            const double clear = static_cast<double>(panel.clear_um[k]),
                         sd = static_cast<double>(panel.clear_sd_um[k]);
            if (!cell.safe(clear, sd, removed)) highest = std::max(highest, cell.at(clear, sd, removed));
        }
        if (cells >= enough_cells || clear_of < 1e-3) return 1 - highest;
    }
}

PanelWork work_panel(const Library& library, const WholePanel& whole, std::vector<StepWork> steps,
                     const PanelWorkTerms& terms, const Progress& progress) {
    return Working(library, whole, std::move(steps), terms, progress).work();
}

} // namespace sparecoat::plan
