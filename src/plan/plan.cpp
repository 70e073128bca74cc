#include "plan/plan.hpp"
#include "decide/choice.hpp"
#include "decide/stats/median.hpp"
#include "plan/plan_panel.hpp"
#include "plan/plan_words.hpp"
#include "plan/section_ground.hpp"
#include "run/summary_parts.hpp"
#include "run/threads.hpp"
#include "units/error.hpp"
#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <mutex>
#include <nlohmann/json.hpp>
#include <numeric>
#include <oneapi/tbb/parallel_for.h>
#include <stdexcept>

namespace sparecoat::plan {
namespace {

/// Clearing less than this is "nothing" under the lamp (see seen_words) and not worth any film.
constexpr double least_share = 0.10;
/// So many points that the nodes of most beliefs need not be gathered, as advise() has it.
constexpr std::size_t weighing_points = 2000;
/// So many ways are carried over a whole panel before the best of them stays.
constexpr int most_worked = 3;
/// How much of all the work learning from the sections counts as.
constexpr double learning_share = 0.2;

/// Passes progress on, one voice at a time, and remembers that it was told to stop.
class Voice {
public:
    explicit Voice(const PlanProgress& tell) : tell_(tell) {}
    bool say(const std::string& panel, double share) {
        const std::scoped_lock lock(mutex_);
        if (tell_ && !stopped_ && !tell_(panel, std::max(share, said_))) stopped_ = true;
        said_ = std::max(share, said_);
        return !stopped_;
    }

private:
    std::mutex mutex_;
    const PlanProgress& tell_;
    double said_ = 0;
    bool stopped_ = false;
};

// ---- a panel's ways -------------------------------------------------------------------------------

/// Over all of a panel.
double median_on(const Panel& panel, const std::vector<float>& field) {
    std::vector<float> values;
    for (std::size_t k = 0; k < field.size(); ++k)
        if (panel.inside[k]) values.push_back(field[k]);
    return static_cast<double>(upper_median(std::move(values)));
}

/// One panel with all that is known before anything is chosen.
struct PanelModel {
    const PanelAdvice* advice = nullptr;
    PanelTask task;
    std::string name;
    WholePanel whole;
    std::vector<std::size_t> kit_step;          ///< of each of the ground's steps, in the kit
    std::vector<PanelAlternative> alternatives; ///< the first leaves it
    std::vector<BeliefPoint> belief;            ///< what its ways are weighed with
    std::optional<double> haze;                 ///< that counts
    PanelAlternatives choices;
    int worked = 0;        ///< ways that were carried over the whole panel
    bool workable = false; ///< whether there is anything to choose
};

class Planning {
public:
    Planning(const Library& library, const SectionRecord& record, const std::vector<PanelTask>& tasks,
             const PlanTerms& terms, const PlanProgress& progress, WorkedSets* kept)
        : library_(library), record_(record), tasks_(tasks), terms_(terms), voice_(progress), kept_(kept) {
        if (tasks.size() != record.panels.size())
            throw std::invalid_argument("a task for each panel of the record");
    }

    VehiclePlan plan(int threads) {
        report_ = advise_on(
            library_, record_, "", threads,
            [&](double share) { return voice_.say(record_.name, learning_share * share); }, kept_);
        on_threads(threads, [&] {
            for (std::size_t p = 0; p < record_.panels.size(); ++p) models_.push_back(model_of(p));
            choose();
        });
        return written();
    }

private:
    // ---- ways -------------------------------------------------------------------------------------

    PanelModel model_of(std::size_t p) {
        const PanelAdvice& advice = report_.panels[p];
        PanelModel model;
        model.advice = &advice;
        model.task = tasks_[p];
        model.name = model.task.name.empty() ? advice.ground.panel->name : model.task.name;
        if (!voice_.say(model.name, learning_share)) throw Stopped();
        model.whole.panel = advice.ground.panel;
        model.whole.request.panel = advice.panel.panel, model.whole.request.paint = advice.panel.paint;
        model.whole.request.grid_m = advice.ground.panel->grid.h_m;
        model.whole.marks = library_.defects(advice.panel.defects).marks;
        model.whole.cut = std::exp(advice.belief.cut.mean()), model.whole.cut_sd = advice.belief.cut.sd();
        model.whole.depth = std::exp(advice.belief.depth.mean());
        model.choices.area_m2 = advice.ground.panel->area_m2();
        model.choices.alternatives.push_back({});
        model.alternatives.push_back({});
        model.workable = !advice.advice.outlooks.empty();
        if (model.workable) add_alternatives(model);
        return model;
    }

