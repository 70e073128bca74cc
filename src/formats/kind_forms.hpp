#pragma once
#include "formats/form.hpp"
#include "formats/kinds.hpp"

// The table of each kind: its keys, forms, ranges and meanings. Made once, by form_of().

namespace sparecoat::formats {

inline constexpr const char *panel_limit = "10 m", *panel_limit_below = "-10 m";

/// The keys of a kind after those that every kind has.
FormPtr preset(PresetKind kind, std::vector<Field> own, std::vector<std::string> exactly_one = {});

FormPtr machine_form();
FormPtr pad_form();
FormPtr liquid_form();
FormPtr paint_form();
FormPtr substrate_form();
FormPtr panel_form();
FormPtr technique_form();
FormPtr lesson_form();
FormPtr defects_form();
FormPtr kit_form();
FormPtr record_form();
FormPtr shop_form();
FormPtr sweep_form();

} // namespace sparecoat::formats
