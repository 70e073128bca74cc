#pragma once
#include "finish/defects.hpp"
#include <array>
#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace sparecoat::decide {

// What test sections showed, as numbers that the model can learn from.

/// Share of the marks cleared as a person saw it under the lamp: what was said stands for any true impression
/// from `low` to `high`. At 0 and at 1 it goes on without end: nobody sees less than nothing cleared, or more
/// than all.
struct SeenShare {
    double low = 0, high = 1;
};

/// The words a person may use instead of a number, from the least to the most, and the shares they stand for
/// (from memory). They overlap: so do people.
struct SeenWord {
    std::string_view word;
    SeenShare share;
};
inline constexpr std::array seen_words{
    SeenWord{"nothing", {0.0, 0.10}}, SeenWord{"better", {0.10, 0.95}},     SeenWord{"half", {0.30, 0.70}},
    SeenWord{"most", {0.65, 0.92}},   SeenWord{"nearly all", {0.88, 0.98}}, SeenWord{"all", {0.97, 1.0}},
};

/// A number is given to the nearest twentieth, above 95 % to the nearest hundredth: 90 % is 87.5 to 92.5 %,
/// 95 % is 92.5 to 95.5 %, 96 % is 95.5 to 96.5 %. @throws std::invalid_argument under 0 or above 1.
SeenShare seen_number(double share);

/// One of the words, in small letters or capitals, or a number with its sign, "90 %". @throws InputError
/// without a file, naming the words.
SeenShare seen_share(const std::string& text);

/// Standard deviation of a person's impression of a true share q: largest at the half, where nobody counts
/// (from memory), 0.02 + 0.2 sqrt(q (1 - q)).
double lamp_sd(double true_share);

/// Probability that a person says what `seen` stands for where q is cleared: the impression is normal about q
/// with lamp_sd(q).
double seen_probability(const SeenShare& seen, double true_share);

/// Gauge means before and after, on the same marked spots. Looks of one square with the same mean before, of
/// as many readings, are taken to have been measured against one set of readings, whose error they share.
struct GaugePair {
    double before_um = 0, after_um = 0;
    int n_before = 1, n_after = 1;
    double repeat_sd_um = 1; ///< of one reading, by the gauge
    double loss_um() const { return before_um - after_um; }
    double sd_um() const; ///< of the loss: repeat_sd sqrt(1/n_before + 1/n_after)
};

/// A look at a square after some of its work.
struct Look {
    RemovedSpread
        removed;        ///< what the judged ground lost by then since it was untouched, as the model has it
    double mean_um = 0; ///< its mean
    std::optional<SeenShare> seen;  ///< against how it was untouched
    std::optional<GaugePair> gauge; ///< before: untouched
};

/// A taped square with what was seen of it, in order.
struct Square {
    std::size_t panel = 0; ///< of Evidence::panels
    std::vector<Look> looks;
};

struct PanelEvidence {
    std::size_t paint = 0; ///< of Evidence::paints
    std::vector<MarkPopulation> marks;
};

/// All that was seen on one vehicle. Panels of one paint share its softness; each panel has its own depth of
/// marks; the hand is one.
struct Evidence {
    std::vector<double> paint_sd; ///< per paint: sd of ln softness about the preset's
    std::vector<PanelEvidence> panels;
    std::vector<Square> squares;
};

} // namespace sparecoat::decide
