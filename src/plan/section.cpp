#include "plan/section.hpp"
#include "finish/clearing.hpp"
#include "finish/step_marks.hpp"
#include "formats/nearest.hpp"
#include "formats/reader.hpp"
#include "run/meter.hpp"
#include "run/threads.hpp"
#include "units/error.hpp"
#include <algorithm>
#include <cmath>
#include <fmt/format.h>
#include <limits>
#include <oneapi/tbb/parallel_for.h>

namespace sparecoat::plan {
namespace {

// ---- where on the panel ---------------------------------------------------------------------------

constexpr double largest_m = 0.4, smallest_m = 0.06, shrink_m = 0.02;
/// Distance from body lines within which the usual square has no ground.
constexpr double off_the_lines_m = 0.03;
/// Ground that is farther away by less is no better.
constexpr double no_farther_m = 0.002;
/// People measure in centimetres.
constexpr double round_to_m = 0.01;

/// Counts of ground that will not do in any upright rectangle of cells, by their sums from the corner.
class RefusedGround {
public:
    RefusedGround(const Panel& panel, double off_lines_m) : grid_(panel.grid) {
        const auto columns = static_cast<std::size_t>(grid_.nu) + 1;
        sums_.assign(columns * (static_cast<std::size_t>(grid_.nv) + 1), 0);
        for (int j = 0; j < grid_.nv; ++j)
            for (int i = 0; i < grid_.nu; ++i) {
                const std::size_t k = grid_.index(i, j);
                const bool refused =
                    !panel.inside[k] || static_cast<double>(panel.crest_distance_m[k]) < off_lines_m;
                at(i + 1, j + 1) = at(i, j + 1) + at(i + 1, j) - at(i, j) + (refused ? 1 : 0);
            }
    }

    bool takes(Point2 centre, double side_m) const {
        const int i0 = cell(centre.x - 0.5 * side_m - grid_.x0_m),
                  i1 = cell(centre.x + 0.5 * side_m - grid_.x0_m);
        const int j0 = cell(centre.y - 0.5 * side_m - grid_.y0_m),
                  j1 = cell(centre.y + 0.5 * side_m - grid_.y0_m);
        if (i0 < 0 || j0 < 0 || i1 >= grid_.nu || j1 >= grid_.nv) return false;
        return at(i1 + 1, j1 + 1) - at(i0, j1 + 1) - at(i1 + 1, j0) + at(i0, j0) == 0;
    }

private:
    int cell(double from_first_m) const { return static_cast<int>(std::lround(from_first_m / grid_.h_m)); }
    int& at(int i, int j) { return sums_[index(i, j)]; }
    int at(int i, int j) const { return sums_[index(i, j)]; }
    std::size_t index(int i, int j) const {
        return static_cast<std::size_t>(j) * (static_cast<std::size_t>(grid_.nu) + 1) +
               static_cast<std::size_t>(i);
    }

