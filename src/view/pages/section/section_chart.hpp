#pragma once
#include "picture/scale.hpp"
#include "view/pages/section/section_model.hpp"
#include "view/window/widgets.hpp"
#include <optional>

namespace sparecoat::view::section {

/// Where on the window the numbers of a chart of clearing lie. Film runs from nothing lost, share from 0 to
/// 100 %.
struct SectionChart {
    Box plot;
    Scale film;        ///< in the unit shown
    Scale share;       ///< per cent
    double per_um = 1; ///< multiplies µm to the unit shown

    float x(double film_um) const {
        return plot.x + plot.w * static_cast<float>(film.share(film_um * per_um));
    }
    float y(double share_of_one) const {
        return plot.y + plot.h * static_cast<float>(1 - share.share(100 * share_of_one));
    }
    /// Inside the plot: film that chance has growing lies at its left side.
    ImVec2 at(double film_um, double share_of_one) const {
        return {std::max(x(film_um), plot.x), y(share_of_one)};
    }
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
