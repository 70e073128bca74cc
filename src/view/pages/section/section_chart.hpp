#pragma once
#include "picture/chart/plot.hpp"
#include "view/pages/section/section_model.hpp"
#include "view/window/widgets.hpp"
#include <optional>

namespace sparecoat::view::section {

/// Where on the window the numbers of a chart of clearing lie. Film (µm) runs from nothing lost in the unit
/// shown, shares from 0 to 100 %. Film that chance has growing lies at the plot's left side.
struct SectionChart {
    Plot plot;

    float x(double film_um) const { return static_cast<float>(plot.x_at(film_um)); }
    float y(double share_of_one) const { return static_cast<float>(plot.y_at(share_of_one)); }
    ImVec2 at(double film_um, double share_of_one) const { return {x(film_um), y(share_of_one)}; }
    bool holds(ImVec2 p) const;
};
SectionChart section_chart(const Box& plot, double most_um, FilmUnit unit);

/// What the pointer means: a look, a candidate's end, or a candidate by its curve.
struct ChartHit {
    enum class Kind { look, candidate } kind = Kind::candidate;
    std::size_t index = 0;
    bool operator==(const ChartHit&) const = default;
};
/// The nearest within `reach` pixels: points before curves, and of curves that run together the recommended
/// one, else the one that ends first.
std::optional<ChartHit> hit_on(const SectionChart& chart, const SectionFinding& finding, ImVec2 pointer,
                               float reach);

} // namespace sparecoat::view::section