    Grid grid_;
    std::vector<int> sums_;
};

double rounded(double metres) { return std::round(metres / round_to_m) * round_to_m; }

/// Of the places where a square of this side has ground those farthest from edges and lines, and of these the
/// one in their middle.
std::optional<TapedSquare> square_of(const Panel& panel, const RefusedGround& ground, double side_m) {
    struct Place {
        Point2 centre;
        double away_m;
    };
    std::vector<Place> places;
    double farthest_m = 0;
    for (std::size_t k = 0; k < panel.grid.cells(); ++k) {
        const double away_m =
            static_cast<double>(std::min(panel.edge_distance_m[k], panel.crest_distance_m[k]));
        if (!panel.inside[k] || away_m < farthest_m - no_farther_m) continue;
        const Point2 centre{rounded(panel.grid.centre(k).x), rounded(panel.grid.centre(k).y)};
        if (!ground.takes(centre, side_m)) continue;
        farthest_m = std::max(farthest_m, away_m);
        places.push_back({centre, away_m});
    }
    std::erase_if(places, [&](const Place& p) { return p.away_m < farthest_m - no_farther_m; });
    if (places.empty()) return std::nullopt;
    Point2 middle;
    for (const Place& p : places) middle = middle + (1.0 / static_cast<double>(places.size())) * p.centre;
    const Place& best =
        *std::ranges::min_element(places, {}, [&](const Place& p) { return norm(p.centre - middle); });
    return TapedSquare{best.centre, {side_m, side_m}, {}, {}};
}

bool within(Point2 p, const std::vector<Point2>& ground) {
    return p.x >= ground[0].x && p.x <= ground[2].x && p.y >= ground[0].y && p.y <= ground[2].y;
}

std::vector<std::size_t> judged_cells(const Panel& panel, const TapedSquare& square, double pad_radius_m) {
    const std::vector<Point2> ground = judged_ground(square, pad_radius_m);
    std::vector<std::size_t> cells;
    for (std::size_t k = 0; k < panel.grid.cells(); ++k)
        if (panel.inside[k] && within(panel.grid.centre(k), ground)) cells.push_back(k);
    if (cells.empty())
        throw InputError("", "/at",
                         fmt::format("{:.0f} mm, {:.0f} mm, off the panel \"{}\"", square.at.x / mm,
                                     square.at.y / mm, panel.name),
                         "the middle of a square on it");
    return cells;
}

/// The panel's open ground: more than a pad's radius from every edge and crest, where a pad that is kept on
/// the panel has covered it as often as any. Where a panel has no such ground, as far in as leaves some.
std::vector<std::size_t> open_cells(const Panel& panel, double pad_radius_m) {
    constexpr double enough_m2 = 0.01;
    const auto enough = static_cast<std::size_t>(std::min(enough_m2, 0.1 * panel.area_m2()) /
                                                 (panel.grid.h_m * panel.grid.h_m));
    std::vector<std::size_t> cells;
    for (double away_m = pad_radius_m; cells.size() <= enough;
         away_m = away_m > panel.grid.h_m ? 0.5 * away_m : -1) {
        cells.clear();
        for (std::size_t k = 0; k < panel.grid.cells(); ++k)
            if (panel.inside[k] &&
                static_cast<double>(std::min(panel.edge_distance_m[k], panel.crest_distance_m[k])) > away_m)
                cells.push_back(k);
    }
    return cells;
}

// ---- what is there --------------------------------------------------------------------------------

/// Populations with a region of their own count by the share of the ground that it covers.
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

double largest_pad_m(const std::vector<KitStep>& steps) {
    return std::ranges::max(steps, {}, &KitStep::pad_radius_m).pad_radius_m;
}

// ---- simulating -----------------------------------------------------------------------------------

/// A recorded panel with its film, made once for all of its squares.
struct SectionPanel {
    RunRequest request;
    std::shared_ptr<const Panel> panel;
    Paint paint;
    std::vector<MarkPopulation> defects;
};

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

/// One set of a step on a square, or over the whole panel where there is none; nothing where its pad has no
/// room.
std::optional<StepEffect> effect_of(const Library& library, const SectionPanel& model, const KitStep& step,
                                    const TapedSquare* square, const std::vector<std::size_t>& cells) {
    Technique technique = step.technique;
    if (square) technique.section_centre = square->at, technique.section_size = square->size;
    std::optional<RunJob> job;
    try {
        job = prepare(library, model.request, technique, model.panel.get(), coarse_steps);
    } catch (const InputError& error) {
        if (error.place().starts_with("/section") || error.place().starts_with("/hold_back"))
            return std::nullopt;
        throw;
    }
    const RunResult result = simulate(*job);
    StepEffect effect;
    effect.id = step.id, effect.words = step.words;
    take_removed(effect, cells, result.fields.removed_um);
    effect.own = step_marks(job->step.liquid, job->step.pad, work_since_fresh_j(job->path, result.trace),
                            model.paint.softness);
    effect.time_s = job->path.duration_s();
    effect.peak_film_c = result.heat->peak().film_c;
    return effect;
}

/// Cells of a panel with what is known of them, and what the wanted steps do there.
SquareGround ground_with(const Library& library, const SectionPanel& model, const std::vector<KitStep>& steps,
                         const std::vector<std::size_t>& wanted, std::vector<std::size_t> cells,
                         const TapedSquare* square, Meter& meter) {
    SquareGround ground;
    ground.panel = model.panel;
    ground.cells = std::move(cells);
    ground.marks = marks_on(*model.panel, model.defects, ground.cells);
    ground.clear = clear_on(*model.panel, ground.cells);
    const std::vector<float> untouched(model.panel->grid.cells(), 0.0f);
    ground.chips = clearing(*model.panel, model.defects, untouched).chips;
    std::vector<std::optional<StepEffect>> effects(wanted.size());
    oneapi::tbb::parallel_for(std::size_t{0}, wanted.size(), [&](std::size_t n) {
        meter.hold();
        effects[n] = effect_of(library, model, steps[wanted[n]], square, ground.cells);
        meter.add(1);
    });
    for (std::optional<StepEffect>& effect : effects)
        if (effect) ground.effects.push_back(std::move(*effect));
    return ground;
}

SquareGround ground_of(const Library& library, const SectionPanel& model, const std::vector<KitStep>& steps,
                       const std::vector<std::size_t>& wanted, const TapedSquare& square, Meter& meter) {
    SquareGround ground =
        ground_with(library, model, steps, wanted, judged_cells(*model.panel, square, largest_pad_m(steps)),
                    &square, meter);
    ground.square = square;
    if (ground.effects.empty() && !wanted.empty())
        throw InputError(
            "", "/size",
            fmt::format("{:.0f} x {:.0f} mm, no room to move a pad", square.size.x / mm, square.size.y / mm),
            "a square larger than the pads, on ground where they have room");
    return ground;
}

/// The panel worked all over, as its open ground shows it. @param square to be named with it.
SquareGround open_ground_of(const Library& library, const SectionPanel& model,
                            const std::vector<KitStep>& steps, const std::vector<std::size_t>& wanted,
                            const TapedSquare& square, Meter& meter) {
    SquareGround ground = ground_with(library, model, steps, wanted,
                                      open_cells(*model.panel, largest_pad_m(steps)), nullptr, meter);
    ground.square = square;
    if (ground.effects.empty())
        throw InputError("", "/panel",
                         fmt::format("\"{}\", with no room for any of the kit's pads", model.panel->name),
                         "a kit with a smaller pad");
    return ground;
}

// ---- a record's places ----------------------------------------------------------------------------

Place place_of(const SectionRecord& record, std::size_t panel) {
    return Place{record.file, ""}.at("panels").at(panel);
}
Place place_of(const SectionRecord& record, std::size_t panel, std::size_t square) {
    return place_of(record, panel).at("squares").at(square);
}

/// Whatever a square is refused for, said with its place in the record.
template <class Make> auto with_place(const Place& square, Make make) {
    try {
        return make();
    } catch (const InputError& error) {
        if (!error.file().empty() || !error.place().starts_with("/")) throw;
        throw InputError(square.file, square.pointer + error.place(), error.found(), error.allowed());
    }
}

/// What an entry names, with the entry's own line at fault where that leads nowhere.
template <class Make> auto with_key(const SectionRecord& record, const Place& place, Make make) {
    try {
        return make();
    } catch (const UnknownPreset& unknown) {
        if (record.file.empty()) throw;
        throw InputError(place.file, place.pointer, unknown.found(), unknown.allowed());
    }
}

std::size_t step_at(const std::vector<KitStep>& steps, const std::string& id, const Place& place) {
    try {
        return static_cast<std::size_t>(&step_named(steps, id) - steps.data());
    } catch (const InputError& error) {
        throw InputError(place.file, place.pointer, error.found(), error.allowed());
    }
}

/// The kit's steps that were used on a square, each once and in the kit's order.
std::vector<std::size_t> used_steps(const std::vector<KitStep>& steps, const TapedSquare& square,
                                    const Place& place) {
    std::vector<bool> used(steps.size(), false);
    for (std::size_t t = 0; t < square.tries.size(); ++t)
        used[step_at(steps, square.tries[t].step, place.at("tries").at(t).at("step"))] = true;
    std::vector<std::size_t> indices;
    for (std::size_t k = 0; k < steps.size(); ++k)
        if (used[k]) indices.push_back(k);
    return indices;
}

// ---- evidence -------------------------------------------------------------------------------------

/// What was done on a square up to and with one of its tries; neighbours of one step are added up.
Sequence sequence_of(const SquareGround& ground, std::size_t tries, const Place& place) {
    Sequence sequence;
    for (std::size_t t = 0; t < tries; ++t) {
        const Try& work = ground.square.tries[t];
        const auto found = std::ranges::find(ground.effects, work.step, &StepEffect::id);
        if (found == ground.effects.end())
            place.at("tries").at(t).at("step").refuse(
                fmt::format("\"{}\", whose pad has no room there", work.step),
                "a step whose pad has room on the square and on the panel");
        const auto step = static_cast<std::size_t>(found - ground.effects.begin());
        if (!sequence.empty() && sequence.back().step == step) sequence.back().sets += work.sets;
        else sequence.push_back({step, work.sets});
    }
    return sequence;
}

/// One look a try, empty where nobody looked, so that looks and tries count alike.
std::vector<Look> looks_of(const SquareGround& ground, const Place& place) {
    std::vector<Look> looks;
    for (std::size_t t = 0; t < ground.square.tries.size(); ++t) {
        const Sequence sequence = sequence_of(ground, t + 1, place);
        const Try& work = ground.square.tries[t];
        Look look{
            removed_by(ground.effects, sequence), mean_removed_um(ground.effects, sequence), {}, work.gauge};
        if (work.seen) look.seen = seen_share(*work.seen);
        looks.push_back(std::move(look));
    }
    return looks;
}

std::optional<Done> done_on(const SquareGround& ground, const Place& place) {
    const std::vector<Try>& tries = ground.square.tries;
    if (tries.empty()) return std::nullopt;
    return Done{sequence_of(ground, tries.size(), place), tries.back().seen || tries.back().gauge};
}

/// Everything that was simulated of one panel's entry.
struct Worked {
    SectionPanel model;
    std::vector<SquareGround> squares; ///< as in the record, with the steps that were used there
    std::optional<SquareGround> open;  ///< with all steps, where the panel is asked for
};

/// The marks that a panel's squares speak of: those on the ground of all of them.
std::vector<MarkPopulation> marks_of_all(const Worked& worked) {
    std::vector<std::size_t> cells;
    for (const SquareGround& square : worked.squares)
        cells.insert(cells.end(), square.cells.begin(), square.cells.end());
    return cells.empty() ? worked.model.defects : marks_on(*worked.model.panel, worked.model.defects, cells);
}

/// What is asked for, and what has to be simulated for it.
class Advising {
public:
    Advising(const Library& library, const SectionRecord& record, const std::string& panel)
        : library_(library), record_(record), asked_(panel) {}

