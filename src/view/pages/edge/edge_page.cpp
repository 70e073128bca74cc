#include "view/pages/edge/edge_page.hpp"

namespace sparecoat::view::edge {

double EdgePage::held_back_m() const {
    const Technique& technique = session_.choices().technique;
    const auto own = technique.hold_back_edge_m.find(model.name(session_.shown->panel));
    if (own != technique.hold_back_edge_m.end()) return own->second;
    const bool line = model.chosen() && model.grounds()[*model.chosen()].crest >= 0;
    return line ? -session_.shown->step.pad.radius_m : technique.hold_back_m;
}

std::string EdgePage::hold_back_idle() const {
    if (session_.choices().request.path_csv) return "A recorded path runs where it was recorded.";
    if (session_.choices().technique.pattern == Pattern::line) return "A line runs where it was drawn.";
    return "";
}

void EdgePage::try_hold_back(double hold_back_m) {
    model.ask(session_.edits.library(), session_.choices(), hold_back_m, model.name(session_.shown->panel));
}

void EdgePage::take_hold_back() {
    if (!model.wanted_m) return;
    Choices next = session_.choices();
    const std::string line = model.name(session_.shown->panel);
    next.technique.hold_back_edge_m[line] = *model.wanted_m;
    session_.edit(next, "hold-back, " + line);
}

bool EdgePage::act(Action action) {
    switch (action) {
    case Action::toggle_edge_profile: model.open = !model.open; break;
    case Action::next_edge:
        if (model.chosen() && model.open)
            model.choose(session_.shown->panel, (*model.chosen() + 1) % model.grounds().size());
        model.open = true;
        break;
    case Action::toggle_strips: // the two share a place: asking for one puts the other away
        if (!model.open) return false;
        session_.settings.strip_charts = true;
        model.open = false;
        break;
    default: return false;
    }
    return true;
}

bool EdgePage::close() { return std::exchange(model.open, false); }

void EdgePage::follow_run(const std::vector<Tile>&) {
    model.tick();
    if (session_.has_frame()) model.refresh(session_.shown->panel, session_.view);
}

void EdgePage::spot_held(Point2 at) {
    if (const std::optional<std::size_t> cell = session_.cell_at(at); cell && model.open)
        model.choose_near(session_.shown->panel, *cell);
}

void EdgePage::job_shown(bool panel_changed) { model.take_job(session_.shown->panel, panel_changed); }

} // namespace sparecoat::view::edge
