// How far the advice on test sections can be trusted: invented vehicles whose truth is drawn from the priors
// that the advice starts from, tried, looked at and judged as a shop would, and the truth then held against
// what was said. It tells whether learning and advice are right about their own uncertainty; it cannot tell
// whether the priors are right about real paint. docs/make_coverage runs it and puts its table into
// docs/coverage.md.
#include "decide/advice.hpp"
#include "plan/section.hpp"
#include "tool/hand.hpp"
#include <algorithm>
#include <array>
#include <atomic>
#include <cmath>
#include <cstdlib>
#include <fmt/format.h>
#include <oneapi/tbb/parallel_for.h>
#include <string>
#include <vector>

using namespace sparecoat::cli;

namespace {

/// A vehicle's truth and what a person sees of it, number by number. Vehicles come in pairs, the second with
/// every number mirrored: a sample of a few hundred is else as much as two standard errors harder or softer
/// than the priors, which shows in every chance.
class Draws {
public:
    explicit Draws(std::size_t vehicle) : seed_(vehicle / 2 + 1), sign_(vehicle % 2 == 0 ? 1 : -1) {}
    double normal(double sd) { return sign_ * sd * normal_at(seed_, HandChannel::force, next_++); }

private:
    std::uint64_t seed_;
    double sign_;
    std::int64_t next_ = 0;
};

struct World {
    std::vector<StepEffect> steps;
    std::vector<Defects> defects;
    ClearCoat clear;
    double paint_sd = 0;
    AdviceTerms terms;
    Target target;
};

struct Truth {
    double hand = 0, softness = 0, depth = 0;
    double cut() const { return hand + softness; }
};

/// Gauge: five readings before and after, of a gauge that repeats to this, µm.
constexpr int readings = 5;
constexpr double repeat_sd_um = 1;

/// What a person writes down: a lamp share to the nearest twentieth (hundredth at the top), two gauge means.
Look looked_at(const World& world, const Sequence& work, std::span<const MarkPopulation> marks,
               const Truth& truth, double square, Draws& draws) {
    Look look;
    look.removed = removed_by(world.steps, work);
    look.mean_um = mean_removed_um(world.steps, work);
    const double cut = std::exp(truth.cut() + square);
    const double share = share_cleared(marks, look.removed, cut, std::exp(truth.depth));
    const double seen = std::clamp(share + draws.normal(lamp_sd(share)), 0.0, 1.0);
    const double grain = seen > 0.95 ? 0.01 : 0.05;
    look.seen = seen_number(std::round(seen / grain) * grain);
    const double sd = repeat_sd_um / std::sqrt(readings);
    look.gauge = GaugePair{100 + draws.normal(sd), 100 - cut * look.mean_um + draws.normal(sd), readings,
                           readings, repeat_sd_um};
    return look;
}

struct Hit {
    bool inside = false;
    double width = 0;
};

struct Case {
    std::array<Hit, 4> parameters; ///< cut, depth, softness, hand
    Hit share, film;               ///< of the recommended sequence
    bool recommended = false, met = false, kept = false, conflict = false;
    double claimed = 0, film_um = 0, time_s = 0;
    double compound_film_um = 0, compound_time_s = 0;
    bool compound_met = false;
    double blind_claimed = 0, blind_film_um = 0;
    bool blind = false, blind_met = false;
};

Hit held(const Belief1& belief, double truth) {
    const double low = belief.quantile(0.05), high = belief.quantile(0.95);
    return {truth >= low && truth <= high, high - low};
}
Hit held(const Interval& interval, double truth) {
    return {truth >= interval.low && truth <= interval.high, interval.high - interval.low};
}

/// Of a pair both are found with the same marks.
std::size_t defects_of(const World& world, std::size_t vehicle) { return vehicle / 2 % world.defects.size(); }

Case one_vehicle(const World& world, std::size_t vehicle) {
    Draws draws(vehicle);
    const LearningTerms& learning = world.terms.learning;
    const Truth truth{draws.normal(learning.hand_sd), draws.normal(world.paint_sd),
                      draws.normal(learning.depth_sd)};
    const std::vector<MarkPopulation>& marks = world.defects[defects_of(world, vehicle)].marks;

    Evidence evidence;
    evidence.paint_sd = {world.paint_sd};
    evidence.panels = {{0, marks}};
    std::optional<Done> done;
    const auto advised = [&](const Learned& learned) {
        return advise(world.steps, marks, learned.panels.front(), world.clear, world.target, done,
                      world.terms);
    };

    Case c;
    Learned learned = learn(evidence, learning);
    Advice advice = advised(learned);
    const double rest = draws.normal(learning.square_sd); // the rest of the panel differs as a square would
    const auto outcome = [&](const Sequence& sequence, bool& met, double& film_um) {
        const double cut = std::exp(truth.cut() + rest);
        const double share =
            share_cleared(marks, removed_by(world.steps, sequence), cut, std::exp(truth.depth));
        met = share >= world.target.share && haze_after(world.steps, sequence, cut) <= world.target.haze;
        film_um = cut * mean_removed_um(world.steps, sequence);
        return share;
    };
    if (advice.choice) {
        c.blind = true;
        const Outlook& o = advice.outlooks[*advice.choice];
        c.blind_claimed = o.chance_of_target;
        outcome(o.sequence, c.blind_met, c.blind_film_um);
    }
    for (int trial = 0; trial < 2; ++trial) {
        const Sequence work{advice.trials.front().trial};
        const double square = draws.normal(learning.square_sd);
        evidence.squares.push_back({0, {looked_at(world, work, marks, truth, square, draws)}});
        done = Done{work, true};
        learned = learn(evidence, learning);
        advice = advised(learned);
    }
    c.conflict = !learned.conflicts.empty();
    const PanelBelief& panel = learned.panels.front();
    c.parameters = {held(panel.cut, truth.cut() + rest), held(panel.depth, truth.depth),
                    held(learned.softness.front(), truth.softness), held(learned.hand, truth.hand)};

    // Beginning with the compound on its cutting pad whatever the marks: one set, and what refines it.
    for (const Sequence& s : candidates(world.steps, world.target, world.terms.limits)) {
        if (world.steps[s.front().step].id != "da-15+microfibre-cutting-150+cutting-compound" ||
            s.front().sets != 1)
            continue;
        outcome(s, c.compound_met, c.compound_film_um);
        c.compound_time_s = time_of(world.steps, s);
    }
    if (advice.choice) {
        const Outlook& o = advice.outlooks[*advice.choice];
        c.recommended = true;
        c.claimed = o.chance_of_target;
        const double share = outcome(o.sequence, c.met, c.film_um);
        c.share = held(o.share, share);
        c.film = held(o.film_um, c.film_um);
        c.time_s = o.time_s;
        c.kept = world.clear.mean_um - c.film_um >= world.target.reserve_um;
    }
    return c;
}

World invented_world() {
    const Library library = Library::standard();
    RecordedPanel panel;
    panel.panel = "test-plate", panel.paint = "typical", panel.defects = "severe";
    const std::vector<KitStep> kit = steps_of(library, "workshop");
    TapedSquare square;
    square.at = {0.3, 0.25};
    SquareGround ground = square_ground(library, kit, panel, square, 0);
    World world;
    world.steps = std::move(ground.effects);
    world.clear = ground.clear;
    world.paint_sd = library.paint("typical").softness_sd;
    for (const char* id : {"light", "moderate", "severe"}) world.defects.push_back(library.defects(id));
    world.terms.gauge_sd_um = repeat_sd_um * std::sqrt(2.0 / readings);
    return world;
}

template <class Of> double mean(const std::vector<Case>& cases, Of of) {
    double sum = 0, n = 0;
    for (const Case& c : cases)
        if (const auto value = of(c)) sum += *value, n += 1;
    return n > 0 ? sum / n : 0;
}

std::string percent(double share) { return fmt::format("{:.1f} %", 100 * share); }

} // namespace