    SectionReport report(int threads, const Progress& progress) {
        hold_to_asked();
        report_.record = record_;
        const Place root{record_.file, ""};
        report_.kit = with_key(record_, root.at("kit"), [&] { return library_.kit(record_.kit); });
        report_.steps = steps_of(library_, report_.kit);
        for (std::size_t k = 0; k < record_.panels.size(); ++k) worked_.push_back(open(k));
        Meter meter(static_cast<double>(steps_in_all()), progress);
        on_threads(threads, [&] {
            for (std::size_t k = 0; k < worked_.size(); ++k) simulate(k, meter);
        });
        gather();
        report_.learned = learn(evidence_);
        for (std::size_t k = 0; k < worked_.size(); ++k)
            if (asked_for(k)) report_.panels.push_back(advice_on(k));
        return std::move(report_);
    }

private:
    bool asked_for(std::size_t panel) const {
        return asked_.empty() || record_.panels[panel].panel == asked_;
    }

    void hold_to_asked() const {
        if (asked_.empty() ||
            std::ranges::find(record_.panels, asked_, &RecordedPanel::panel) != record_.panels.end())
            return;
        std::vector<std::string> known;
        for (const RecordedPanel& panel : record_.panels) known.push_back(panel.panel);
        throw InputError(record_.file, "/panels", fmt::format("no panel \"{}\"", asked_),
                         suggestion(asked_, known, "panels on file"));
    }

