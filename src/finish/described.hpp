#pragma once
#include "finish/defects.hpp"
#include <array>
#include <string>
#include <string_view>
#include <vector>

namespace sparecoat::finish {

/// How marks show under the inspection lamp.
enum class Visible { faint, plain, glaring };
inline constexpr std::array all_visible{Visible::faint, Visible::plain, Visible::glaring};
std::string_view name_of(Visible visible);

/// Marks as the trade describes them.
struct Described {
    MarkKind kind = MarkKind::swirls;
    Visible visible = Visible::plain;
    bool fingernail = false; ///< a nail drawn across catches
};

/// The numbers behind the words. All of them from memory, chosen so that what the trade says of its steps
/// comes out (common practice, no source): faint swirls go with one polish; of glaring swirls and etching
/// two sets of a polish clear about nine tenths and a cutting compound all; what catches a nail is too deep
/// to chase. Haze never catches a nail: InputError.
MarkPopulation population_of(const Described& words);

/// The numbers of a population on one line: "depth 0.95 µm (0.49 to 1.8 µm), 8 µm wide, 5000 m on a square
/// metre".
std::string numbers_of(const MarkPopulation& marks);

/// What a panel is found with.
struct Defects {
    std::string name;
    std::vector<MarkPopulation> marks;
};

} // namespace sparecoat::finish
