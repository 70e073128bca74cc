// Techniques side by side on the desk.
#include "study/compare_settings.hpp"
#include "units/error.hpp"
#include "view/app/session.hpp"
#include <fmt/format.h>

namespace sparecoat::view {
namespace {

/// Whether a technique is worked as another one, whatever their names are.
bool worked_alike(const Library& library, const Technique& one, const Technique& other) {
    std::vector<ComparedTechnique> both(2);
    both[0].job.step = resolve(library, one, "");
    both[1].job.step = resolve(library, other, "");
    return settings_that_differ(both).empty();
}

/// What lies on the bench as the first of a comparison: the preset itself, or what was made of it.
void take_first(CompareRequest& request, const Library& library, const Choices& choices) {
    const std::string& reference = choices.request.technique;
    request.techniques.push_back(reference);
    const Technique preset = library.technique(reference);
    if (worked_alike(library, preset, choices.technique)) return;
    request.first = choices.technique;
    request.first->name = preset.name + ", changed";
}

} // namespace

void Session::open_compare(const std::vector<std::string>& against) {
    unless_lost([this, against] {
        attempt([&] {
            if (preparing())
                throw InputError("", "bench", "a technique that is being made ready", "one that is ready");
            CompareRequest request;
            request.run = bench.choices().request;
            request.defects = settings.defects;
            take_first(request, bench.library(), bench.choices());
            for (const std::string& other : against) request.techniques.push_back(other);
            if (request.run.path_csv)
                notify("A recorded path is not compared: the technique's own pattern stands in for it");
            live.pause();
            if (against.empty())
                compared.open_with_next(bench.library(), std::move(request), list(PresetKind::technique));
            else compared.open(bench.library(), std::move(request));
            comparing = true;
            board = false;
        });
    });
}

void Session::close_compare() {
    compared.close();
    comparing = choosing_compared = false;
}

void Session::save_comparison(const std::filesystem::path& folder) {
    if (attempt([&] {
            compared.save(folder, settings.unit,
                          settings.unit == FilmUnit::mil ? PaperSize::letter : PaperSize::a4);
        })) // as whoever reads mil prints
        notify("Writing the report ...");
}

/// @return whether the action is the comparison's, or means something else there.
bool Session::act_on_compare(Action action) {
    if (action == Action::compare) {
        if (lesson) notify("Leave the lesson first");
        else if (shows_compare()) close_compare();
        else open_compare();
        return true;
    }
    if (!shows_compare()) return action >= Action::compare_previous && action <= Action::compare_save;
    if (action >= Action::map_film_lost && action <= Action::map_chance) {
        compared.map = map_of(action);
        return true;
    }
    if (look_by_key(compared.camera, action)) return true;
    const auto row_by = [&](std::size_t by) { compared.row = (compared.row + by) % all_measures.size(); };
    bool ours = true;
    attempt([&] {
        switch (action) {
        case Action::play_pause: compared.play_or_pause(); break;
        case Action::back: compared.seek(compared.t_s() - 1); break;
        case Action::on: compared.seek(compared.t_s() + 1); break;
        case Action::back_far: compared.seek(compared.t_s() - 10); break;
        case Action::on_far: compared.seek(compared.t_s() + 10); break;
        case Action::to_start: compared.seek(0); break;
        case Action::to_end: compared.seek(compared.end_s()); break;
        case Action::drop_spot: compared.pinned.reset(); break;
        case Action::toggle_unit:
            settings.unit = settings.unit == FilmUnit::um ? FilmUnit::mil : FilmUnit::um;
            break;
        case Action::compare_range: compared.whole_range = !compared.whole_range; break;
        case Action::compare_previous: compared.choose_next(-1); break;
        case Action::compare_next: compared.choose_next(1); break;
        case Action::compare_change: choosing_compared = true; break;
        case Action::compare_add: compared.add_next(list(PresetKind::technique)); break;
        case Action::compare_drop: compared.drop(compared.chosen); break;
        case Action::compare_first: compared.make_first(compared.chosen); break;
        case Action::compare_take: take_compared(); break;
        case Action::compare_differences: compared.differences = !compared.differences; break;
        case Action::compare_draws: compared.of_draws = !compared.of_draws; break;
        case Action::compare_row_up: row_by(all_measures.size() - 1); break;
        case Action::compare_row_down: row_by(1); break;
        case Action::compare_work_out: compared.work_out(); break;
        case Action::compare_save:
            if (compared.comparison()) chooser = Chooser::save_report;
            else notify("The report comes once the draws are worked out");
            break;
        default: ours = false;
        }
    });
    return ours;
}

/// Back to the bench with the technique that is chosen.
void Session::take_compared() {
    const std::vector<std::string>& sides = compared.request().techniques;
    if (compared.chosen >= sides.size()) return; // it is still being made ready
    const bool from_bench = compared.chosen == 0 && compared.request().first;
    const std::string reference = sides[compared.chosen];
    close_compare();
    if (!from_bench) load_technique(reference);
}

void Session::tick_compare() {
    attempt([&] {
        if (const std::string told = compared.tick(now_s_, settings.times_real_time, settings.unit);
            !told.empty())
            notify(told);
    });
}

// ---- charts ---------------------------------------------------------------------------------------

void Session::open_evenness() {
    unless_lost([this] {
        if (preparing()) return notify("The technique is being made ready");
        live.pause();
        charts.open(evenness_charts(bench.library(), bench.job()));
    });
}

void Session::save_chart(const std::filesystem::path& file) {
    if (attempt([&] { charts.save(file); })) notify("Chart written: " + file.string());
}

/// @return whether the action is the charts'.
bool Session::act_on_charts(Action action) {
    if (action == Action::charts) {
        if (lesson) notify("Leave the lesson first");
        else if (shows_charts()) charts.close();
        else open_evenness();
        return true;
    }
    if (action < Action::chart_before || action > Action::charts_again) return false;
    if (!shows_charts()) return true;
    switch (action) {
    case Action::chart_before: charts.move(-1); break;
    case Action::chart_after: charts.move(1); break;
    case Action::charts_again: charts.again(); break;
    default:
        if (charts.chart()) chooser = Chooser::save_chart;
    }
    return true;
}

} // namespace sparecoat::view