    void add_alternatives(PanelModel& model) {
        const PanelAdvice& advice = *model.advice;
        const SquareGround& ground = advice.ground;
        for (const StepEffect& effect : ground.effects)
            model.kit_step.push_back(
                static_cast<std::size_t>(&step_named(report_.steps, effect.id) - report_.steps.data()));
        const std::vector<Sequence>& sequences = advice.advice.weighed;
        model.belief = points_of(advice.belief, weighing_points);
        std::vector<PanelAlternative> found(sequences.size());
        std::vector<AtPoints> points(sequences.size());
        oneapi::tbb::parallel_for(std::size_t{0}, found.size(), [&](std::size_t n) {
            points[n] = at_points(ground.effects, sequences[n], ground.marks, model.belief, ground.clear,
                                  record_.target.reserve_um);
            found[n].outlook =
                outlook_of(points[n], ground.effects, sequences[n], model.belief, record_.target);
        });
        model.haze = haze_to_meet(found, record_.target);
        for (std::size_t n = 0; n < found.size(); ++n) {
            PanelAlternative& alternative = found[n];
            weigh(model, alternative, ground.effects, points[n]);
            alternative.machine_s = alternative.outlook.time_s;
            alternative.time_s =
                alternative.machine_s +
                terms_.set_up.each_step_s * static_cast<double>(alternative.outlook.sequence.size());
            alternative.preferred =
                advice.advice.choice &&
                alternative.outlook.sequence == advice.advice.outlooks[*advice.advice.choice].sequence;
            model.choices.alternatives.push_back(choice_of(alternative));
            model.alternatives.push_back(std::move(alternative));
        }
    }

    /// What an outlook comes to against the target, from what its steps do to the judged ground.
    void weigh(const PanelModel& model, PanelAlternative& alternative, std::span<const StepEffect> effects,
               const AtPoints& points) const {
        const Target& target = record_.target;
        const Outlook& outlook = alternative.outlook;
        double pad_m = 0;
        for (const Sets& part : outlook.sequence) pad_m = std::max(pad_m, effects[part.step].pad_radius_m);
        alternative.sure_share = sure_share(points, model.belief, target.chance, model.haze);
        const RemovedSpread removed = removed_by(effects, outlook.sequence);
        alternative.open_keeping =
            open_keeping(model.whole, removed.um.empty() ? 0 : removed.um.back(), target.reserve_um, pad_m);
        alternative.keeps =
            outlook.chance_of_keeping >= target.keep_chance && alternative.open_keeping >= target.keep_chance;
        alternative.within_allowance =
            !model.task.allowance_left_um || outlook.film_um.median <= *model.task.allowance_left_um;
        alternative.meets = alternative.sure_share >= target.share - 1e-12;
    }

    static Alternative choice_of(const PanelAlternative& alternative) {
        const bool worth = alternative.outlook.share.median >= least_share;
        return {alternative.sure_share, alternative.outlook.film_um.median, alternative.time_s,
                alternative.keeps && alternative.within_allowance && alternative.cool && worth,
                alternative.preferred};
    }

    /// Haze counts only where something of the kit meets it.
    static std::optional<double> haze_to_meet(const std::vector<PanelAlternative>& alternatives,
                                              const Target& target) {
        const bool can = std::ranges::any_of(alternatives, [&](const PanelAlternative& alternative) {
            return alternative.outlook.haze <= target.haze;
        });
        return can ? std::optional(target.haze) : std::nullopt;
    }

    // ---- choosing ---------------------------------------------------------------------------------

