#pragma once
#include "formats/kinds.hpp"
#include "units/quantity.hpp"
#include "view/window/widgets.hpp"
#include <fmt/format.h>
#include <optional>
#include <string>
#include <utility>
#include <vector>

namespace sparecoat::view {

/// A number of the technique as the card shows it.
struct ValueSpec {
    const char* label;   ///< also what undo calls it
    const char* pointer; ///< JSON pointer in a technique file, for messages
    Dim dim;
    const char* unit;             ///< shown and typed
    double per_unit;              ///< SI of one unit shown
    double usual_low, usual_high; ///< in the unit: what dragging covers
    double step;                  ///< of a drag pixel pair, a key, in the unit
    int decimals;
    const char* hint;
    std::optional<Limits> typed = {}; ///< in the unit: what may be typed; else what the file format allows
};

/// One card being drawn: hands out row numbers, takes the cursor's key presses, makes edits.
class ValueCard {
public:
    static constexpr float row_height = 25; ///< in units of a window 720 high
    ValueCard(const Ui& ui, const Box& box)
        : ui_(ui), list_(*ImGui::GetWindowDrawList()), x_(box.x + ui.px(16)), w_(box.w - ui.px(32)) {}

    void heading(const std::string& words);

    /// A heading that folds what follows away.
    bool fold(const char* words, bool& open, const std::string& summary);

    /// A list to choose from. @return the id chosen now, or empty.
    std::string choice(const char* label, const std::string& id, const std::string& shown,
                       const std::vector<Listing>& from);

    /// A number, dragged, stepped by key, or typed with any unit the file format knows. @return true if `si`
    /// changed.
    bool value(ValueSpec v, double& si);

    bool toggle(const char* label, bool& on, const char* yes, const char* no);

    void set_indent(float units) { indent_ = ui_.px(units); }
    int drag_id() const { return drag_; }
    void gap(float units) { ImGui::Dummy({1, ui_.px(units)}); }
    float x() const { return x_; }
    float width() const { return w_; }
    ImDrawList& list() { return list_; }
    void advance(ImVec2 from, float units);

    int rows() const { return row_; }

private:
    static std::string number(double value, int decimals) { return fmt::format("{:.{}f}", value, decimals); }

    /// Counts a row; true where the keyboard's cursor stands on it, which is drawn.
    bool cursor_here(const char*, ImVec2 at);
    int take_nudge() { return std::exchange(ui_.session.nudge, 0); }
    bool take_typing() { return std::exchange(ui_.session.begin_typing, false); }

    bool set(const ValueSpec& v, double& si, double shown);

    bool drag(const ValueSpec& v, double& si);

    void start_typing(ImGuiID id, const ValueSpec& v, double si);

    bool type(const ValueSpec& v, double& si, const Box& field);

    /// A bare number is in the unit shown.
    double read(const ValueSpec& v) const;

    void draw_field(const ValueSpec& v, double si, const Box& field, bool lit);

    const Ui& ui_;
    ImDrawList& list_;
    float x_, w_, indent_ = 0;
    int row_ = 0, drag_ = 0;

    // One value at most is dragged or typed at a time, in one window.
    static inline int drags_ = 0;
    static inline double drag_from_ = 0;
    static inline ImGuiID typing_ = 0;
    static inline bool focus_ = false;
    static inline char text_[64] = {};
};

} // namespace sparecoat::view
