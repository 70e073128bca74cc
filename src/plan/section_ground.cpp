// What is on the ground of a test section, and what one set of each of a kit's steps does there.
#include "plan/section_ground.hpp"
#include "finish/clearing.hpp"
#include "finish/step_marks.hpp"
#include "run/threads.hpp"
#include "units/error.hpp"
#include <algorithm>
#include <array>
#include <cmath>
#include <fmt/format.h>
#include <oneapi/tbb/parallel_for.h>

namespace sparecoat::plan {
namespace {

/// What is tried of a machine's usual speed where the film would get too hot (common practice, no source:
/// slower before anything else).
constexpr std::array slower_shares{0.85, 0.7, 0.55};

/// A step as it is worked on a panel.
struct WorkedStep {
    StepEffect effect;
    Technique technique; ///< of one set
};

/// "compound on wool 150 mm (rotary, slowed to 1190/min)".
std::string slowed_words(const std::string& words, double speed_rad_s) {
    const std::string slowed = fmt::format(", slowed to {:.0f}/min", speed_rad_s / per_min);
    return words.ends_with(")") ? words.substr(0, words.size() - 1) + slowed + ")" : words + slowed;
}

/// Clear coat in the thinnest tenth of some ground: a door of which half is a repaint has its film to spare
/// in the other half. Its sd is how far the film anywhere there may lie from its mean: what is not known of
/// it, which is much the same for all of the ground, and what differs from place to place.
ClearCoat clear_on(const Panel& panel, std::vector<std::size_t> cells) {
    const auto tenth = static_cast<std::ptrdiff_t>((cells.size() + 9) / 10);
    std::ranges::partial_sort(cells, cells.begin() + tenth, {},
                              [&](std::size_t k) { return std::pair(panel.clear_um[k], k); });
    cells.resize(static_cast<std::size_t>(tenth));
    double sum = 0, squares = 0, unknown = 0;
    for (const std::size_t k : cells) {
        const double clear = static_cast<double>(panel.clear_um[k]),
                     sd = static_cast<double>(panel.clear_sd_um[k]);
        sum += clear, squares += clear * clear, unknown += sd * sd;
    }
    const auto count = static_cast<double>(cells.size());
    const double mean = sum / count;
    return {mean, std::sqrt(std::max(0.0, squares / count - mean * mean) + unknown / count)};
}

/// The hottest film on some cells.
double peak_on(const WorkedSet& set, const std::vector<std::size_t>& cells) {
    float most = 0;
    for (const std::size_t k : cells) most = std::max(most, set.peak_film_c[k]);
    return static_cast<double>(most);
}

/// One set of a technique on a square, or over the whole panel where there is none; nothing where its pad has
/// no room.
std::optional<RunJob> job_of(const Library& library, const SectionPanel& model, Technique technique,
                             const TapedSquare* square) {
    if (square) technique.section_centre = square->at, technique.section_size = square->size;
    try {
        return prepare(library, model.request, technique, model.panel.get(), coarse_steps);
    } catch (const InputError& error) {
        if (error.place().starts_with("/section") || error.place().starts_with("/hold_back"))
            return std::nullopt;
        throw;
    }
}

std::optional<WorkedStep> worked_step(const Library& library, const SectionPanel& model, const KitStep& step,
                                      const TapedSquare* square, const std::vector<std::size_t>& cells,
                                      WorkedSets& kept) {
    WorkedStep out{{}, step.technique};
    std::optional<RunJob> job = job_of(library, model, out.technique, square);
    if (!job) return std::nullopt;
    std::shared_ptr<const WorkedSet> set = kept.of(*job);
    StepEffect& effect = out.effect;
    effect.id = step.id, effect.words = step.words;
    // A square's tries were done as they were done; what is to be done to the panel is done so that it stays
    // cool.
    for (const double share : slower_shares) {
        if (square || peak_on(*set, cells) <= Surroundings{}.film_limit_c) break;
        const double speed_rad_s = share * step.technique.speed_rad_s;
        if (speed_rad_s < job->step.machine.speed_min_rad_s) break;
        out.technique.speed_rad_s = speed_rad_s;
        job = job_of(library, model, out.technique, square);
        set = kept.of(*job);
        effect.words = slowed_words(step.words, speed_rad_s);
    }
    take_removed(effect, cells, set->removed_um);
    effect.own = step_marks(job->step.liquid, job->step.pad, set->work_j, model.paint.softness);
    effect.time_s = job->path.duration_s();
    effect.peak_film_c = peak_on(*set, cells);
    effect.too_hot = !square && effect.peak_film_c > Surroundings{}.film_limit_c;
    effect.pad_radius_m = job->step.pad.radius_m, effect.firmness_pa = job->step.pad.foam.plateau_pa;
    return out;
}

/// Cells of a panel with what is known of them, and what the wanted steps do there.
SquareGround ground_with(const Library& library, const SectionPanel& model, const std::vector<KitStep>& steps,
                         const std::vector<std::size_t>& wanted, std::vector<std::size_t> cells,
                         const TapedSquare* square, Meter& meter, WorkedSets& kept) {
    SquareGround ground;
    ground.panel = model.panel;
    ground.cells = std::move(cells);
    ground.marks = marks_on(*model.panel, model.defects, ground.cells);
    ground.clear = clear_on(*model.panel, ground.cells);
    const std::vector<float> untouched(model.panel->grid.cells(), 0.0f);
    ground.chips = clearing(*model.panel, model.defects, untouched).chips;
    std::vector<std::optional<WorkedStep>> worked(wanted.size());
    oneapi::tbb::parallel_for(std::size_t{0}, wanted.size(), [&](std::size_t n) {
        meter.hold();
        worked[n] = worked_step(library, model, steps[wanted[n]], square, ground.cells, kept);
        meter.add(1);
    });
    for (std::optional<WorkedStep>& step : worked) {
        if (!step) continue;
        ground.effects.push_back(std::move(step->effect));
        ground.techniques.push_back(std::move(step->technique));
    }
    return ground;
}

} // namespace

std::vector<MarkPopulation> marks_on(const Panel& panel, const std::vector<MarkPopulation>& marks,
                                     const std::vector<std::size_t>& cells) {
    std::vector<MarkPopulation> here;
    for (MarkPopulation population : marks) {
        if (!population.region.empty()) {
            const std::vector<std::uint8_t> there = cells_of_region(panel, population.region);
            const auto marked = std::ranges::count_if(cells, [&](std::size_t k) { return there[k] != 0; });
            if (marked == 0) continue;
            population.per_m2 *= static_cast<double>(marked) / static_cast<double>(cells.size());
            population.region.clear();
        }
        here.push_back(std::move(population));
    }
    return here;
}

double largest_pad_m(const std::vector<KitStep>& steps) {
    return std::ranges::max(steps, {}, &KitStep::pad_radius_m).pad_radius_m;
}

SectionPanel model_for(const Library& library, const RecordedPanel& recorded) {
    SectionPanel model;
    model.request.panel = recorded.panel, model.request.paint = recorded.paint;
    model.request.grid_m = coarse_grid_m; // its ground is even but near its tape
    model.request.readings = recorded.film;
    if (recorded.readings) model.request.readings = load_gauge_csv(*recorded.readings);
    LaidPanel laid = lay_panel(library, model.request);
    model.request.readings.reset(); // the film has no say in what a step removes
    model.panel = std::make_shared<const Panel>(std::move(laid.panel));
    model.paint = std::move(laid.paint);
    model.defects = library.defects(recorded.defects).marks;
    return model;
}

void take_removed(StepEffect& effect, const std::vector<std::size_t>& cells,
                  const std::vector<float>& removed_um) {
    effect.removed_um.clear(), effect.mean_um = 0;
    for (const std::size_t k : cells) {
        effect.removed_um.push_back(removed_um[k]);
        effect.mean_um += static_cast<double>(removed_um[k]) / static_cast<double>(cells.size());
    }
}

SquareGround ground_of(const Library& library, const SectionPanel& model, const std::vector<KitStep>& steps,
                       const std::vector<std::size_t>& wanted, const TapedSquare& square, Meter& meter,
                       WorkedSets& kept) {
    SquareGround ground =
        ground_with(library, model, steps, wanted, judged_cells(*model.panel, square, largest_pad_m(steps)),
                    &square, meter, kept);
    ground.square = square;
    if (ground.effects.empty() && !wanted.empty())
        throw InputError(
            "", "/size",
            fmt::format("{:.0f} x {:.0f} mm, no room to move a pad", square.size.x / mm, square.size.y / mm),
            "a square larger than the pads, on ground where they have room");
    return ground;
}

SquareGround open_ground_of(const Library& library, const SectionPanel& model,
                            const std::vector<KitStep>& steps, const std::vector<std::size_t>& wanted,
                            const TapedSquare& square, Meter& meter, WorkedSets& kept) {
    SquareGround ground =
        ground_with(library, model, steps, wanted, open_ground_cells(*model.panel, largest_pad_m(steps)),
                    nullptr, meter, kept);
    ground.square = square;
    if (ground.effects.empty())
        throw InputError("", "/panel",
                         fmt::format("\"{}\", with no room for any of the kit's pads", model.panel->name),
                         "a kit with a smaller pad");
    return ground;
}

SquareGround square_ground(const Library& library, const std::vector<KitStep>& steps,
                           const RecordedPanel& panel, const TapedSquare& square, int threads,
                           const Progress& progress) {
    const SectionPanel model = model_for(library, panel);
    std::vector<std::size_t> all(steps.size());
    for (std::size_t k = 0; k < all.size(); ++k) all[k] = k;
    Meter meter(static_cast<double>(all.size()), progress);
    SquareGround ground;
    WorkedSets kept;
    on_threads(threads, [&] { ground = ground_of(library, model, steps, all, square, meter, kept); });
    return ground;
}

} // namespace sparecoat::plan