    /// Hold-backs and tape have their say only once a way was carried over the whole panel: lines pushed
    /// closer together or away from an edge change what open ground loses. A way that they keep from what it
    /// was chosen for gives way to another, a few times; after that the best of those that were carried over
    /// stays. Changes of step have their say in the time as late, so that a time limit which they break is
    /// drawn tighter by what they cost until it holds; leaving everything takes no time.
    void choose() {
        ChoiceTerms wanted{record_.target.share, terms_.time_s, terms_.film_um};
        for (;;) {
            std::vector<PanelAlternatives> panels;
            for (const PanelModel& model : models_) panels.push_back(model.choices);
            chosen_ = choose_alternatives(panels, wanted);
            bool fell_short = false;
            for (std::size_t p = 0; p < models_.size(); ++p) fell_short = work_out(p) || fell_short;
            if (fell_short) continue;
            const double over_s = terms_.time_s ? total_time_s() - *terms_.time_s : 0;
            if (over_s <= 0) return;
            wanted.time_s = std::max(0.0, *wanted.time_s - over_s - 1);
        }
    }

    std::vector<StepWork> steps_of_alternative(const PanelModel& model,
                                               const PanelAlternative& alternative) const {
        std::vector<StepWork> steps;
        for (const Sets& part : alternative.outlook.sequence)
            steps.push_back({model.advice->ground.techniques[part.step], part.sets});
        return steps;
    }

    /// Carries a panel's chosen way over all of it, if that was not done yet. @return whether the way falls
    /// short then of what it was chosen for.
    bool work_out(std::size_t p) {
        const std::size_t w = chosen_[p];
        if (w == 0 || works_.contains({p, w})) return false;
        PanelModel& model = models_[p];
        const Alternative before = model.choices.alternatives[w];
        carry_over(p, w, false);
        const bool held = std::ranges::any_of(works_.at({p, w}).steps, [](const StepWork& step) {
            return !step.technique.hold_back_edge_m.empty();
        });
        if (held && falls_short(before, model.choices.alternatives[w])) carry_over(p, w, true);
        if (!model.alternatives[w].cool) leave_out_hot_step(p, w);
        else if (++model.worked == most_worked)
            for (std::size_t other = 1; other < model.alternatives.size(); ++other)
                if (!works_.contains({p, other})) model.choices.alternatives[other].allowed = false;
        return falls_short(before, model.choices.alternatives[w]);
    }

    /// What gets too hot in one sequence does in any.
    void leave_out_hot_step(std::size_t p, std::size_t w) {
        PanelModel& model = models_[p];
        const std::size_t hot = model.alternatives[w].outlook.sequence[works_.at({p, w}).hottest_step].step;
        for (std::size_t other = 1; other < model.alternatives.size(); ++other) {
            PanelAlternative& alternative = model.alternatives[other];
            if (works_.contains({p, other}) ||
                std::ranges::find(alternative.outlook.sequence, hot, &Sets::step) ==
                    alternative.outlook.sequence.end())
                continue;
            alternative.cool = false, alternative.peak_film_c = works_.at({p, w}).peak_film_c;
            model.choices.alternatives[other] = choice_of(alternative);
        }
    }

    bool falls_short(const Alternative& before, const Alternative& now) const {
        const double wanted = std::min(before.share, record_.target.share);
        return !now.allowed || now.share < wanted - 1e-12 ||
               (terms_.film_um && now.film_um > *terms_.film_um);
    }

    /// Works a way over the panel. With tape before hold-backs, which takes more time and leaves the pad its
    /// path, it counts only where that is surer of its marks.
    void carry_over(std::size_t p, std::size_t w, bool tape_first) {
        PanelModel& model = models_[p];
        PanelWorkTerms terms{
            record_.target.reserve_um, terms_.threshold, terms_.pairs, terms_.seed, terms_.hand, tape_first};
        const auto all = static_cast<double>(models_.size());
        const auto say = [&](double share) {
            return voice_.say(model.name,
                              learning_share + (1 - learning_share) * (static_cast<double>(p) + share) / all);
        };
        PanelWork work =
            work_panel(library_, model.whole, steps_of_alternative(model, model.alternatives[w]), terms, say);
        PanelAlternative alternative = as_worked(model, model.alternatives[w], work);
        const Alternative choice = choice_of(alternative);
        if (tape_first && (!choice.allowed || choice.share <= model.choices.alternatives[w].share)) return;
        model.alternatives[w] = std::move(alternative), model.choices.alternatives[w] = choice;
        works_[{p, w}] = std::move(work);
    }

