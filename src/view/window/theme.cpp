#include "view/window/theme.hpp"
#include <cmath>
#include <filesystem>

#ifndef SPARECOAT_FONT_DIR
#define SPARECOAT_FONT_DIR "/usr/share/fonts/truetype/dejavu"
#endif

namespace sparecoat::view {
namespace {

constexpr ImU32 rgb(unsigned hex, unsigned alpha = 255) {
    return IM_COL32((hex >> 16) & 255, (hex >> 8) & 255, hex & 255, alpha);
}

constexpr Palette light_palette{rgb(0xeef0f1), rgb(0xf8f9f9), rgb(0x191d22),     rgb(0x555d66),
                                rgb(0xc9ced3), rgb(0xe3e7ea), rgb(0xd3dadf),     rgb(0x0b6470),
                                rgb(0xffffff), rgb(0xa83508), rgb(0x191d22, 110)};

constexpr Palette dark_palette{rgb(0x14171a), rgb(0x1c2024), rgb(0xeceef0),     rgb(0xa3abb3),
                               rgb(0x3a4148), rgb(0x2a3036), rgb(0x38414a),     rgb(0x6cc9d2),
                               rgb(0x0d1b1e), rgb(0xffa066), rgb(0x000000, 150)};

/// Latin with its signs, dashes, arrows, minus, comparison and the triangle and square marks.
constexpr ImWchar glyphs[] = {0x0020, 0x017f, 0x0391, 0x03c9, 0x2010, 0x2027, 0x2030, 0x2033, 0x2070, 0x2079,
                              0x2190, 0x2193, 0x2212, 0x2212, 0x2248, 0x2248, 0x2264, 0x2265, 0};

ImVec4 part(ImU32 colour) { return ImGui::ColorConvertU32ToFloat4(colour); }

} // namespace

const Palette& palette(bool light) { return light ? light_palette : dark_palette; }

Fonts load_fonts(float scale, std::string& notice) {
    namespace fs = std::filesystem;
    const fs::path folder = SPARECOAT_FONT_DIR;
    const fs::path regular = folder / "DejaVuSans.ttf", bold = folder / "DejaVuSans-Bold.ttf";
    ImFontAtlas& atlas = *ImGui::GetIO().Fonts;
    atlas.Clear();
    Fonts fonts;
    fonts.scale = scale;
    std::error_code error;
    if (!fs::exists(regular, error) || !fs::exists(bold, error)) {
        notice = "The DejaVu fonts are not at " + folder.string() + "; a plain built-in one is used.";
        ImFontConfig config;
        config.SizePixels = std::round(13 * scale);
        fonts.small = fonts.body = fonts.bold = fonts.large = atlas.AddFontDefault(&config);
        return fonts;
    }
    ImFontConfig config;
    config.OversampleH = 2;
    config.OversampleV = 1;
    const auto add = [&](const fs::path& file, float size) {
        return atlas.AddFontFromFileTTF(file.c_str(), std::round(size * scale), &config, glyphs);
    };
    fonts.body = add(regular, 17); // first: ImGui's own
    fonts.small = add(regular, 14.5f);
    fonts.bold = add(bold, 17);
    fonts.large = add(bold, 26);
    return fonts;
}

void apply_style(const Palette& c, float scale) {
    ImGuiStyle style;
    style.WindowPadding = {14, 10};
    style.FramePadding = {9, 4};
    style.ItemSpacing = {8, 6};
    style.WindowRounding = 0, style.FrameRounding = 4, style.PopupRounding = 6, style.GrabRounding = 4;
    style.WindowBorderSize = 0, style.PopupBorderSize = 1, style.ScrollbarSize = 12;
    style.ScaleAllSizes(scale);
    ImVec4* colours = style.Colors;
    colours[ImGuiCol_Text] = part(c.ink);
    colours[ImGuiCol_TextDisabled] = part(c.quiet);
    colours[ImGuiCol_WindowBg] = colours[ImGuiCol_PopupBg] = part(c.card);
    colours[ImGuiCol_ChildBg] = {0, 0, 0, 0};
    colours[ImGuiCol_Border] = colours[ImGuiCol_Separator] = part(c.line);
    for (const int k : {ImGuiCol_FrameBg, ImGuiCol_Button, ImGuiCol_Header}) colours[k] = part(c.field);
    for (const int k : {ImGuiCol_FrameBgHovered, ImGuiCol_FrameBgActive, ImGuiCol_ButtonHovered,
                        ImGuiCol_ButtonActive, ImGuiCol_HeaderHovered, ImGuiCol_HeaderActive})
        colours[k] = part(c.field_lit);
    for (const int k :
         {ImGuiCol_CheckMark, ImGuiCol_SliderGrab, ImGuiCol_SliderGrabActive, ImGuiCol_NavHighlight})
        colours[k] = part(c.accent);
    ImVec4 selected = part(c.accent);
    selected.w = 0.35f;
    colours[ImGuiCol_TextSelectedBg] = selected;
    colours[ImGuiCol_ScrollbarBg] = {0, 0, 0, 0};
    colours[ImGuiCol_ScrollbarGrab] = part(c.line);
    colours[ImGuiCol_ScrollbarGrabHovered] = colours[ImGuiCol_ScrollbarGrabActive] = part(c.quiet);
    colours[ImGuiCol_ModalWindowDimBg] = part(c.scrim);
    ImGui::GetStyle() = style;
}

} // namespace sparecoat::view