    Worked open(std::size_t k) {
        const RecordedPanel& panel = record_.panels[k];
        const Place place = place_of(record_, k);
        // Looked up one by one first, so that the right line is named.
        with_key(record_, place.at("panel"), [&] { return library_.panel(panel.panel); });
        with_key(record_, place.at("paint"), [&] { return library_.paint(panel.paint); });
        with_key(record_, place.at("defects"), [&] { return library_.defects(panel.defects); });
        return {model_for(library_, panel), {}, {}};
    }

    std::vector<std::size_t> used(std::size_t panel, std::size_t square) const {
        return used_steps(report_.steps, record_.panels[panel].squares[square],
                          place_of(record_, panel, square));
    }
    std::vector<std::size_t> all_steps() const {
        std::vector<std::size_t> all(report_.steps.size());
        for (std::size_t k = 0; k < all.size(); ++k) all[k] = k;
        return all;
    }

    std::size_t steps_in_all() const {
        std::size_t sum = 0;
        for (std::size_t k = 0; k < record_.panels.size(); ++k) {
            for (std::size_t s = 0; s < record_.panels[k].squares.size(); ++s)
                sum += used(k, s).size(); // and refused before any work
            if (asked_for(k)) sum += report_.steps.size();
        }
        return sum;
    }

    void simulate(std::size_t k, Meter& meter) {
        const std::vector<TapedSquare>& squares = record_.panels[k].squares;
        Worked& worked = worked_[k];
        for (std::size_t s = 0; s < squares.size(); ++s)
            worked.squares.push_back(with_place(place_of(record_, k, s), [&] {
                return ground_of(library_, worked.model, report_.steps, used(k, s), squares[s], meter);
            }));
        if (!asked_for(k)) return;
        const TapedSquare square = squares.empty() ? usual_square(*worked.model.panel) : squares.back();
        worked.open = with_place(place_of(record_, k), [&] {
            return open_ground_of(library_, worked.model, report_.steps, all_steps(), square, meter);
        });
    }