    /// A way as it turns out with its hold-backs and tape.
    PanelAlternative as_worked(const PanelModel& model, PanelAlternative alternative,
                               const PanelWork& work) const {
        alternative.machine_s = work.time_s;
        alternative.time_s = worked_time_s(work);
        alternative.peak_film_c = work.peak_film_c;
        alternative.cool = work.peak_film_c <= Surroundings{}.film_limit_c;
        // Where nothing is kept off, its lines are those that it was weighed with.
        if (std::ranges::all_of(work.kept_off, [](const auto& words) { return words.empty(); }))
            return alternative;
        const SquareGround& ground = model.advice->ground;
        const Sequence sequence = alternative.outlook.sequence;
        std::vector<StepEffect> effects = ground.effects;
        for (std::size_t k = 0; k < sequence.size(); ++k)
            take_removed(effects[sequence[k].step], ground.cells, work.results[k].fields.removed_um);
        const AtPoints points =
            at_points(effects, sequence, ground.marks, model.belief, ground.clear, record_.target.reserve_um);
        alternative.outlook = outlook_of(points, effects, sequence, model.belief, record_.target);
        weigh(model, alternative, effects, points);
        return alternative;
    }

    const PanelWork* work_of(std::size_t p) const {
        const auto found = works_.find({p, chosen_[p]});
        return found == works_.end() ? nullptr : &found->second;
    }

    double panel_time_s(std::size_t p) const {
        const PanelWork* work = work_of(p);
        return work ? worked_time_s(*work) : 0;
    }

    double worked_time_s(const PanelWork& work) const {
        return work.time_s + terms_.set_up.each_step_s * static_cast<double>(work.steps.size()) +
               terms_.set_up.each_tape_s * work.tapes;
    }

    /// The order in which the steps of a choice are best done: the coarsest step that is next on any panel,
    /// on all panels where it is next, but not while a panel that needs it as well has another to do first.
    /// Each change of pad is then made once as far as can be, and the coarse grain is off the vehicle before
    /// the finish begins.
    std::vector<VehiclePlan::Turn> order_of(const std::vector<std::size_t>& alternatives) const {
        std::vector<std::vector<std::size_t>> ahead(models_.size());
        std::map<std::size_t, double>
            coarseness; // by kit step: depth of its own marks, the most on any panel
        for (std::size_t p = 0; p < models_.size(); ++p)
            for (const Sets& part : models_[p].alternatives[alternatives[p]].outlook.sequence) {
                const std::size_t step = models_[p].kit_step[part.step];
                ahead[p].push_back(step);
                double& depth = coarseness[step];
                depth = std::max(depth, models_[p].advice->ground.effects[part.step].own.depth_um);
            }
        std::vector<std::size_t> next(models_.size(), 0);
        std::vector<VehiclePlan::Turn> turns;
        for (;;) {
            const auto waits = [&](std::size_t step) { // for a panel that is not there yet
                for (std::size_t p = 0; p < ahead.size(); ++p)
                    for (std::size_t k = next[p] + 1; k < ahead[p].size(); ++k)
                        if (ahead[p][k] == step && ahead[p][next[p]] != step) return true;
                return false;
            };
            const auto rank = [&](std::size_t step) { return std::pair(!waits(step), coarseness[step]); };
            std::optional<std::size_t> coarsest;
            for (std::size_t p = 0; p < ahead.size(); ++p)
                if (next[p] < ahead[p].size() && (!coarsest || rank(ahead[p][next[p]]) > rank(*coarsest)))
                    coarsest = ahead[p][next[p]];
            if (!coarsest) return turns;
            VehiclePlan::Turn turn;
            turn.step = report_.steps[*coarsest].id, turn.words = report_.steps[*coarsest].words;
            for (std::size_t p = 0; p < ahead.size(); ++p)
                if (next[p] < ahead[p].size() && ahead[p][next[p]] == *coarsest)
                    turn.panels.push_back(p), ++next[p];
            turns.push_back(std::move(turn));
        }
    }

    double total_time_s() const {
        double sum = terms_.set_up.change_s * static_cast<double>(order_of(chosen_).size());
        for (std::size_t p = 0; p < models_.size(); ++p) sum += panel_time_s(p);
        return sum;
    }

