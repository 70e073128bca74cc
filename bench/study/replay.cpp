// How far a vehicle's plan can be trusted: its steps are carried out again and again, as a hand that wanders
// does, on paint, marks and film drawn from what the plan believes of them, and what comes of it is held
// against what was said. Every replay runs the whole panel with finer steps than the plan's own draws, warm
// paint and a hand of its own for every set, so that the plan's shortcuts are held to account as well;
// whether the beliefs fit real paint it cannot tell. docs/make_replay runs it and puts its table into
// docs/replay.md.
#include "finish/gloss.hpp"
#include "finish/step_marks.hpp"
#include "plan/plan.hpp"
#include "plan/plan_panel.hpp"
#include "tool/hand.hpp"
#include "tool/vary.hpp"
#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <fmt/format.h>
#include <oneapi/tbb/parallel_for.h>
#include <string>
#include <vector>

using namespace sparecoat::cli;

namespace {

/// Steps of a replay's paths: finer than a plan's, and its paint is warm.
constexpr StepLimits replay_steps{0.008, 0.2};

struct Entry {
    const char *panel, *paint, *defects;
};
constexpr Entry vehicle[] = {{"test-plate", "typical", "light"},     {"rear-door", "typical", "moderate"},
                             {"front-wing", "typical", "severe"},    {"bumper-corner", "soft", "moderate"},
                             {"test-plate", "old-thin", "moderate"}, {"front-wing", "old-thin", "light"}};

/// What came of one replay.
struct Came {
    bool met = false;          ///< share and haze
    bool square_kept = false;  ///< all sixteenths of open ground
    bool weakest_kept = false; ///< the spot that the plan holds for the weakest
    double film_um = 0;        ///< mean of open ground
};

struct Replayed {
    double met = 0, kept_open = 0, kept_weakest = 0, film_um = 0;
};

class Panels {
public:
    Panels(const Library& library, const SectionRecord& record, const VehiclePlan& plan,
           const SectionReport& report)
        : library_(library), record_(record), plan_(plan), report_(report) {}

    Replayed replay(std::size_t p, int times) const {
        std::vector<Came> all(static_cast<std::size_t>(times));
        const std::vector<RunJob> jobs = jobs_of(p);
        oneapi::tbb::parallel_for(std::size_t{0}, all.size(),
                                  [&](std::size_t n) { all[n] = once(p, jobs, n); });
        Replayed sum;
        for (const Came& one : all) {
            sum.met += one.met, sum.kept_open += one.square_kept, sum.kept_weakest += one.weakest_kept;
            sum.film_um += one.film_um;
        }
        for (double* value : {&sum.met, &sum.kept_open, &sum.kept_weakest, &sum.film_um}) *value /= times;
        return sum;
    }

private:
    std::vector<RunJob> jobs_of(std::size_t p) const {
        RunRequest request;
        request.panel = record_.panels[p].panel, request.paint = record_.panels[p].paint,
        request.grid_m = 0.004;
        std::vector<RunJob> jobs;
        for (const PlannedStep& step : plan_.panels[p].steps)
            jobs.push_back(prepare(library_, request, step.technique, report_.panels[p].ground.panel.get(),
                                   replay_steps));
        return jobs;
    }

