#pragma once
#include "decide/stats/designs.hpp"
#include "study/sweep/factor.hpp"
#include "study/sweep/inputs.hpp"
#include "study/sweep/row.hpp"
#include <cstddef>
#include <optional>
#include <string>
#include <vector>

namespace sparecoat::study {

/// Stands for the physics in every run's key. Raise it with any change of model or of what a row's figures
/// mean; a test holds one run's figures to it.
inline constexpr int sweep_model = 3;

inline constexpr std::size_t most_sweep_runs = 10'000'000;

/// Where a run stands in its design.
struct SweepPlace {
    std::size_t point = 0, paint = 0, hand = 0;
};

/// A design with everything that it names: what each of its runs is, and how it is worked. A run is a pure
/// function of its inputs, whose hash is its key. Any thread may ask for any run.
class Sweep {
public:
    /// Looks at all of it before anything is run: every factor's place, both ends of its range or each of its
    /// values, with the others as the presets have them, up to the arm's path being laid. @throws InputError
    /// with the design's file and place, or a preset's where that is at fault without any factor.
    Sweep(const Library& library, SweepDesign design);

    const SweepDesign& design() const { return design_; }
    const Points& points() const { return points_; }
    const std::vector<FactorScale>& factors() const { return factors_; }

    std::size_t runs() const { return points_.count() * replicates(); }
    std::size_t replicates() const { return design_.paints.size() * design_.hands; } ///< runs a point
    /// The runs in design order: point by point, of each paint by paint, of each of these hand by hand.
    SweepPlace place(std::size_t run) const;
    std::uint64_t seed(std::size_t run) const { return design_.seed + place(run).hand; }

    /// SHA-256 of all that a run's row depends on: presets as they come out with the factors' values in them,
    /// cell size, air, terms, seed where the hand varies, and sweep_model. Runs that are the same run have
    /// one key. A run whose presets do not hold has the key of its fault.
    std::string key(std::size_t run) const;

    /// Simulates a run. What is wrong with its inputs comes back in the row. @param progress see run(); told
    /// to stop there is no row.
    std::optional<SweepRow> work(std::size_t run, const Progress& progress = {}) const;

private:
    std::vector<FactorSetting> settings(std::size_t point) const;
    RunInputs inputs(std::size_t run) const;
    RunJob prepared(const RunInputs& inputs, const std::string& paint, std::uint64_t seed) const;
    ChanceTerms terms() const;
    void look_at_factor(std::size_t factor) const;

    const Library& library_;
    SweepDesign design_;
    std::vector<FactorScale> factors_;
    Points points_;
    mutable FilesOnce files_;
    std::optional<Panel> panel_; ///< built once, where no factor changes it
};

} // namespace sparecoat::study