    // ---- what is said of it -----------------------------------------------------------------------

    VehiclePlan written() {
        VehiclePlan plan;
        plan.name = record_.name, plan.target = record_.target, plan.set_up = terms_.set_up;
        for (std::size_t p = 0; p < models_.size(); ++p) {
            plan.panels.push_back(panel_plan(p));
            if (!voice_.say(models_[p].name, 1)) throw Stopped();
        }
        plan.order = order_of(chosen_);
        std::vector<std::size_t> done(models_.size(), 0); // steps of each panel that had their turn
        for (VehiclePlan::Turn& turn : plan.order) {
            turn.time_s = terms_.set_up.change_s;
            for (const std::size_t p : turn.panels)
                turn.time_s += terms_.set_up.each_step_s + plan.panels[p].steps[done[p]++].time_s;
        }
        plan.time_s = total_time_s();
        add_used(plan);
        add_front(plan);
        return plan;
    }

    PanelPlan panel_plan(std::size_t p) const {
        const PanelModel& model = models_[p];
        const PanelAdvice& advice = *model.advice;
        const PanelAlternative& alternative = model.alternatives[chosen_[p]];
        PanelPlan plan;
        plan.panel = advice.panel, plan.name = model.name;
        plan.plastic = advice.ground.panel->substrate.polymer;
        plan.area_m2 = model.choices.area_m2;
        plan.outlook = alternative.outlook, plan.sure_share = alternative.sure_share,
        plan.open_keeping = alternative.open_keeping;
        plan.clear_um = advice.ground.clear.mean_um, plan.clear_sd_um = advice.ground.clear.sd_um;
        plan.chips = advice.ground.chips;
        plan.allowance_left_um = model.task.allowance_left_um;
        if (const PanelWork* work = work_of(p)) {
            for (std::size_t k = 0; k < work->steps.size(); ++k)
                plan.steps.push_back(planned_step(model, alternative, *work, k));
            for (const RegionAtRisk& region : work->regions)
                if (region.edge >= 0 || region.crest >= 0 || region.chance > 1 - record_.target.keep_chance)
                    plan.at_risk.push_back(region);
            plan.chance_of_keeping = 1 - work->highest_chance, plan.keeping_error = work->standard_error;
            plan.weakest_cell = work->weakest_cell,
            plan.weakest = place_of(*model.whole.panel, work->weakest_cell);
            plan.time_s = panel_time_s(p);
            plan.share_whole = share_over_all(model, alternative.outlook.sequence, *work);
        }
        tell_decision(plan, {advice, model.alternatives, chosen_[p], record_.target, terms_});
        return plan;
    }

    /// Of the marks, cleared over all of the panel: what was held back or taped keeps its own.
    Interval share_over_all(const PanelModel& model, const Sequence& sequence, const PanelWork& work) const {
        const Panel& panel = *model.whole.panel;
        std::vector<std::size_t> cells;
        for (std::size_t k = 0; k < panel.grid.cells(); ++k)
            if (panel.inside[k]) cells.push_back(k);
        std::vector<StepEffect> effects = model.advice->ground.effects;
        for (std::size_t k = 0; k < sequence.size(); ++k)
            take_removed(effects[sequence[k].step], cells, work.results[k].fields.removed_um);
        const AtPoints points =
            at_points(effects, sequence, marks_on(panel, model.whole.marks, cells), model.belief,
                      model.advice->ground.clear, record_.target.reserve_um);
        return outlook_of(points, effects, sequence, model.belief, record_.target).share;
    }

