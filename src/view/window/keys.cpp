#include "view/window/keys.hpp"
#define GLFW_INCLUDE_NONE
#include <GLFW/glfw3.h>
#include <fmt/format.h>
#include <stdexcept>

namespace sparecoat::view {
namespace {

constexpr int none = 0, ctrl = GLFW_MOD_CONTROL, shift = GLFW_MOD_SHIFT, alt = GLFW_MOD_ALT;
constexpr const char *time = "Time", *map = "Map", *view = "View", *spot = "Spot", *work = "Technique",
                     *hand = "Hand mode", *lamp = "Inspection lamp", *section = "Test section", *job = "Job",
                     *vehicle = "Vehicle", *plan = "Plan and visits", *gauge = "Gauge readings",
                     *against = "Side by side", *charts = "Charts", *lesson = "Lessons", *window = "Window";
constexpr KeyContext always = KeyContext::always, in_hand = KeyContext::hand, in_lesson = KeyContext::lesson,
                     on_board = KeyContext::board, at_gauge = KeyContext::readings,
                     side_by_side = KeyContext::compare, at_charts = KeyContext::charts;

constexpr KeyBinding table[] = {
    {GLFW_KEY_SPACE, none, Action::play_pause, "play-pause", "Play or pause", time},
    {GLFW_KEY_N, none, Action::step, "step", "One step, then pause", time, always, true},
    {GLFW_KEY_LEFT, none, Action::back, "back", "Back 1 s", time, always, true},
    {GLFW_KEY_RIGHT, none, Action::on, "on", "On 1 s", time, always, true},
    {GLFW_KEY_LEFT, shift, Action::back_far, "back-far", "Back 10 s", time, always, true},
    {GLFW_KEY_RIGHT, shift, Action::on_far, "on-far", "On 10 s", time, always, true},
    {GLFW_KEY_HOME, none, Action::to_start, "start", "To the start", time},
    {GLFW_KEY_END, none, Action::to_end, "end", "To the end", time},
    {GLFW_KEY_E, none, Action::next_event, "next-event", "To the next event", time},
    {GLFW_KEY_COMMA, none, Action::slower, "slower", "Slower", time, always, true},
    {GLFW_KEY_PERIOD, none, Action::faster, "faster", "Faster", time, always, true},

    {GLFW_KEY_UP, none, Action::previous_value, "previous-value", "Value above", work, always, true},
    {GLFW_KEY_DOWN, none, Action::next_value, "next-value", "Value below", work, always, true},
    {GLFW_KEY_MINUS, none, Action::lower_value, "lower-value", "Lower it", work, always, true},
    {GLFW_KEY_EQUAL, none, Action::raise_value, "raise-value", "Raise it", work, always, true},
    {GLFW_KEY_ENTER, none, Action::type_value, "type-value", "Type it, open its list", work},
    {GLFW_KEY_Z, ctrl, Action::undo, "undo", "Undo", work, always, true},
    {GLFW_KEY_Z, ctrl | shift, Action::redo, "redo", "Redo", work, always, true},
    {GLFW_KEY_O, ctrl, Action::open_file, "open-file", "Open a file", work},

    {GLFW_KEY_G, none, Action::next_spot, "next-spot", "Next worst spot", spot},
    {GLFW_KEY_X, none, Action::drop_spot, "drop-spot", "Let go of the spot", spot},
    {GLFW_KEY_T, none, Action::try_changes, "try-changes", "Try changes for the spot", spot},
    {GLFW_KEY_B, none, Action::toggle_edge_profile, "edge-ribbon", "Film along an edge", spot},
    {GLFW_KEY_V, none, Action::next_edge, "next-edge", "Along the next edge", spot},

    {GLFW_KEY_1, none, Action::map_film_lost, "map-film-lost", "Film lost", map},
    {GLFW_KEY_2, none, Action::map_clear_left, "map-clear-left", "Clear left", map},
    {GLFW_KEY_3, none, Action::map_pressure, "map-pressure", "Pressure now", map},
    {GLFW_KEY_4, none, Action::map_speed, "map-speed", "Pad speed now", map},
    {GLFW_KEY_5, none, Action::map_contact, "map-contact", "Time in contact", map},
    {GLFW_KEY_6, none, Action::map_work, "map-work", "Friction work", map},
    {GLFW_KEY_7, none, Action::map_temperature, "map-temperature", "Film temperature", map},
    {GLFW_KEY_8, none, Action::map_peak_temperature, "map-peak-temperature", "Hottest so far", map},
    {GLFW_KEY_9, none, Action::map_chance, "map-chance", "Chance of burning through", map},
    {GLFW_KEY_P, none, Action::work_out_chance, "work-out-chance", "Work the chances out anew", map},
    {GLFW_KEY_0, none, Action::toggle_map, "plain-paint", "Plain paint or map", map},
    {GLFW_KEY_K, none, Action::toggle_contours, "contours", "Contour lines", map},
    {GLFW_KEY_U, none, Action::toggle_unit, "unit", "µm or mil", map},
    {GLFW_KEY_L, none, Action::lock_range, "lock-range", "Lock or free the range", map},

    {GLFW_KEY_J, none, Action::lamp, "lamp", "Inspection lamp on or off", lamp},
    {GLFW_KEY_Q, none, Action::lamp_show, "lamp-show", "Before, after, half", lamp},
    {GLFW_KEY_A, none, Action::lamp_left, "lamp-left", "Left (or Shift+drag)", lamp, always, true},
    {GLFW_KEY_D, none, Action::lamp_right, "lamp-right", "Right", lamp, always, true},
    {GLFW_KEY_W, none, Action::lamp_up, "lamp-up", "Up the panel", lamp, always, true},
    {GLFW_KEY_S, none, Action::lamp_down, "lamp-down", "Down the panel", lamp, always, true},
    {GLFW_KEY_W, shift, Action::lamp_higher, "lamp-higher", "Higher (or Shift+wheel)", lamp, always, true},
    {GLFW_KEY_S, shift, Action::lamp_lower, "lamp-lower", "Lower", lamp, always, true},

    {GLFW_KEY_F9, none, Action::board, "board", "The vehicle's board", job},
    {GLFW_KEY_LEFT_BRACKET, none, Action::step_before, "step-before", "Planned step before", job},
    {GLFW_KEY_RIGHT_BRACKET, none, Action::step_after, "step-after", "Planned step after", job},

    {GLFW_KEY_R, none, Action::view_corner, "view-reset", "Reset the view", view},
    {GLFW_KEY_F, none, Action::view_front, "view-front", "From the front", view},
    {GLFW_KEY_F5, none, Action::view_left, "view-left", "From the left", view},
    {GLFW_KEY_F6, none, Action::view_right, "view-right", "From the right", view},
    {GLFW_KEY_F7, none, Action::view_top, "view-top", "From the top", view},
    {GLFW_KEY_F8, none, Action::view_bottom, "view-bottom", "From below", view},
    {GLFW_KEY_LEFT, ctrl, Action::orbit_left, "orbit-left", "Turn left", view, always, true},
    {GLFW_KEY_RIGHT, ctrl, Action::orbit_right, "orbit-right", "Turn right", view, always, true},
    {GLFW_KEY_UP, ctrl, Action::orbit_up, "orbit-up", "Turn up", view, always, true},
    {GLFW_KEY_DOWN, ctrl, Action::orbit_down, "orbit-down", "Turn down", view, always, true},
    {GLFW_KEY_LEFT, alt, Action::pan_left, "pan-left", "Move left", view, always, true},
    {GLFW_KEY_RIGHT, alt, Action::pan_right, "pan-right", "Move right", view, always, true},
    {GLFW_KEY_UP, alt, Action::pan_up, "pan-up", "Move up", view, always, true},
    {GLFW_KEY_DOWN, alt, Action::pan_down, "pan-down", "Move down", view, always, true},
    {GLFW_KEY_PAGE_UP, none, Action::nearer, "nearer", "Nearer", view, always, true},
    {GLFW_KEY_PAGE_DOWN, none, Action::farther, "farther", "Farther", view, always, true},

    {GLFW_KEY_O, none, Action::toggle_section, "section", "Its cards on or off", section},
    {GLFW_KEY_Y, none, Action::tape_square, "tape-square", "Tape a square by mouse", section},
    {GLFW_KEY_Y, shift, Action::work_in_square, "work-in-square", "Work in the last square", section},
    {GLFW_KEY_C, shift, Action::mark_clean, "mark-clean", "Washed, or not yet", section},
    {GLFW_KEY_F3, none, Action::enter_try, "enter-try", "Enter a try", section},
    {GLFW_KEY_Z, shift, Action::take_back_entry, "take-back", "Take back the last entry", section},
    {GLFW_KEY_F4, none, Action::work_out_advice, "advise", "Work the advice out anew", section},
    {GLFW_KEY_K, shift, Action::section_table, "section-table", "Curves or table", section},
    {GLFW_KEY_N, ctrl, Action::new_record, "new-record", "New record", section},
    {GLFW_KEY_S, ctrl | shift, Action::save_record, "save-record", "Save the record", section},

    {GLFW_KEY_H, none, Action::hand_mode, "hand-mode", "Hand mode on or off", hand},
    {GLFW_KEY_SPACE, none, Action::trigger, "trigger", "Trigger (or left button)", hand, in_hand},
    {GLFW_KEY_LEFT, none, Action::tilt_left, "tilt-left", "Tilt left", hand, in_hand},
    {GLFW_KEY_A, none, Action::tilt_left, "tilt-left", "Tilt left", hand, in_hand},
    {GLFW_KEY_RIGHT, none, Action::tilt_right, "tilt-right", "Tilt right", hand, in_hand},
    {GLFW_KEY_D, none, Action::tilt_right, "tilt-right", "Tilt right", hand, in_hand},
    {GLFW_KEY_UP, none, Action::tilt_up, "tilt-up", "Tilt away", hand, in_hand},
    {GLFW_KEY_W, none, Action::tilt_up, "tilt-up", "Tilt away", hand, in_hand},
    {GLFW_KEY_DOWN, none, Action::tilt_down, "tilt-down", "Tilt near", hand, in_hand},
    {GLFW_KEY_S, none, Action::tilt_down, "tilt-down", "Tilt near", hand, in_hand},
    {GLFW_KEY_MINUS, none, Action::less_force, "less-force", "Less force (or wheel)", hand, in_hand, true},
    {GLFW_KEY_EQUAL, none, Action::more_force, "more-force", "More force (or wheel)", hand, in_hand, true},
    {GLFW_KEY_S, ctrl, Action::save_path, "save-path", "Save the path as CSV", hand},

    {GLFW_KEY_LEFT, none, Action::board_left, "board-left", "Panel to the left", vehicle, on_board, true},
    {GLFW_KEY_RIGHT, none, Action::board_right, "board-right", "Panel to the right", vehicle, on_board, true},
    {GLFW_KEY_UP, none, Action::board_up, "board-up", "Panel above", vehicle, on_board, true},
    {GLFW_KEY_DOWN, none, Action::board_down, "board-down", "Panel below", vehicle, on_board, true},
    {GLFW_KEY_ENTER, none, Action::board_open, "board-open", "See it with its step", vehicle, on_board},
    {GLFW_KEY_G, none, Action::board_readings, "board-readings", "Gauge readings", vehicle, on_board},
    {GLFW_KEY_C, none, Action::board_clean, "board-clean", "Washed, or not yet", vehicle, on_board},
    {GLFW_KEY_D, none, Action::board_marks, "board-marks", "Marks it was found with", vehicle, on_board},
    {GLFW_KEY_W, none, Action::board_work, "board-work", "Note work as done", vehicle, on_board},
    {GLFW_KEY_A, none, Action::board_add_panel, "board-add-panel", "One more panel", vehicle, on_board},
    {GLFW_KEY_Z, ctrl, Action::job_undo, "job-undo", "Undo", vehicle, on_board, true},
    {GLFW_KEY_Z, ctrl | shift, Action::job_redo, "job-redo", "Redo", vehicle, on_board, true},
    {GLFW_KEY_V, none, Action::board_visit_after, "visit-after", "Next visit", plan, on_board},
    {GLFW_KEY_V, shift, Action::board_visit_before, "visit-before", "Visit before", plan, on_board},
    {GLFW_KEY_N, none, Action::board_add_visit, "add-visit", "New visit", plan, on_board},
    {GLFW_KEY_P, none, Action::board_plan, "plan", "Plan the vehicle", plan, on_board},
    {GLFW_KEY_L, none, Action::board_totals, "totals", "Totals and chart", plan, on_board},
    {GLFW_KEY_X, none, Action::board_call_off, "call-off", "Call the planning off", plan, on_board},
    {GLFW_KEY_S, none, Action::board_sheet, "sheet", "The visit on paper", plan, on_board},

    {GLFW_KEY_ENTER, none, Action::spot_take, "spot-take", "Take it, on to the next", gauge, at_gauge},
    {GLFW_KEY_BACKSPACE, none, Action::spot_rub_out, "spot-rub-out", "Rub out, or one back", gauge, at_gauge,
     true},
    {GLFW_KEY_DELETE, none, Action::spot_remove, "spot-remove", "Take it off file", gauge, at_gauge},
    {GLFW_KEY_LEFT, none, Action::spot_left, "spot-left", "Spot to the left", gauge, at_gauge, true},
    {GLFW_KEY_RIGHT, none, Action::spot_right, "spot-right", "Spot to the right", gauge, at_gauge, true},
    {GLFW_KEY_UP, none, Action::spot_up, "spot-up", "Spot above", gauge, at_gauge, true},
    {GLFW_KEY_DOWN, none, Action::spot_down, "spot-down", "Spot below", gauge, at_gauge, true},
    {GLFW_KEY_T, none, Action::spot_kind, "spot-kind", "Total or clear coat", gauge, at_gauge},
    {GLFW_KEY_B, none, Action::spot_time, "spot-time", "Before or after work", gauge, at_gauge},
    {GLFW_KEY_P, none, Action::spot_pattern, "spot-pattern", "Rows and columns", gauge, at_gauge},
    {GLFW_KEY_N, none, Action::spot_gauge, "spot-gauge", "n and repeatability", gauge, at_gauge},
    {GLFW_KEY_V, ctrl, Action::spot_paste, "spot-paste", "Paste from a spreadsheet", gauge, at_gauge},
    {GLFW_KEY_PAGE_DOWN, none, Action::spot_panel_after, "spot-panel-after", "Next panel", gauge, at_gauge},
    {GLFW_KEY_PAGE_UP, none, Action::spot_panel_before, "spot-panel-before", "Panel before", gauge, at_gauge},
    {GLFW_KEY_Z, ctrl, Action::job_undo, "job-undo", "Undo", gauge, at_gauge, true},
    {GLFW_KEY_Z, ctrl | shift, Action::job_redo, "job-redo", "Redo", gauge, at_gauge, true},

    {GLFW_KEY_F10, none, Action::compare, "compare", "Techniques side by side", job},
    {GLFW_KEY_F12, none, Action::charts, "charts", "Evenness as charts", job},
    {GLFW_KEY_LEFT_BRACKET, none, Action::compare_previous, "compare-previous", "Technique before", against,
     side_by_side},
    {GLFW_KEY_RIGHT_BRACKET, none, Action::compare_next, "compare-next", "Technique after", against,
     side_by_side},
    {GLFW_KEY_C, none, Action::compare_change, "compare-change", "Choose another for it", against,
     side_by_side},
    {GLFW_KEY_A, none, Action::compare_add, "compare-add", "One more technique", against, side_by_side},
    {GLFW_KEY_DELETE, none, Action::compare_drop, "compare-drop", "Leave it out", against, side_by_side},
    {GLFW_KEY_T, none, Action::compare_first, "compare-first", "Hold the others against it", against,
     side_by_side},
    {GLFW_KEY_ENTER, none, Action::compare_take, "compare-take", "Take it to the bench", against,
     side_by_side},
    {GLFW_KEY_D, none, Action::compare_differences, "compare-differences", "Maps of differences", against,
     side_by_side},
    {GLFW_KEY_V, none, Action::compare_draws, "compare-draws", "Mean of the draws", against, side_by_side},
    {GLFW_KEY_L, none, Action::compare_range, "compare-range", "Scales to the worst spot", against,
     side_by_side},
    {GLFW_KEY_UP, none, Action::compare_row_up, "compare-row-up", "Measure above", against, side_by_side,
     true},
    {GLFW_KEY_DOWN, none, Action::compare_row_down, "compare-row-down", "Measure below", against,
     side_by_side, true},
    {GLFW_KEY_P, none, Action::compare_work_out, "compare-work-out", "Work the draws out anew", against,
     side_by_side},
    {GLFW_KEY_S, none, Action::compare_save, "compare-save", "Report to a folder", against, side_by_side},

    {GLFW_KEY_UP, none, Action::chart_before, "chart-before", "Chart above", charts, at_charts, true},
    {GLFW_KEY_DOWN, none, Action::chart_after, "chart-after", "Chart below", charts, at_charts, true},
    {GLFW_KEY_S, none, Action::chart_save, "chart-save", "Save it as .png, .svg or .pdf", charts, at_charts},
    {GLFW_KEY_P, none, Action::charts_again, "charts-again", "Make them anew", charts, at_charts},

    {GLFW_KEY_I, none, Action::lessons, "lessons", "List of lessons", lesson},
    {GLFW_KEY_PAGE_DOWN, none, Action::lesson_on, "lesson-on", "Next step", lesson, in_lesson},
    {GLFW_KEY_PAGE_UP, none, Action::lesson_back, "lesson-back", "Step before", lesson, in_lesson},
    {GLFW_KEY_O, none, Action::lesson_turn, "lesson-turn", "Mistake or remedy", lesson, in_lesson},
    {GLFW_KEY_Y, none, Action::lesson_leave, "lesson-leave", "Leave the lesson", lesson, in_lesson},

    {GLFW_KEY_TAB, none, Action::toggle_cards, "cards", "Cards on or off", window},
    {GLFW_KEY_C, none, Action::toggle_strips, "strip-charts", "Strip charts", window},
    {GLFW_KEY_M, none, Action::toggle_theme, "theme", "Light or dark", window},
    {GLFW_KEY_F1, none, Action::toggle_help, "help", "This page", window},
    {GLFW_KEY_F2, none, Action::toggle_timing, "timing", "Frame times", window},
    {GLFW_KEY_F11, none, Action::full_screen, "full-screen", "Full screen", window},
    {GLFW_KEY_ESCAPE, none, Action::close, "close", "Close what is open", window},
    {GLFW_KEY_Q, ctrl, Action::quit, "quit", "Quit", window},
};

std::string name_of_key(int key) {
    struct Name {
        int key;
        const char* text;
    };
    static constexpr Name names[] = {{GLFW_KEY_SPACE, "Space"},
                                     {GLFW_KEY_LEFT, "Left"},
                                     {GLFW_KEY_RIGHT, "Right"},
                                     {GLFW_KEY_UP, "Up"},
                                     {GLFW_KEY_DOWN, "Down"},
                                     {GLFW_KEY_HOME, "Home"},
                                     {GLFW_KEY_END, "End"},
                                     {GLFW_KEY_PAGE_UP, "Page up"},
                                     {GLFW_KEY_PAGE_DOWN, "Page down"},
                                     {GLFW_KEY_ENTER, "Enter"},
                                     {GLFW_KEY_TAB, "Tab"},
                                     {GLFW_KEY_ESCAPE, "Esc"},
                                     {GLFW_KEY_BACKSPACE, "Backspace"},
                                     {GLFW_KEY_DELETE, "Delete"}};
    for (const Name& name : names)
        if (name.key == key) return name.text;
    if (key >= GLFW_KEY_F1 && key <= GLFW_KEY_F25) return fmt::format("F{}", key - GLFW_KEY_F1 + 1);
    return {static_cast<char>(key)}; // the rest of the table are printable: GLFW's code is the US letter
}

} // namespace

std::span<const KeyBinding> key_bindings() { return table; }

bool works_on(KeyContext page, Action action) {
    const bool in_time = action <= Action::faster && action != Action::step && action != Action::next_event;
    const bool of_map = action >= Action::map_film_lost && action <= Action::map_chance;
    const bool of_view = action >= Action::view_corner && action <= Action::farther;
    if (page == KeyContext::compare)
        if (in_time || of_map || of_view || action == Action::toggle_contours ||
            action == Action::drop_spot || action == Action::compare || action == Action::toggle_cards)
            return true;
    if (page == KeyContext::charts && action == Action::charts) return true;
    if ((page == KeyContext::board || page == KeyContext::readings) && action == Action::board) return true;
    switch (action) {
    case Action::open_file:
    case Action::toggle_unit:
    case Action::toggle_theme:
    case Action::toggle_help:
    case Action::toggle_timing:
    case Action::full_screen:
    case Action::close:
    case Action::quit: return true;
    default: return false;
    }
}

const KeyBinding* binding_for(int key, int mods, bool hand_mode, bool lesson_on, KeyContext page) {
    const int held = mods & (ctrl | shift | alt);
    const KeyBinding* found = nullptr;
    for (const KeyBinding& binding : table) {
        if (binding.key != key || binding.mods != held) continue;
        if (page != KeyContext::always) {
            if (binding.context == page) return &binding;
            if (binding.context == KeyContext::always && works_on(page, binding.action)) found = &binding;
            continue;
        }
        if (binding.context == KeyContext::hand && hand_mode) return &binding;
        if (binding.context == KeyContext::lesson && lesson_on && !hand_mode) return &binding;
        if (binding.context == KeyContext::always && !found) found = &binding;
    }
    return found;
}

Action action_called(const std::string& id) {
    for (const KeyBinding& binding : table)
        if (id == binding.id) return binding.action;
    throw std::invalid_argument("no action \"" + id + "\"");
}

std::string key_text(const KeyBinding& binding) {
    std::string text;
    if (binding.mods & ctrl) text += "Ctrl+";
    if (binding.mods & shift) text += "Shift+";
    if (binding.mods & alt) text += "Alt+";
    return text + name_of_key(binding.key);
}

std::string keys_of(Action action) {
    std::string text;
    for (const KeyBinding& binding : table)
        if (const std::string key = key_text(binding);
            binding.action == action && text != key) // one key in two contexts is one
            text += (text.empty() ? "" : " / ") + key;
    return text;
}

} // namespace sparecoat::view
