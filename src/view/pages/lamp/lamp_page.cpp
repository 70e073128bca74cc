#include "view/pages/lamp/lamp_page.hpp"

namespace sparecoat::view::lamp {

bool LampPage::act(Action action) {
    constexpr double step_m = 0.02;
    switch (action) {
    case Action::toggle_map: // from under the lamp to the map, never to plain paint
        if (!model.lit) return false;
        session_.draw_map = true;
        model.lit = false;
        break;
    case Action::lamp: model.lit = !model.lit; break;
    case Action::lamp_show:
        if (model.lit) model.show_next(session_.shown->panel, session_.camera.eye());
        model.lit = true;
        break;
    case Action::lamp_left: model.move(-step_m, 0); break;
    case Action::lamp_right: model.move(step_m, 0); break;
    case Action::lamp_up: model.move(0, step_m); break;
    case Action::lamp_down: model.move(0, -step_m); break;
    case Action::lamp_higher: model.raise(step_m); break;
    case Action::lamp_lower: model.raise(-step_m); break;
    default: return false;
    }
    return true;
}

void LampPage::follow_run(const std::vector<Tile>& changed) {
    if (!session_.has_frame()) return;
    if (session_.panel_changed()) model.leave_panel();
    else model.tick(session_.shown, session_.view, changed, session_.camera.eye());
}

} // namespace sparecoat::view::lamp