    PlannedStep planned_step(const PanelModel& model, const PanelAlternative& alternative,
                             const PanelWork& work, std::size_t k) const {
        const KitStep& step = report_.steps[model.kit_step[alternative.outlook.sequence[k].step]];
        RunJob job = work.jobs[k];
        job.request.technique = step.id; // what its summary calls it
        PlannedStep out;
        out.id = step.id,
        out.words = model.advice->ground.effects[alternative.outlook.sequence[k].step].words;
        out.machine = step.technique.machine, out.pad = job.step.pad.name, out.liquid = job.step.liquid.name;
        out.paper = job.step.liquid.paper, out.rotary = job.step.machine.kind == MachineKind::rotary;
        out.sets = work.steps[k].sets, out.technique = work.steps[k].technique,
        out.kept_off = work.kept_off[k];
        out.open_um = out.sets * work.open_um[k];
        out.time_s = out.sets * job.path.duration_s();
        const RunResult& result = work.results[k];
        out.peak_film_c = result.heat->peak().film_c;
        const auto recharges = std::ranges::count_if(job.path.samples, &ArmSample::recharge);
        out.charges = out.sets * (1 + static_cast<int>(recharges));
        out.liquid_ml = out.paper ? 0 : charge_ml * out.charges;
        const Outcome outcome{result, judge(job.panel, result.fields, job.step.pad.radius_m)};
        out.summary = std::make_shared<const nlohmann::json>(summary_of(job, outcome));
        out.lost_mean_um = outcome.verdict.removed_volume_m3 / job.panel.area_m2() * 1e6;
        out.lost_median_um = median_on(job.panel, result.fields.removed_um);
        out.lost_worst_um = outcome.verdict.most_removed_um;
        return out;
    }

    void add_used(VehiclePlan& plan) const {
        std::map<std::string, int> pad_charges, sheets;
        std::map<std::string, double> liquid_ml, machine_s;
        for (const PanelPlan& panel : plan.panels)
            for (const PlannedStep& step : panel.steps) {
                (step.paper ? sheets[step.liquid] : pad_charges[step.pad]) += step.charges;
                if (!step.paper) liquid_ml[step.liquid] += step.liquid_ml;
                machine_s[step.machine] += step.time_s;
            }
        for (const auto& [pad, charges] : pad_charges)
            plan.pads.push_back({pad, std::ceil(charges / double{charges_a_pad})});
        for (const auto& [paper, count] : sheets) plan.papers.push_back({paper, static_cast<double>(count)});
        for (const auto& [liquid, ml] : liquid_ml) plan.liquids_ml.push_back({liquid, ml});
        for (const auto& [machine, seconds] : machine_s) plan.machine_s.push_back({machine, seconds});
    }

    /// The front over the panels on which there is anything to choose, with the changes of step counted.
    void add_front(VehiclePlan& plan) const {
        std::vector<PanelAlternatives> panels;
        std::vector<std::size_t> which, chosen;
        for (std::size_t p = 0; p < models_.size(); ++p) {
            if (!models_[p].workable) continue;
            panels.push_back(models_[p].choices), which.push_back(p), chosen.push_back(chosen_[p]);
        }
        if (panels.empty()) return;
        const auto with_changes = [&](FrontPoint point) {
            std::vector<std::size_t> alternatives(models_.size(), 0);
            for (std::size_t n = 0; n < which.size(); ++n) alternatives[which[n]] = point.alternatives[n];
            point.time_s += terms_.set_up.change_s * static_cast<double>(order_of(alternatives).size());
            return point;
        };
        std::vector<FrontPoint> points;
        for (FrontPoint& point : front_of(panels)) points.push_back(with_changes(std::move(point)));
        for (const FrontPoint& point : points)
            if (std::ranges::none_of(points, [&](const FrontPoint& other) { return beats(other, point); }))
                plan.front.push_back({point.film_um, point.share, point.time_s});
        const FrontPoint now = with_changes(point_of(panels, chosen));
        plan.chosen = {now.film_um, now.share, now.time_s};
        plan.film_um = now.film_um, plan.share = now.share;
    }

    const Library& library_;
    const SectionRecord& record_;
    const std::vector<PanelTask>& tasks_;
    PlanTerms terms_;
    Voice voice_;
    WorkedSets* kept_;
    SectionReport report_;
    std::vector<PanelModel> models_;
    std::vector<std::size_t> chosen_;                                ///< a way for each panel
    std::map<std::pair<std::size_t, std::size_t>, PanelWork> works_; ///< by panel and way
};

} // namespace

VehiclePlan plan_vehicle(const Library& library, const SectionRecord& record,
                         const std::vector<PanelTask>& tasks, const PlanTerms& terms, int threads,
                         const PlanProgress& progress, WorkedSets* kept) {
    return Planning(library, record, tasks, terms, progress, kept).plan(threads);
}

} // namespace sparecoat::plan
