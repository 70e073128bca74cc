#pragma once
#include "picture/canvas.hpp"
#include "view/window/run_session.hpp"
#include "view/window/theme.hpp"
#include <imgui.h>
#include <span>
#include <string>

namespace sparecoat::view {

/// What every card draws with.
struct Ui {
    RunSession& session;
    const Palette& c;
    const Fonts& f;
    float s; ///< pixels per unit of a window 720 high

    float px(float units) const { return units * s; }
};

/// The same with the page that is drawn.
template <class P> struct PageUi : Ui {
    PageUi(const Ui& ui, P& drawn) : Ui(ui), page(drawn) {}
    P& page;
};

/// A rectangle of the window in pixels.
struct Box {
    float x = 0, y = 0, w = 0, h = 0;
    ImVec2 low() const { return {x, y}; }
    ImVec2 high() const { return {x + w, y + h}; }
    bool holds(ImVec2 p) const { return p.x >= x && p.x < x + w && p.y >= y && p.y < y + h; }
};

float width_of(const ImFont* font, const std::string& words);
/// Draws words with their top at y. @return their width.
float write(ImDrawList& list, const ImFont* font, float x, float y, ImU32 colour, const std::string& words,
            Align align = Align::left);
/// The words cut with an ellipsis where they would be wider.
std::string fitted(const ImFont* font, const std::string& words, float width);

/// Writes words in lines no wider than `width`. @return their height.
float write_wrapped(ImDrawList& list, const ImFont* font, float x, float y, ImU32 colour,
                    const std::string& words, float width);
float wrapped_height(const ImFont* font, const std::string& words, float width);

void draw_dashes(ImDrawList& list, ImVec2 from, ImVec2 to, ImU32 colour, float thickness, float dash);

/// How far long work has come: a bar with words over it.
void draw_progress(const Ui& ui, const Box& box, float share, const std::string& words);

/// A flat button at a place in the window; `on` draws it filled.
bool press(const Ui& ui, const char* id, const std::string& words, const Box& box, bool on = false,
           const std::string& hint = "", bool enabled = true);
void hint_if_hovered(const Ui& ui, const std::string& hint);

/// A field that shows what is chosen and opens a list to choose from. @param open opens it now. @return the
/// id that was chosen, or empty.
std::string choose_from(const Ui& ui, const char* id, const Box& field, const std::string& current,
                        const std::string& shown, const std::vector<Listing>& from, bool open = false);

/// Opens the borderless ImGui window of a card. End with ImGui::End().
void begin_card(const char* name, const Box& box, ImU32 fill, bool scrolls = false, ImVec2 padding = {0, 0});

/// Opens a card in front of everything else, with what is behind dimmed and out of reach. End with
/// end_dialog().
void begin_dialog(const Ui& ui, const char* name, const Box& box, float width, float height);
void end_dialog();

/// A small chart of y over x: line, filled below, last value marked.
struct Curve {
    std::span<const float> x, y;
    ImU32 colour;
};
void draw_curves(ImDrawList& list, const Box& box, std::span<const Curve> curves, float x_low, float x_high,
                 float y_low, float y_high, float thickness);

/// A card that is written from top to bottom and scrolls where it is longer than its place.
template <class AnyUi> class ColumnOf {
public:
    ColumnOf(const AnyUi& drawn_with, const Box& box)
        : ui(drawn_with), list(*ImGui::GetWindowDrawList()), x(box.x + ui.px(14)),
          w(box.w - ui.px(28) - ui.px(6)), y_(ImGui::GetCursorScreenPos().y) {}

    float y() const { return y_; }
    void down(float units) { move(ui.px(units)); }
    void line(const ImFont* font, ImU32 colour, const std::string& words, float indent = 0) {
        write(list, font, x + indent, y_, colour, fitted(font, words, w - indent));
        move(font->FontSize + ui.px(4));
    }
    void wrapped(const ImFont* font, ImU32 colour, const std::string& words, float indent = 0) {
        move(write_wrapped(list, font, x + indent, y_, colour, words, w - indent) + ui.px(4));
    }
    Box row(float units, float indent = 0) const { return {x + indent, y_, w - indent, ui.px(units)}; }
    /// Tells ImGui how far the card reaches.
    void end() {
        ImGui::SetCursorScreenPos({x, y_});
        ImGui::Dummy({1, ui.px(6)});
    }

    const AnyUi& ui;
    ImDrawList& list;
    const float x, w;

private:
    void move(float pixels) { y_ += pixels; }
    float y_;
};
using Column = ColumnOf<Ui>;

ImU32 with_alpha(ImU32 colour, float alpha);

} // namespace sparecoat::view