    std::size_t paint_of(std::size_t panel) {
        const std::string& name = record_.panels[panel].paint;
        const auto known = std::ranges::find(report_.paints, name);
        if (known != report_.paints.end()) return static_cast<std::size_t>(known - report_.paints.begin());
        report_.paints.push_back(name);
        report_.paint_sd.push_back(worked_[panel].model.paint.softness_sd);
        return report_.paints.size() - 1;
    }

    void gather() {
        for (std::size_t k = 0; k < worked_.size(); ++k) {
            const std::size_t paint = paint_of(k);
            evidence_.panels.push_back({paint, marks_of_all(worked_[k])});
            first_square_.push_back(evidence_.squares.size());
            for (std::size_t s = 0; s < worked_[k].squares.size(); ++s)
                evidence_.squares.push_back({k, looks_of(worked_[k].squares[s], place_of(record_, k, s))});
        }
        first_square_.push_back(evidence_.squares.size());
        evidence_.paint_sd = report_.paint_sd;
    }

    Advice weigh(const SquareGround& ground, const PanelBelief& belief,
                 const std::optional<Done>& done) const {
        AdviceTerms terms;
        const bool reads = report_.kit.gauge && !ground.panel->substrate.polymer;
        terms.gauge_sd_um = reads ? report_.kit.gauge->loss_sd_um() : std::numeric_limits<double>::infinity();
        return advise(ground.effects, ground.marks, belief, ground.clear, record_.target, done, terms);
    }

    PanelAdvice advice_on(std::size_t k) const {
        const Worked& worked = worked_[k];
        PanelAdvice out;
        out.panel = record_.panels[k];
        out.ground = *worked.open;
        out.usual = worked.squares.empty();
        out.belief = report_.learned.panels[k];
        out.tries = tries_beside_model(k);
        for (Conflict conflict : report_.learned.conflicts) {
            if (conflict.square < first_square_[k] || conflict.square >= first_square_[k + 1]) continue;
            conflict.square -= first_square_[k];
            out.conflicts.push_back(conflict);
        }
        if (!out.panel.clean) {
            out.advice.next = Next::clean_first;
            return out;
        }
        const std::optional<Done> done =
            out.usual ? std::nullopt : done_on(out.ground, place_of(record_, k, worked.squares.size() - 1));
        out.advice = weigh(out.ground, out.belief, done);
        if (out.conflicts.empty()) return out;
        out.advice.next = Next::look_again;
        for (const Conflict& conflict : out.conflicts) {
            const Try& work = out.panel.squares[conflict.square].tries[conflict.look];
            EitherWay alternatives{weigh(out.ground, belief_without(k, conflict, conflict.witness), done),
                                   {}};
            if (work.seen && work.gauge && !conflict.impossible) {
                const Witness other = conflict.witness == Witness::lamp ? Witness::gauge : Witness::lamp;
                alternatives.believed = weigh(out.ground, belief_without(k, conflict, other), done);
            }
            out.either_way.push_back(std::move(alternatives));
        }
        return out;
    }

    /// What would be believed of a panel without one witness of a look. Impossible ones are never believed.
    PanelBelief belief_without(std::size_t k, const Conflict& conflict, Witness witness) const {
        std::vector<Observation> out;
        for (const Conflict& c : report_.learned.conflicts)
            if (c.impossible) out.push_back({c.square, c.look, c.witness});
        const Observation this_one{first_square_[k] + conflict.square, conflict.look, witness};
        if (std::ranges::find(out, this_one) == out.end()) out.push_back(this_one);
        return learn_without(evidence_, out).panels[k];
    }

