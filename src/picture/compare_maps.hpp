#pragma once
#include "picture/chart/chart.hpp"
#include "picture/heatmap.hpp"
#include "study/compare.hpp"
#include <string>
#include <vector>

namespace sparecoat::picture {

/// The fields of a comparison and the scales that its maps share. Keeps a reference to the comparison; the
/// specs keep views into both.
class ComparedMaps {
public:
    ComparedMaps(const Comparison& comparison, FilmUnit unit);

    /// Mean film lost over the draws, all on one scale.
    HeatmapSpec lost(std::size_t technique) const;
    /// Of one technique over the first, all on one scale with its zero in the middle.
    HeatmapSpec over_first(std::size_t technique) const;
    /// The scales end where usual_end() says: which technique goes how far beyond, as a sentence; empty where
    /// none does.
    std::string beyond_lost() const;
    std::string beyond_over() const;

private:
    const Comparison& comparison_;
    FilmUnit unit_;
    FilmRange lost_range_, difference_range_;
    std::vector<std::vector<float>> over_first_; ///< of the second technique and on
};

/// A small chart of one measure: every technique's mean with its interval.
Chart measure_chart(const Comparison& comparison, Measure measure, FilmUnit unit);

} // namespace sparecoat::picture
