#pragma once
#include "picture/colour_map.hpp"
#include "view/run/live_run.hpp"
#include <imgui.h>
#include <string>

namespace sparecoat::view {

/// The few colours everything is drawn in. One accent for what can be worked, one for what warns; risk is
/// always said in words or by a shape as well.
struct Palette {
    ImU32 page, card, ink, quiet, line, field, field_lit, accent, on_accent, warn, scrim;
};
const Palette& palette(bool light);

/// Type in four sizes of one family. Sizes are for a window 720 high; `scale` multiplies them.
struct Fonts {
    ImFont *small = nullptr, *body = nullptr, *bold = nullptr, *large = nullptr;
    float scale = 1;
};

/// Builds the atlas of the current ImGui context anew. @param notice says so where the typeface is not
/// installed and the built-in one has to do.
Fonts load_fonts(float scale, std::string& notice);

/// Puts palette and sizes into ImGui's style, for the parts that ImGui draws itself.
void apply_style(const Palette& colours, float scale);

} // namespace sparecoat::view
