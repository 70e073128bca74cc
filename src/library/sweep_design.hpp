#pragma once
#include "formats/kinds.hpp"
#include <cstdint>
#include <nlohmann/json.hpp>
#include <string>
#include <string_view>
#include <vector>

namespace sparecoat::library {

/// How the points of a sweep are laid; see decide/stats/designs.hpp.
enum class DesignKind { grid, latin_hypercube, sobol, saltelli };
std::string_view name_of(DesignKind kind); ///< "latin hypercube"

/// One value that is varied.
struct SweepFactor {
    std::string name; ///< of columns and charts
    PresetKind of = PresetKind::technique;
    std::string at;                          ///< JSON pointer into that preset
    nlohmann::json from, to;                 ///< as written; null where there is a list
    bool logarithmic = false;                ///< even in the logarithm
    std::size_t levels = 5;                  ///< of a grid
    std::vector<nlohmann::json> values = {}; ///< instead of a range
};

/// A file of kind "sweep". References are as Library takes them.
struct SweepDesign {
    std::string file, name, note;
    std::string panel, technique, defects;
    std::vector<std::string> paints;
    double grid_m = 0.004, air_c = 20;
    double reserve_um = 15, cut_sd = 0.3; ///< the second of the logarithm
    std::size_t hands = 1;
    std::uint64_t seed = 1; ///< of the first hand
    DesignKind kind = DesignKind::grid;
    std::size_t points = 0; ///< as written; not of a grid
    std::uint64_t point_seed = 1;
    std::vector<SweepFactor> factors;
};

/// @throws InputError with `file` and the JSON pointer: whatever is wrong with the file itself. What its
/// references and pointers lead to is looked at by Sweep.
SweepDesign read_sweep(const nlohmann::json& document, const std::string& file);

} // namespace sparecoat::library