int main(int argc, char** argv) {
    const int vehicles = argc > 1 ? std::atoi(argv[1]) : 500;
    if (vehicles < 1) {
        fmt::print(stderr, "usage: {} [VEHICLES]\n", argv[0]);
        return 2;
    }
    const World world = invented_world();
    std::vector<Case> cases(static_cast<std::size_t>(vehicles));
    std::atomic<int> finished = 0;
    oneapi::tbb::parallel_for(std::size_t{0}, cases.size(), [&](std::size_t k) {
        cases[k] = one_vehicle(world, k);
        if (const int n = ++finished; n % 25 == 0) fmt::print(stderr, "{} of {} vehicles\n", n, vehicles);
    });

    using Maybe = std::optional<double>;
    constexpr std::array names{"cut on the panel", "depth of its marks", "softness of the paint", "the hand"};
    fmt::print("| 90 % interval of | holds the truth | mean width |\n| --- | ---: | ---: |\n");
    for (std::size_t k = 0; k < names.size(); ++k)
        fmt::print("| {} (logarithm) | {} | {:.2f} |\n", names[k],
                   percent(mean(cases, [&](const Case& c) { return Maybe(c.parameters[k].inside); })),
                   mean(cases, [&](const Case& c) { return Maybe(c.parameters[k].width); }));
    const auto where = [](bool recommended, double value) { return recommended ? Maybe(value) : Maybe(); };
    fmt::print("| share cleared by the recommended sequence | {} | {} |\n",
               percent(mean(cases, [&](const Case& c) { return where(c.recommended, c.share.inside); })),
               percent(mean(cases, [&](const Case& c) { return where(c.recommended, c.share.width); })));
    fmt::print("| film that it takes | {} | {:.2f} µm |\n",
               percent(mean(cases, [&](const Case& c) { return where(c.recommended, c.film.inside); })),
               mean(cases, [&](const Case& c) { return where(c.recommended, c.film.width); }));

    fmt::print("\n| | after two sections | before any | always the compound first |\n| --- | ---: | ---: | "
               "---: |\n");
    const auto row = [&](const char* what, auto after, auto before, auto compound) {
        fmt::print("| {} | {} | {} | {} |\n", what, after, before, compound);
    };
    const double n = static_cast<double>(vehicles);
    row("vehicles with a recommendation",
        fmt::format("{:.0f}", n * mean(cases, [](const Case& c) { return Maybe(c.recommended); })),
        fmt::format("{:.0f}", n * mean(cases, [](const Case& c) { return Maybe(c.blind); })),
        fmt::format("{}", vehicles));
    row("target met as claimed",
        percent(mean(cases, [&](const Case& c) { return where(c.recommended, c.claimed); })),
        percent(mean(cases, [&](const Case& c) { return where(c.blind, c.blind_claimed); })), "");
    row("target met in truth",
        percent(mean(cases, [&](const Case& c) { return where(c.recommended, c.met); })),
        percent(mean(cases, [&](const Case& c) { return where(c.blind, c.blind_met); })),
        percent(mean(cases, [&](const Case& c) { return Maybe(c.compound_met); })));
    const auto um = [](double value) { return fmt::format("{:.2f} µm", value); };
    row("film taken, mean", um(mean(cases, [&](const Case& c) { return where(c.recommended, c.film_um); })),
        um(mean(cases, [&](const Case& c) { return where(c.blind, c.blind_film_um); })),
        um(mean(cases, [&](const Case& c) { return Maybe(c.compound_film_um); })));
    row("film taken where both have an answer",
        um(mean(cases, [&](const Case& c) { return where(c.recommended && c.blind, c.film_um); })),
        um(mean(cases, [&](const Case& c) { return where(c.recommended && c.blind, c.blind_film_um); })),
        um(mean(cases, [&](const Case& c) { return where(c.recommended && c.blind, c.compound_film_um); })));
    for (std::size_t d = 0; d < world.defects.size(); ++d) {
        std::vector<Case> some;
        for (std::size_t k = 0; k < cases.size(); ++k)
            if (defects_of(world, k) == d) some.push_back(cases[k]);
        const std::string what = fmt::format("film taken, {}", world.defects[d].name);
        row(what.c_str(), um(mean(some, [&](const Case& c) { return where(c.recommended, c.film_um); })),
            um(mean(some, [&](const Case& c) { return where(c.blind, c.blind_film_um); })),
            um(mean(some, [&](const Case& c) { return Maybe(c.compound_film_um); })));
    }
    fmt::print("\nConflicts flagged in {} of the vehicles, of evidence that has none.\n",
               percent(mean(cases, [](const Case& c) { return Maybe(c.conflict); })));
    return 0;
}