    Came once(std::size_t p, const std::vector<RunJob>& jobs, std::size_t number) const {
        const PanelPlan& plan = plan_.panels[p];
        const PanelAdvice& advice = report_.panels[p];
        const SquareGround& ground = advice.ground;
        const std::uint64_t seed = 1000003 * (p + 1) + 7919 * (number + 1);
        std::int64_t next = 0;
        const auto normal = [&] { return normal_at(seed, HandChannel::drift_v, 1000000 + next++); };
        const double cut = std::exp(advice.belief.cut.mean() + advice.belief.cut.sd() * normal());
        const double depth = std::exp(advice.belief.depth.mean() + advice.belief.depth.sd() * normal());
        const double film = normal(), weak_film = normal();

        const Panel& panel = *ground.panel;
        std::vector<float> removed(panel.grid.cells(), 0.0f);
        std::vector<Marks> marks;
        for (std::size_t k = 0; k < jobs.size(); ++k) {
            double taken_um = 0;
            for (int set = 0; set < plan.steps[k].sets; ++set) {
                const std::uint64_t hand = seed * 31 + 17 * k + static_cast<std::uint64_t>(set) + 1;
                const RunResult one =
                    simulate(panel, setup_of(jobs[k]), vary(jobs[k].path, usual_hand, hand));
                for (std::size_t c = 0; c < removed.size(); ++c)
                    removed[c] += static_cast<float>(cut) * one.fields.removed_um[c];
                taken_um += cut * mean_on(ground, one.fields.removed_um);
            }
            const auto effect = std::ranges::find(ground.effects, plan.steps[k].id, &StepEffect::id);
            marks = after_step(std::move(marks), effect->own, taken_um);
        }
        std::vector<float> judged;
        for (const std::size_t c : ground.cells) judged.push_back(removed[c]);
        const RemovedSpread spread = spread_of(judged);
        const double haze = 100 * (1 - mirror_share(marks, gloss_angles_rad.front()));
        Came came;
        came.met = share_cleared(ground.marks, spread, 1, depth) >= record_.target.share &&
                   haze <= record_.target.haze;
        came.square_kept =
            ground.clear.mean_um + film * ground.clear.sd_um - spread.um.back() >= record_.target.reserve_um;
        const std::size_t w = plan.weakest_cell;
        const double there =
            static_cast<double>(panel.clear_um[w]) + weak_film * static_cast<double>(panel.clear_sd_um[w]);
        came.weakest_kept = there - static_cast<double>(removed[w]) >= record_.target.reserve_um;
        came.film_um = mean_on(ground, removed);
        return came;
    }

    static double mean_on(const SquareGround& ground, const std::vector<float>& field) {
        double sum = 0;
        for (const std::size_t c : ground.cells) sum += static_cast<double>(field[c]);
        return sum / static_cast<double>(ground.cells.size());
    }

    const Library& library_;
    const SectionRecord& record_;
    const VehiclePlan& plan_;
    const SectionReport& report_;
};

std::string percent(double share) { return fmt::format("{:.1f} %", 100 * share); }

} // namespace

int main(int argc, char** argv) {
    const int times = argc > 1 ? std::atoi(argv[1]) : 300;
    const Library library = Library::standard();
    SectionRecord record;
    record.name = "replayed", record.kit = "workshop";
    for (const Entry& entry : vehicle) {
        RecordedPanel panel;
        panel.panel = entry.panel, panel.paint = entry.paint, panel.defects = entry.defects,
        panel.clean = true;
        record.panels.push_back(panel);
    }
    const VehiclePlan plan =
        plan_vehicle(library, record, std::vector<PanelTask>(record.panels.size()), {}, 0);
    const SectionReport report = advise_on(library, record, "", 0);
    const Panels panels(library, record, plan, report);
    fmt::print("{} replays of each panel; of a share of 90 % that many know the truth to ± {:.1f} %.\n\n",
               times, 100 * std::sqrt(0.09 / times));
    fmt::print("| panel, paint, marks | fate | target claimed | met | open ground keeps, claimed | kept | "
               "weakest spot keeps, claimed | kept | "
               "film claimed, µm | taken |\n| --- | --- | ---: | ---: | ---: | ---: | ---: | ---: | ---: | "
               "---: |\n");
    for (std::size_t p = 0; p < plan.panels.size(); ++p) {
        const PanelPlan& panel = plan.panels[p];
        const std::string name =
            fmt::format("{}, {}, {}", vehicle[p].panel, vehicle[p].paint, vehicle[p].defects);
        if (panel.steps.empty()) {
            fmt::print("| {} | {} | | | | | | | | |\n", name, name_of(panel.decision));
            continue;
        }
        const Replayed came = panels.replay(p, times);
        fmt::print("| {} | {} | {} | {} | {} | {} | {} | {} | {:.2f} | {:.2f} |\n", name,
                   name_of(panel.decision), percent(panel.outlook.chance_of_target), percent(came.met),
                   percent(panel.outlook.chance_of_keeping), percent(came.kept_open),
                   percent(panel.chance_of_keeping), percent(came.kept_weakest), panel.outlook.film_um.median,
                   came.film_um);
    }
    return 0;
}
