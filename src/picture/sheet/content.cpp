#include "picture/sheet/content.hpp"
#include "picture/plan_figures.hpp"
#include <cmath>
#include <fmt/format.h>
#include <fmt/ranges.h>

namespace sparecoat::picture::sheet {

std::string bare_film(double um, FilmUnit unit) {
    const std::string text = film_text(um, unit);
    return text.substr(0, text.rfind(' '));
}

std::string visit_text(const Visit& visit) {
    return visit.date + (visit.label.empty() ? "" : ", " + visit.label);
}

std::string marks_text(const Defects& defects) {
    std::vector<std::string_view> kinds;
    for (const MarkPopulation& marks : defects.marks)
        if (clearable(marks.kind)) kinds.push_back(name_of(marks.kind));
    return fmt::format("{}", fmt::join(kinds, ", "));
}

std::string film_read_text(const SheetPanel& panel, bool after_work, bool of_clear, FilmUnit unit) {
    const auto read = statistics_of(panel.readings, after_work, of_clear);
    if (!read) return "";
    if (read->spots == 1) return film_text(read->mean_um, unit) + " at 1 spot";
    return fmt::format("{} on average, from {} to {}, at {} spots", film_text(read->mean_um, unit),
                       bare_film(read->least_um, unit), film_text(read->most_um, unit), read->spots);
}

bool has_steps(const SheetPanel& panel) { return panel.plan && !panel.plan->steps.empty(); }

std::optional<double> planned_um(const SheetPanel& panel) {
    if (panel.spent.best || !has_steps(panel)) return std::nullopt;
    return panel.plan->outlook.film_um.median;
}

std::string left_text(const FilmSum& spent, double allowance_um, FilmUnit unit) {
    const double left_um = allowance_um - spent.um;
    const std::string of = " of the allowance of " + film_text(allowance_um, unit);
    if (left_um <= 0) return fmt::format("nothing{}, which is {} over", of, film_text(-left_um, unit));
    return (spent.sd_um > 0 ? sum_text({left_um, spent.sd_um}, unit) : film_text(left_um, unit)) + of;
}

Table history_table(const SheetPanel& panel, double allowance_um, FilmUnit unit) {
    const std::string u = unit == FilmUnit::mil ? "mil" : "µm";
    Table table{{{"Visit", 2.2},
                 {"What was done", 4},
                 {"Film it cost, " + u, 2, Align::right},
                 {"Left afterwards, " + u, 2, Align::right}},
                {}};
    FilmSum sum;
    for (const PastVisit& past : panel.history) {
        std::string cost = "not known";
        if (past.spent.best) {
            sum.um += past.spent.best->um;
            sum.sd_um = std::hypot(sum.sd_um, past.spent.best->sd_um);
            cost = fmt::format("{} ± {}", bare_film(past.spent.best->um, unit),
                               bare_film(past.spent.best->sd_um, unit));
        }
        table.rows.push_back(
            {visit_text(past.visit), past.done.empty() ? "not said" : past.done, cost,
             fmt::format("{} ± {}", bare_film(allowance_um - sum.um, unit), bare_film(sum.sd_um, unit))});
    }
    return table;
}

document::Document sheet_of(const SheetFacts& facts, const SheetTerms& terms) {
    document::Document sheet;
    sheet.shop = terms.shop.name, sheet.shop_lines = terms.shop.lines;
    if (terms.shop.logo) sheet.logo = document::load_logo(*terms.shop.logo);
    const bool bench = terms.reader == SheetFor::bench;
    sheet.title = bench ? "Job sheet" : "Your vehicle's paint";
    sheet.running = facts.vehicle.name + ", " + visit_text(facts.visit);
    sheet.sections = bench ? bench_sections(facts, terms.unit) : customer_sections(facts, terms.unit);
    sheet.rows = rows_of(facts, terms);
    return sheet;
}

} // namespace sparecoat::picture::sheet
