// What is filled in over the board.
#include "formats/gauge_csv.hpp"
#include "picture/map_drawing.hpp"
#include "units/error.hpp"
#include "units/quantity.hpp"
#include "units/text.hpp"
#include "units/words.hpp"
#include "vehicle/job_store.hpp"
#include "view/pages/board/board_words.hpp"
#include "view/pages/board/job_fields.hpp"
#include "view/pages/board/job_model.hpp"
#include "view/run/background_task.hpp"
#include <algorithm>
#include <fmt/format.h>

namespace sparecoat::view::board {

namespace fs = std::filesystem;

// ---- forms ----------------------------------------------------------------------------------------

std::vector<std::size_t> BoardField::matches() const {
    std::vector<std::size_t> found;
    for (std::size_t k = 0; k < from.size(); ++k) {
        const std::string words = lower_case(from[k].name + " " + from[k].id);
        bool all = true;
        for (std::size_t at = 0; at < text.size();) {
            const std::size_t end = std::min(text.find(' ', at), text.size());
            all = all && words.find(lower_case(text.substr(at, end - at))) != std::string::npos;
            at = end + 1;
        }
        if (all) found.push_back(k);
    }
    return found;
}

std::string BoardField::value() const {
    if (from.empty()) {
        const auto first = text.find_first_not_of(' ');
        return first == std::string::npos ? "" : text.substr(first, text.find_last_not_of(' ') - first + 1);
    }
    const std::vector<std::size_t> found = matches();
    return found.empty() ? "" : from[found[std::min(row, found.size() - 1)]].id;
}

namespace {

/// "2 sets of polish on medium foam 150 mm, then 1 set of ..."
std::string words_of_steps(const PlanGlance& plan) {
    std::string words;
    for (const PlanGlance::Step& step : plan.steps) add_sets(words, step.sets, step.words);
    return words;
}

} // namespace

void JobModel::ask(BoardForm::Kind kind, FilmUnit unit) { form = form_of(kind, unit); }

/// The work done, as it was noted before or as the plan has it.
void JobModel::fill_work(BoardForm& out, FilmUnit unit) const {
    const BoardPanel& shown = chosen();
    visit();
    out.title = fmt::format("Work done on the {}", shown.panel.name), out.action = "Note it";
    out.remark = fmt::format("Gauge means in {}, on the same marked spots; left empty, the loss is told "
                             "from readings before and after.",
                             text_of(unit));
    const std::string done = shown.work ? shown.work->done : shown.plan ? words_of_steps(*shown.plan) : "";
    out.fields = {{"Done", "in words", done, {}},
                  {"Before", "mean", "", {}},
                  {"After", "mean", "", {}},
                  {"Readings", "behind each", "", {}}};
    if (const auto gauge = shown.work ? shown.work->gauge.pair() : std::nullopt) {
        const double per = unit == FilmUnit::mil ? 1 / um_per_mil : 1;
        out.fields[1].text = fmt::format("{:.6g}", gauge->before_um * per),
        out.fields[2].text = fmt::format("{:.6g}", gauge->after_um * per);
        out.fields[3].text = fmt::format("{}", gauge->n_before);
    }
}

/// The wishes of a plan, and the vibration of each machine of the kit.
void JobModel::fill_plan(BoardForm& out, FilmUnit unit) const {
    visit();
    out.title = "Plan the vehicle", out.action = "Work it out";
    out.remark = "Steps, hold-backs and times for every panel that is clean. It takes minutes and runs "
                 "beside the drawing.";
    out.fields = {
        {"Time limit", "h for the vehicle; empty: none", wish.time_limit, {}},
        {"Film limit", fmt::format("{} off any panel; empty: none", text_of(unit)), wish.film_limit, {}}};
    if (!board_.kit.empty()) {
        const Library presets = job_library(*job_);
        std::vector<std::string> named;
        for (const KitMachine& machine : presets.kit(board_.kit).machines) {
            if (std::ranges::find(named, machine.machine.id) != named.end()) continue;
            named.push_back(machine.machine.id);
            const auto known = wish.a_hv.find(machine.machine.id);
            out.fields.push_back({machine.machine.id,
                                  "its vibration in m/s², from its papers",
                                  known == wish.a_hv.end() ? "" : known->second,
                                  {}});
        }
    }
}

BoardForm JobModel::form_of(BoardForm::Kind kind, FilmUnit unit) const {
    const auto list = [](PresetKind of) { return Library::standard().list(of); };
    BoardForm out;
    out.kind = kind;
    switch (kind) {
    case BoardForm::Kind::visit:
        out.title = "A visit to the shop", out.action = "Add it";
        out.fields = {{"Day", "2026-03-14", today(), {}}, {"Name", "may be left empty", "", {}}};
        break;
    case BoardForm::Kind::panel:
        out.title = "One more panel", out.action = "Add it";
        out.fields = {
            {"Name", "what it is called on this vehicle", "", {}},
            {"Shape", "type some of its words, Up and Down choose", "", list(PresetKind::panel)},
            {"Paint", "type some of its words, Up and Down choose", "typical", list(PresetKind::paint)}};
        break;
    case BoardForm::Kind::marks:
        out.title = fmt::format("Marks on the {}", chosen().panel.name), out.action = "Set them";
        visit();
        out.fields = {
            {"Found with", "type some of its words, Up and Down choose", "", list(PresetKind::defects)}};
        break;
    case BoardForm::Kind::work: fill_work(out, unit); break;
    case BoardForm::Kind::plan: fill_plan(out, unit); break;
    case BoardForm::Kind::sheet:
        visit();
        out.title = "The visit on paper", out.action = "Name the file";
        out.remark = "PDF, HTML or CSV, by the name's ending. The shop's name and logo are those of "
                     "shop.json beside the settings.";
        out.fields = {{"For",
                       "Up and Down choose",
                       "",
                       {{"bench", "the bench: every setting", "", ""},
                        {"customer", "the customer: in plain words", "", ""}}},
                      {"Page", "of a PDF", "", {{"a4", "A4", "", ""}, {"letter", "Letter", "", ""}}}};
        break;
    case BoardForm::Kind::pattern:
        out.title = "Where the gauge is put down", out.action = "Lay it out";
        out.remark = "Rows and columns spread over the panel, away from edges, lines and cut-outs. Readings "
                     "on file stay.";
        out.fields = {{"Rows", "1 to 30", fmt::format("{}", pattern_rows), {}},
                      {"Columns", "1 to 30", fmt::format("{}", pattern_columns), {}}};
        break;
    case BoardForm::Kind::gauge:
        out.title = "The gauge", out.action = "Take it";
        out.remark = "For readings from now on.";
        out.fields = {
            {"Readings", "measurements behind each spot, 1 to 1000", fmt::format("{}", gauge_n), {}},
            {"Repeatability",
             fmt::format("standard deviation of one, in {}", text_of(unit)),
             fmt::format("{:.4g}", gauge_sd_um * (unit == FilmUnit::mil ? 1 / um_per_mil : 1)),
             {}}};
        break;
    }
    return out;
}

bool JobModel::enter_form(FilmUnit unit) {
    if (!form) return false;
    const BoardForm asked = *form;
    try {
        take_form(asked, unit);
    } catch (const InputError& error) {
        form->fault = error.what();
        return false;
    }
    form.reset();
    return true;
}

void JobModel::take_form(const BoardForm& asked, FilmUnit unit) {
    const auto value = [&](std::size_t k) { return asked.fields[k].value(); };
    switch (asked.kind) {
    case BoardForm::Kind::visit: return add_visit(value(0), value(1));
    case BoardForm::Kind::panel:
        for (const std::size_t k : {std::size_t{1}, std::size_t{2}})
            if (value(k).empty())
                throw InputError("", lower_case(asked.fields[k].label), "\"" + asked.fields[k].text + "\"",
                                 "one of the list");
        return add_panel(value(0), value(1), value(2));
    case BoardForm::Kind::marks:
        if (value(0).empty())
            throw InputError("", "marks", "\"" + asked.fields[0].text + "\"", "one of the list");
        return set_marks(value(0));
    case BoardForm::Kind::work: return take_work(asked, unit);
    case BoardForm::Kind::plan:
        wish.time_limit = value(0), wish.film_limit = value(1);
        for (std::size_t k = 2; k < asked.fields.size(); ++k) wish.a_hv[asked.fields[k].label] = value(k);
        return work_out_plan(unit);
    case BoardForm::Kind::sheet:
        for (const BoardField& field : asked.fields)
            if (field.value().empty())
                throw InputError("", lower_case(field.label), "\"" + field.text + "\"", "one of the list");
        sheet.reader = value(0) == "customer" ? SheetFor::customer : SheetFor::bench;
        sheet.page = value(1) == "letter" ? PaperSize::letter : PaperSize::a4;
        sheet_due = true;
        return;
    case BoardForm::Kind::pattern: {
        const int rows = whole_of("rows", value(0), 1, most_spot_rows),
                  across = whole_of("columns", value(1), 1, most_spot_rows);
        const int kept_rows = std::exchange(pattern_rows, rows),
                  kept_columns = std::exchange(pattern_columns, across);
        try {
            begin_readings();
        } catch (...) {
            pattern_rows = kept_rows, pattern_columns = kept_columns;
            throw;
        }
        return;
    }
    case BoardForm::Kind::gauge: {
        const int n = whole_of("readings", value(0), 1, static_cast<int>(most_gauge_n));
        gauge_sd_um = film_of("repeatability", value(1), unit, largest_gauge_sd_um);
        gauge_n = n;
        return;
    }
    }
}

void JobModel::take_work(const BoardForm& asked, FilmUnit unit) {
    const std::string before = asked.fields[1].value(), after = asked.fields[2].value(),
                      n = asked.fields[3].value();
    Work work = panel() && panel()->work ? *panel()->work : Work{};
    work.done = asked.fields[0].value();
    if (work.done.empty()) throw InputError("", "done", "nothing", "what was done, in words");
    if (before.empty() != after.empty())
        throw InputError("", before.empty() ? "before" : "after", "nothing",
                         "the gauge's means before and after, both or neither");
    work.gauge = {};
    if (!before.empty()) {
        const int count = n.empty() ? gauge_n : whole_of("readings", n, 1, static_cast<int>(most_gauge_n));
        work.gauge = GaugeColumns(GaugePair{film_of("before", before, unit, 2000),
                                            film_of("after", after, unit, 2000), count, count, gauge_sd_um});
    }
    // What the plan foretold stands for the work only where that is what was done.
    const PlanGlance* plan = panel() && panel()->plan ? &*panel()->plan : nullptr;
    if (plan && plan->film_um > 0 && plan->film_sd_um > 0 && work.done == words_of_steps(*plan))
        work.predicted_um = plan->film_um, work.predicted_sd_um = plan->film_sd_um;
    note_work(work);
}

} // namespace sparecoat::view::board
