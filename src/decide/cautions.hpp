#pragma once
#include "rooms.hpp"
#include <array>
#include <string_view>

namespace sparecoat::decide {

/// What every page that advises says first: what the figures are.
inline constexpr std::string_view estimate_notice =
    "These figures are estimates from a model. The film gauge decides; local codes and licensed practice go "
    "first.";

/// The usual cautions of machine polishing (common practice, no source).
inline constexpr std::array<std::string_view, 6> cautions = {
    "Wear eye protection, ear protection and a dust mask.",
    "Keep the cord, sleeves, hair and gloves clear of the turning pad; the machine off before a pad is "
    "changed.",
    "Panels get hot, plastic soonest: feel often, stop when it is too warm to touch.",
    "Solvents and wipes: ventilate, gloves on, no flame or spark.",
    "Vibration adds up over the day: take breaks and keep to the local exposure limits.",
    "The hand decides as much as the edge: where the model is unsure, tape it or leave it.",
};

} // namespace sparecoat::decide
