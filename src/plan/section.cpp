// Advice on test sections: what a record's squares teach, and what follows for its panels.
#include "plan/section.hpp"
#include "formats/nearest.hpp"
#include "formats/reader.hpp"
#include "plan/section_ground.hpp"
#include "run/threads.hpp"
#include "units/error.hpp"
#include <algorithm>
#include <fmt/format.h>
#include <limits>

namespace sparecoat::plan {
namespace {

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
    std::string cannot;                ///< why there is none, where all panels are asked for
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
    Advising(const Library& library, const SectionRecord& record, const std::string& panel, WorkedSets& kept)
        : library_(library), record_(record), asked_(panel), kept_(kept) {}

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
        return {model_for(library_, panel), {}, {}, {}};
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
                return ground_of(library_, worked.model, report_.steps, used(k, s), squares[s], meter, kept_);
            }));
        if (!asked_for(k)) return;
        try {
            const TapedSquare square = squares.empty() ? usual_square(*worked.model.panel) : squares.back();
            worked.open = with_place(place_of(record_, k), [&] {
                return open_ground_of(library_, worked.model, report_.steps, all_steps(), square, meter,
                                      kept_);
            });
        } catch (const InputError& error) {
            if (!asked_.empty()) throw;
            worked.cannot = fmt::format("{}; it takes {}", error.found(), error.allowed());
        }
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
        if (!worked.open) {
            out.ground.panel = worked.model.panel;
            out.cannot = worked.cannot, out.belief = report_.learned.panels[k];
            out.advice.next = Next::cannot;
            return out;
        }
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
    WorkedSets& kept_;
    SectionReport report_;
    std::vector<Worked> worked_;
    Evidence evidence_;
    std::vector<std::size_t> first_square_; ///< of each panel among the evidence's, and one past the last
};

} // namespace

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
                        int threads, const Progress& progress, WorkedSets* kept) {
    WorkedSets own;
    return Advising(library, record, panel, kept ? *kept : own).report(threads, progress);
}

} // namespace sparecoat::plan
