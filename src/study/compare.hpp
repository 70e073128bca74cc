#pragma once
#include "decide/chance.hpp"
#include "decide/stats/paired.hpp"
#include "finish/described.hpp"
#include "run/run_job.hpp"
#include <array>
#include <nlohmann/json_fwd.hpp>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace sparecoat::study {

// Two to four techniques on one panel: what each comes to, how far that is the hand's doing, and whether what
// lies between them is more than that. docs/model.md, section 14, has the reasons.

inline constexpr std::size_t fewest_compared = 2, most_compared = 4;
inline constexpr int fewest_replicates = 4, most_replicates = 400;

/// What is measured of every draw.
enum class Measure {
    film_open,
    film_worst,
    cleared,
    gloss,
    haze,
    chance,
    peak,
    turning,
    stalled,
    time,
    unevenness
};
inline constexpr std::array all_measures{Measure::film_open, Measure::film_worst, Measure::cleared,
                                         Measure::gloss,     Measure::haze,       Measure::chance,
                                         Measure::peak,      Measure::turning,    Measure::stalled,
                                         Measure::time,      Measure::unevenness};
template <class Value> using ByMeasure = std::array<Value, all_measures.size()>;

struct MeasureInfo {
    const char *id, *name;
    const char* unit;   ///< of its values: "um", "share", "GU", "C", "s" or "" (haze)
    double least, most; ///< that it can be: an interval ends there
};
const MeasureInfo& info_of(Measure measure);

struct CompareTerms {
    int replicates = 16; ///< draws of the hand
    double confidence = 0.95;
    double reserve_um = 15; ///< clear coat that has to stay, as in ChanceTerms
    double cut_sd = 0.3;
};

struct CompareRequest {
    RunRequest run; ///< its technique and path are not looked at; its seed is that of the draws
    std::vector<std::string>
        techniques; ///< presets or files, the first being what the others are held against
    std::optional<Technique>
        first; ///< changed after reading: takes the first one's place, of which it may have come
    std::string defects = "moderate"; ///< what the panel is found with: preset or file
    CompareTerms terms;
};

struct ComparedTechnique {
    char letter = 'A';                    ///< names may be alike
    RunJob job;                           ///< with a steady hand's path; the hand is left to be drawn
    ByMeasure<std::vector<double>> draws; ///< a value for each draw
    ByMeasure<Estimate> estimates;
    std::vector<float> mean_removed_um; ///< per cell, over the draws; NaN off the panel
    std::vector<float> mean_chance;     ///< the same for the chance of burning through
    std::size_t weakest_cell = 0;       ///< where that is highest
};

/// What a technique gives over the first.
struct ComparedDifference {
    std::size_t technique = 1;
    Measure measure = Measure::film_open;
    PairedDifference paired;
    double p_adjusted = 1;        ///< by Holm, over all measures and techniques of the comparison
    bool more_than_noise = false; ///< p_adjusted is at most 1 - confidence
};

/// A setting that is not the same in all techniques, as text with its unit.
struct SettingRow {
    std::string name;
    std::vector<std::string> values; ///< one a technique
};

struct Comparison {
    CompareRequest request;
    Defects defects;
    bool hand_varies = false; ///< any of them; else there is one draw and no noise
    int draws = 1;
    std::vector<ComparedTechnique> techniques;
    std::vector<ComparedDifference>
        differences; ///< technique by technique, each in the order of all_measures
    std::vector<SettingRow> settings;

    const Panel& panel() const { return techniques.front().job.panel; }
    const ComparedDifference& difference(std::size_t technique, Measure measure) const {
        return differences[(technique - 1) * all_measures.size() + static_cast<std::size_t>(measure)];
    }
};

/// @throws InputError: fewer than two techniques or more than four, or the same one twice.
void demand_compared(const CompareRequest& request);

/// The techniques made ready, with a steady hand's path: no draws yet. Panel and film are the same in all.
/// @throws InputError: as demand_compared(), and what prepare() throws.
std::vector<ComparedTechnique> prepare_compared(const Library& library, const CompareRequest& request);

/// Works every technique with the same draws of the hand: the hand of draw n strays alike in all of them, so
/// that their differences are paired. The draws are whole runs, with heat. The outcome does not depend on
/// `threads`.
/// @throws InputError: as prepare_compared(), and a technique that takes no film off the panel. Stopped.
Comparison compare_techniques(const Library& library, const CompareRequest& request, int threads,
                              const Progress& progress = {});

/// Mean film lost over the draws, of one technique over the first, µm per cell; NaN off the panel.
std::vector<float> lost_over_first_um(const Comparison& comparison, std::size_t technique);

/// docs/schema/comparison.schema.json.
nlohmann::json comparison_json(const Comparison& comparison);

} // namespace sparecoat::study
