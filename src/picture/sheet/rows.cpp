// The sheet as rows for a spreadsheet.
#include "picture/sheet/content.hpp"
#include "units/quantity.hpp"
#include <algorithm>
#include <array>
#include <fmt/format.h>
#include <fmt/ranges.h>

namespace sparecoat::picture::sheet {
namespace {

constexpr std::array headings{"row",      "vehicle",  "date",           "visit",   "panel",
                              "number",   "what",     "machine",        "pad",     "liquid",
                              "sets",     "passes",   "arm_speed_mm_s", "force_n", "pad_speed_per_min",
                              "kept_off", "minutes",  "film",           "film_sd", "film_unit",
                              "of",       "readings", "x_mm",           "y_mm"};

/// A row in the making: what is not said stays empty.
class Row {
public:
    Row() : texts_(headings.size()) {}
    Row& set(std::string_view heading, std::string text) {
        texts_[static_cast<std::size_t>(std::ranges::find(headings, heading) - headings.begin())] =
            std::move(text);
        return *this;
    }
    std::vector<std::string> take() { return std::move(texts_); }

private:
    std::vector<std::string> texts_;
};

/// To six digits, without a comma for the thousands.
std::string figure(double value) { return fmt::format("{:.6g}", value); }

} // namespace

Table rows_of(const SheetFacts& facts, const SheetTerms& terms) {
    Table table;
    for (const char* heading : headings) table.columns.push_back({heading});
    const double factor = terms.unit == FilmUnit::mil ? 1 / um_per_mil : 1;
    const auto begun = [&](const char* kind, const SheetPanel& panel, int number) {
        Row row;
        row.set("row", kind)
            .set("vehicle", facts.vehicle.name)
            .set("date", facts.visit.date)
            .set("visit", facts.visit.label);
        row.set("panel", panel.panel.name).set("film_unit", terms.unit == FilmUnit::mil ? "mil" : "um");
        if (number > 0) row.set("number", std::to_string(number));
        return row;
    };
    for (const SheetPanel& panel : facts.panels) {
        Row whole = begun("panel", panel, 0);
        whole.set("what", panel.plan   ? std::string(name_of(panel.plan->decision))
                          : panel.work ? panel.work->done
                                       : "");
        if (panel.plan) whole.set("minutes", figure(panel.plan->time_s / 60));
        if (panel.spent.best) {
            whole.set("film", figure(panel.spent.best->um * factor))
                .set("film_sd", figure(panel.spent.best->sd_um * factor))
                .set("of", "lost");
        } else if (const auto planned = planned_um(panel)) {
            whole.set("film", figure(*planned * factor)).set("of", "planned");
        }
        table.rows.push_back(whole.take());
        if (terms.reader == SheetFor::customer) continue;
        for (std::size_t k = 0; panel.plan && k < panel.plan->steps.size(); ++k) {
            const PlannedStep& step = panel.plan->steps[k];
            const Technique& how = step.technique;
            Row row = begun("step", panel, static_cast<int>(k) + 1);
            row.set("what", step.words)
                .set("machine", step.machine)
                .set("pad", step.pad)
                .set("liquid", step.liquid);
            row.set("sets", std::to_string(step.sets)).set("passes", std::to_string(how.passes));
            row.set("arm_speed_mm_s", figure(how.arm_speed_m_s / mm)).set("force_n", figure(how.force_n));
            row.set("pad_speed_per_min", figure(how.speed_rad_s / per_min))
                .set("kept_off", fmt::format("{}", fmt::join(step.kept_off, "; ")));
            row.set("minutes", figure(step.time_s / 60))
                .set("film", figure(step.open_um * factor))
                .set("of", "planned");
            table.rows.push_back(row.take());
        }
        for (const SpotRead& spot : panel.spots)
            for (const auto& reading : {spot.before, spot.after}) {
                if (!reading) continue;
                Row row = begun("reading", panel, spot.number);
                row.set("what", reading->after_work ? "after" : "before")
                    .set("of", reading->of_clear ? "clear" : "total");
                row.set("film", figure(reading->film_um * factor))
                    .set("film_sd", figure(reading->sd_um * factor));
                row.set("readings", std::to_string(reading->n))
                    .set("x_mm", figure(reading->x_m / mm))
                    .set("y_mm", figure(reading->y_m / mm));
                table.rows.push_back(row.take());
            }
    }
    return table;
}

} // namespace sparecoat::picture::sheet
