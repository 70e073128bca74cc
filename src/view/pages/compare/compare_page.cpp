#include "view/pages/compare/compare_page.hpp"
#include "study/compare_settings.hpp"
#include "units/error.hpp"

namespace sparecoat::view::compare {
namespace {

/// Whether a technique is worked as another one, whatever their names are.
bool worked_alike(const Library& library, const Technique& one, const Technique& other) {
    std::vector<ComparedTechnique> both(2);
    both[0].job.step = resolve(library, one, "");
    both[1].job.step = resolve(library, other, "");
    return settings_that_differ(both).empty();
}

/// The technique in the window as the first of a comparison: the preset itself, or what was made of it.
void take_first(CompareRequest& request, const Library& library, const Choices& choices) {
    const std::string& reference = choices.request.technique;
    request.techniques.push_back(reference);
    const Technique preset = library.technique(reference);
    if (worked_alike(library, preset, choices.technique)) return;
    request.first = choices.technique;
    request.first->name = preset.name + ", changed";
}

} // namespace

void ComparePage::open(const std::vector<std::string>& against) {
    session_.unless_lost([this, against] {
        session_.attempt([&] {
            if (session_.preparing())
                throw InputError("", "bench", "a technique that is being made ready", "one that is ready");
            CompareRequest request;
            request.run = session_.edits.choices().request;
            request.defects = session_.settings.defects;
            take_first(request, session_.edits.library(), session_.edits.choices());
            for (const std::string& other : against) request.techniques.push_back(other);
            if (request.run.path_csv)
                session_.notify(
                    "A recorded path is not compared: the technique's own pattern stands in for it");
            session_.live.pause();
            if (against.empty())
                model.open_with_next(session_.edits.library(), std::move(request),
                                     session_.list(PresetKind::technique));
            else model.open(session_.edits.library(), std::move(request));
            session_.bring_to_front(*this);
        });
    });
}

bool ComparePage::close() {
    model.close();
    choosing = false;
    session_.put_away(*this);
    return true;
}

void ComparePage::save(const std::filesystem::path& folder) {
    if (session_.attempt([&] {
            model.save(folder, session_.settings.unit,
                       session_.settings.unit == FilmUnit::mil ? PaperSize::letter : PaperSize::a4);
        })) // as whoever reads mil prints
        session_.notify("Writing the report ...");
}

bool ComparePage::act(Action action) {
    if (action == Action::compare) {
        if (session_.in_lesson) session_.notify("Leave the lesson first");
        else if (in_front()) close();
        else open();
        return true;
    }
    if (!in_front()) return action >= Action::compare_previous && action <= Action::compare_save;
    if (action >= Action::map_film_lost && action <= Action::map_chance) {
        model.map = map_of(action);
        return true;
    }
    if (look_by_key(model.camera, action)) return true;
    bool ours = true;
    session_.attempt([&] { ours = act_on_time(action) || act_on_sides(action); });
    return ours;
}

/// The clock of all runs, and what is seen of them.
bool ComparePage::act_on_time(Action action) {
    switch (action) {
    case Action::play_pause: model.play_or_pause(); break;
    case Action::back: model.seek(model.t_s() - 1); break;
    case Action::on: model.seek(model.t_s() + 1); break;
    case Action::back_far: model.seek(model.t_s() - 10); break;
    case Action::on_far: model.seek(model.t_s() + 10); break;
    case Action::to_start: model.seek(0); break;
    case Action::to_end: model.seek(model.end_s()); break;
    case Action::drop_spot: model.pinned.reset(); break;
    case Action::toggle_unit:
        session_.settings.unit = session_.settings.unit == FilmUnit::um ? FilmUnit::mil : FilmUnit::um;
        break;
    case Action::compare_range: model.whole_range = !model.whole_range; break;
    case Action::compare_differences: model.differences = !model.differences; break;
    case Action::compare_draws: model.of_draws = !model.of_draws; break;
    default: return false;
    }
    return true;
}

/// Which techniques there are, and what is told of them.
bool ComparePage::act_on_sides(Action action) {
    const auto row_by = [&](std::size_t by) { model.row = (model.row + by) % all_measures.size(); };
    switch (action) {
    case Action::compare_previous: model.choose_next(-1); break;
    case Action::compare_next: model.choose_next(1); break;
    case Action::compare_change: choosing = true; break;
    case Action::compare_add: model.add_next(session_.list(PresetKind::technique)); break;
    case Action::compare_drop: model.drop(model.chosen); break;
    case Action::compare_first: model.make_first(model.chosen); break;
    case Action::compare_take: take_chosen(); break;
    case Action::compare_row_up: row_by(all_measures.size() - 1); break;
    case Action::compare_row_down: row_by(1); break;
    case Action::compare_work_out: model.work_out(); break;
    case Action::compare_save:
        if (model.comparison()) session_.chooser = Chooser::save_report;
        else session_.notify("The report comes once the draws are worked out");
        break;
    default: return false;
    }
    return true;
}

/// Back to the run with the technique that is chosen.
void ComparePage::take_chosen() {
    const std::vector<std::string>& sides = model.request().techniques;
    if (model.chosen >= sides.size()) return; // it is still being made ready
    const bool from_bench = model.chosen == 0 && model.request().first;
    const std::string reference = sides[model.chosen];
    close();
    if (!from_bench) session_.load_technique(reference);
}

void ComparePage::tick(double now_s) {
    session_.attempt([&] {
        if (const std::string told =
                model.tick(now_s, session_.settings.times_real_time, session_.settings.unit);
            !told.empty())
            session_.notify(told);
    });
}

CompareStage& ComparePage::stage() {
    if (!stage_) stage_ = std::make_unique<CompareStage>();
    return *stage_;
}

void ComparePage::lay_out(float width, float height, float scale) {
    layout_ = lay_out_compare(width, height, scale, model.has_runs() ? model.panes().size() : model.sides(),
                              model.sides(), session_.cards);
}

void ComparePage::work_mouse() { stage().work(model, layout_); }

FrameCount ComparePage::draw_panels(float window_height, float scale) {
    return stage().draw(model, session_.settings, layout_, window_height, scale);
}

bool ComparePage::take_file(Chooser what, const std::filesystem::path& file) {
    if (what != Chooser::save_report) return false;
    save(file);
    return true;
}

} // namespace sparecoat::view::compare