    std::vector<TryReport> tries_beside_model(std::size_t k) const {
        std::vector<TryReport> tries;
        const std::vector<BeliefPoint> belief = points_of(report_.learned.panels[k]);
        for (std::size_t s = 0; s < worked_[k].squares.size(); ++s) {
            const SquareGround& ground = worked_[k].squares[s];
            const Place place = place_of(record_, k, s);
            for (std::size_t t = 0; t < ground.square.tries.size(); ++t) {
                const Sequence sequence = sequence_of(ground, t + 1, place);
                const AtPoints at = at_points(ground.effects, sequence, ground.marks, belief, ground.clear,
                                              record_.target.reserve_um);
                const Outlook now = outlook_of(at, ground.effects, sequence, belief, record_.target);
                tries.push_back({s, t,
                                 share_cleared(ground.marks, removed_by(ground.effects, sequence), 1, 1),
                                 mean_removed_um(ground.effects, sequence), now.share, now.film_um});
            }
        }
        return tries;
    }

    const Library& library_;
    const SectionRecord& record_;
    std::string asked_;
    SectionReport report_;
    std::vector<Worked> worked_;
    Evidence evidence_;
    std::vector<std::size_t> first_square_; ///< of each panel among the evidence's, and one past the last
};

} // namespace

std::vector<Point2> judged_ground(const TapedSquare& square, double pad_radius_m) {
    const auto inset = [&](double side_m) { return std::min(pad_radius_m, 0.25 * side_m); };
    const double u = 0.5 * square.size.x - inset(square.size.x),
                 v = 0.5 * square.size.y - inset(square.size.y);
    return {square.at + Point2{-u, -v}, square.at + Point2{u, -v}, square.at + Point2{u, v},
            square.at + Point2{-u, v}};
}

TapedSquare usual_square(const Panel& panel) {
    for (const double off_lines_m : {off_the_lines_m, 0.0}) {
        const RefusedGround ground(panel, off_lines_m);
        for (double side_m = largest_m; side_m >= smallest_m - 1e-9; side_m -= shrink_m)
            if (const auto square = square_of(panel, ground, side_m)) return *square;
    }
    throw InputError("", "/at", fmt::format("no ground for a square on the panel \"{}\"", panel.name),
                     "the middle and the size of one that is taped");
}

void take_removed(StepEffect& effect, const std::vector<std::size_t>& cells,
                  const std::vector<float>& removed_um) {
    effect.removed_um.clear(), effect.mean_um = 0;
    for (const std::size_t k : cells) {
        effect.removed_um.push_back(removed_um[k]);
        effect.mean_um += static_cast<double>(removed_um[k]) / static_cast<double>(cells.size());
    }
}

SquareGround square_ground(const Library& library, const std::vector<KitStep>& steps,
                           const RecordedPanel& panel, const TapedSquare& square, int threads,
                           const Progress& progress) {
    const SectionPanel model = model_for(library, panel);
    std::vector<std::size_t> all(steps.size());
    for (std::size_t k = 0; k < all.size(); ++k) all[k] = k;
    Meter meter(static_cast<double>(all.size()), progress);
    SquareGround ground;
    on_threads(threads, [&] { ground = ground_of(library, model, steps, all, square, meter); });
    return ground;
}

void hold_to_library(const Library& library, const SectionRecord& record) {
    const Place root{record.file, ""};
    const Kit kit = with_key(record, root.at("kit"), [&] { return library.kit(record.kit); });
    const std::vector<KitStep> steps = steps_of(library, kit);
    for (std::size_t k = 0; k < record.panels.size(); ++k) {
        const RecordedPanel& panel = record.panels[k];
        const Place place = place_of(record, k);
        with_key(record, place.at("panel"), [&] { return library.panel(panel.panel); });
        with_key(record, place.at("paint"), [&] { return library.paint(panel.paint); });
        with_key(record, place.at("defects"), [&] { return library.defects(panel.defects); });
        const SectionPanel model = model_for(library, panel);
        for (std::size_t s = 0; s < panel.squares.size(); ++s) {
            used_steps(steps, panel.squares[s], place_of(record, k, s));
            with_place(place_of(record, k, s),
                       [&] { return judged_cells(*model.panel, panel.squares[s], largest_pad_m(steps)); });
        }
    }
}

SectionReport advise_on(const Library& library, const SectionRecord& record, const std::string& panel,
                        int threads, const Progress& progress) {
    return Advising(library, record, panel).report(threads, progress);
}

} // namespace sparecoat::plan
