#pragma once
#include "rooms.hpp"
#include <span>
#include <string>

namespace sparecoat::view {

/// Everything that a key does.
enum class Action {
    play_pause,
    step,
    back,
    on,
    back_far,
    on_far,
    to_start,
    to_end,
    next_event,
    slower,
    faster,
    map_film_lost,
    map_clear_left,
    map_pressure,
    map_speed,
    map_contact,
    map_work,
    map_temperature,
    map_peak_temperature,
    map_chance,
    work_out_chance,
    toggle_map,
    toggle_contours,
    toggle_unit,
    lock_range,
    lamp,
    lamp_show,
    lamp_left,
    lamp_right,
    lamp_up,
    lamp_down,
    lamp_higher,
    lamp_lower,
    view_corner,
    view_front,
    view_left,
    view_right,
    view_top,
    view_bottom,
    orbit_left,
    orbit_right,
    orbit_up,
    orbit_down,
    pan_left,
    pan_right,
    pan_up,
    pan_down,
    nearer,
    farther,
    next_spot,
    drop_spot,
    try_changes,
    toggle_edge_profile,
    next_edge,
    previous_value,
    next_value,
    lower_value,
    raise_value,
    type_value,
    undo,
    redo,
    open_file,
    save_path,
    hand_mode,
    trigger,
    tilt_left,
    tilt_right,
    tilt_up,
    tilt_down,
    less_force,
    more_force,
    toggle_section,
    tape_square,
    work_in_square,
    mark_clean,
    enter_try,
    take_back_entry,
    work_out_advice,
    section_table,
    new_record,
    save_record,
    board,
    step_before,
    step_after,
    board_left,
    board_right,
    board_up,
    board_down,
    board_open,
    board_readings,
    board_clean,
    board_marks,
    board_work,
    board_add_panel,
    board_visit_before,
    board_visit_after,
    board_add_visit,
    board_plan,
    board_totals,
    board_call_off,
    board_sheet,
    job_undo,
    job_redo,
    spot_take,
    spot_rub_out,
    spot_remove,
    spot_left,
    spot_right,
    spot_up,
    spot_down,
    spot_kind,
    spot_time,
    spot_pattern,
    spot_gauge,
    spot_paste,
    spot_panel_before,
    spot_panel_after,
    compare,
    compare_previous,
    compare_next,
    compare_change,
    compare_add,
    compare_drop,
    compare_first,
    compare_take,
    compare_differences,
    compare_draws,
    compare_range,
    compare_row_up,
    compare_row_down,
    compare_work_out,
    compare_save,
    charts,
    chart_before,
    chart_after,
    chart_save,
    charts_again,
    lessons,
    lesson_on,
    lesson_back,
    lesson_turn,
    lesson_leave,
    toggle_cards,
    toggle_strips,
    toggle_theme,
    toggle_help,
    toggle_timing,
    full_screen,
    close,
    quit
};

/// When a binding counts: in hand mode the keys of `hand` go before those of `always`, in a lesson those of
/// `lesson`. Over the vehicle's board those of `board` count, while readings are entered those of `readings`,
/// and with techniques side by side those of `compare`, and over charts those of `charts`; and of `always`
/// only what works_on() says.
enum class KeyContext { always, hand, lesson, board, readings, compare, charts };
bool works_on(KeyContext page, Action action);

/// One row of the table that everything about keys is made from: what a key does, the help page, the hints
/// on buttons and the driven tests.
struct KeyBinding {
    int key = 0;  ///< GLFW_KEY_...
    int mods = 0; ///< GLFW_MOD_CONTROL, _SHIFT, _ALT together
    Action action{};
    const char* id = "";    ///< "play-pause"
    const char* words = ""; ///< "Play or pause"
    const char* group = ""; ///< heading on the help page
    KeyContext context = KeyContext::always;
    bool repeats = false; ///< while held down
};

/// In the order of the help page; rows of a group stand together.
std::span<const KeyBinding> key_bindings();

/// What a key does now; null for nothing. @param mods as GLFW gives them; lock keys are ignored.
/// @param page board, readings, compare or charts where that is in front.
const KeyBinding* binding_for(int key, int mods, bool hand_mode, bool in_lesson = false,
                              KeyContext page = KeyContext::always);

/// The action with this id. @throws std::invalid_argument where there is none.
Action action_called(const std::string& id);

/// "Ctrl+Z", "Space", "1".
std::string key_text(const KeyBinding& binding);

/// The keys of an action for a hint, " / " between several; "" where it has none.
std::string keys_of(Action action);

} // namespace sparecoat::view
