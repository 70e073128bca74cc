#include "picture/plan_folder.hpp"
#include "picture/chart/colour_bar.hpp"
#include "picture/chart/large_chart.hpp"
#include "picture/run_folder.hpp"
#include "units/quantity.hpp"
#include <algorithm>
#include <fmt/format.h>
#include <nlohmann/json.hpp>

namespace sparecoat::picture {
namespace {

constexpr double front_width = 1200, front_height = 820;
constexpr double choice_radius = 6, plan_radius = 11;

/// The plan's points on their axes, time as their colour.
class FrontChart {
public:
    FrontChart(const VehiclePlan& plan, FilmUnit unit) : plan_(plan) {
        double most_um = plan.chosen.film_um, most_s = plan.chosen.time_s;
        for (const VehiclePlan::Point& point : plan.front)
            most_um = std::max(most_um, point.film_um), most_s = std::max(most_s, point.time_s);
        const double per_um = unit == FilmUnit::mil ? 1 / um_per_mil : 1;
        Plot& plot = chart_.plot;
        plot = {100,
                130,
                960,
                710,
                axis_of(round_scale(0, 1.02 * most_um * per_um), per_um),
                axis_of(locked_scale(0, 104), 100)};
        hours_ = round_scale(0, most_s / 3600);
        chart_.look = large_chart_axes(
            plot,
            fmt::format("film lost on open ground, {} (mean by area)", unit == FilmUnit::mil ? "mil" : "µm"),
            58,
            fmt::format("marks cleared with a chance of {:.3g} %, % (mean by area)",
                        100 * plan.target.chance),
            36);
        chart_.layers = large_chart_target(plot, plan.target.share, ink, 1.4,
                                           fmt::format("target {:.3g} %", 100 * plan.target.share));
        for (const VehiclePlan::Point& point : plan.front)
            chart_.layers.emplace_back(
                PlotMark{{point.film_um, point.share}, dot(point.time_s, choice_radius, 0.8)});
        chart_.layers.emplace_back(
            PlotMark{{plan.chosen.film_um, plan.chosen.share}, dot(plan.chosen.time_s, plan_radius, 3)});
    }

    void draw(const Painter& painter) const {
        painter.text({36, 48}, plan_.name + ": film against marks cleared against time", {{28, true, ink}});
        painter.text({36, 82}, "Each dot is a choice for every panel that no other beats in all three.",
                     {{18, false, large_chart_grey}});
        paint(painter, chart_);
        draw_time_key(painter);
    }

private:
    // Quick is pale, slow is dark.
    static constexpr double quick = 0.92, slow = 0.08;

    Marker dot(double seconds, double radius, double rim) const {
        const double share = hours_.share(seconds / 3600);
        return {Marker::Shape::disc, radius, Fill{clear_left_colours().at(quick - (quick - slow) * share)},
                Stroke{{ink}, rim}};
    }

    void draw_time_key(const Painter& painter) const {
        constexpr double x = 1010, top = 210, bottom = 520;
        ColourBar bar{clear_left_colours(), hours_, "time, h,", "set-up counted"};
        bar.from = quick, bar.to = slow;
        ColourBarLook look;
        look.pieces = static_cast<int>(bottom - top), look.sample = 0; // a row of pixels each
        look.overlap = look.last_overlap = 0.5;
        look.title = {{x, top - 44}, {{17, true, ink}}};
        look.unit = {{x, top - 20}, {{15, false, large_chart_grey}}};
        look.numbers = {{16, false, large_chart_grey}}, look.beside = 10, look.lower = 6;
        paint(painter, bar, {x, top, 22, bottom - top}, look);
        painter.marker({x + 11, bottom + 54}, dot(hours_.low * 3600, plan_radius, 3));
        painter.text({x + 32, bottom + 60}, "the plan", {{16, true, ink}});
    }

    const VehiclePlan& plan_;
    PlacedChart chart_;
    Scale hours_;
};

} // namespace

void draw_front_chart(const std::filesystem::path& png, const VehiclePlan& plan, FilmUnit unit) {
    const Canvas canvas(front_width, front_height, 1, paper);
    FrontChart(plan, unit).draw(CanvasPainter(canvas));
    canvas.write_png(png);
}

nlohmann::json write_plan(const std::filesystem::path& folder, const VehiclePlan& plan, FilmUnit unit) {
    const nlohmann::json document = plan_json(plan);
    write_json(folder / "plan.json", document);
    if (!plan.front.empty()) draw_front_chart(folder / "front.png", plan, unit);
    return document;
}

} // namespace sparecoat::picture
