#pragma once
#include "panel/gauge.hpp"

namespace sparecoat::panel {

/// What readings say by themselves, without an estimate of the film between them: another paint, repaint,
/// thin paint, a single reading, a plastic panel. A flag's lines are those of the readings that it means.
/// @param readings as for measure_film. @throws std::invalid_argument as there.
std::vector<FilmFlag> flags_of_readings(const Panel& panel, const Paint& paint,
                                        std::span<const GaugeReading> readings);

} // namespace sparecoat::panel
