#include "view/pages/risk/risk_page.hpp"

namespace sparecoat::view::risk {

void RiskPage::work_out() {
    session_.number_from_first();
    session_.renew_map();
    session_.view.chance_percent.clear();
    model.ask(session_.edits.library(), session_.edits.choices(), session_.edits.job());
}

std::optional<std::size_t> RiskPage::held_region() const {
    const RiskFinding* finding = model.finding();
    const std::optional<std::size_t> cell =
        session_.pinned ? session_.cell_at(*session_.pinned) : std::nullopt;
    if (!finding || !cell || *cell >= finding->region.size() || finding->region[*cell] < 0) return {};
    return static_cast<std::size_t>(finding->region[*cell]);
}

bool RiskPage::can_apply(const Remedy& remedy) const {
    const bool by_pace = remedy.kind == RemedyKind::flatter || remedy.kind == RemedyKind::lighter ||
                         remedy.kind == RemedyKind::faster_arm;
    return !(session_.choices().request.path_csv && by_pace);
}

void RiskPage::apply(const Remedy& remedy) {
    if (!can_apply(remedy)) return;
    Choices next = session_.choices();
    const HandVariation hand = next.technique.hand; // the trial's was set apart from it
    next.technique = remedy.technique;
    next.technique.hand = hand;
    session_.edit(next, std::string(name_of(remedy.kind)));
}

bool RiskPage::act(Action action) {
    switch (action) {
    case Action::work_out_chance:
        session_.show(MapKind::chance);
        work_out();
        break;
    case Action::try_changes:
        if (const std::optional<std::size_t> region = held_region())
            model.try_changes(session_.edits.library(), *region);
        break;
    default: return false;
    }
    return true;
}

void RiskPage::follow_run(const std::vector<Tile>&) {
    if (model.tick()) session_.number_from_first();
    const RiskFinding* finding = model.finding();
    session_.reserve_um = (finding ? finding->terms : ChanceTerms{}).reserve_um;
    if (!finding || session_.view.chance_percent.size() == finding->percent.size()) return;
    session_.view.chance_percent = finding->percent; // new, or the run began anew and took it away
    session_.renew_map();
}

void RiskPage::map_chosen(MapKind kind) {
    if (kind == MapKind::chance && !model.finding() && !model.working()) work_out();
}

void RiskPage::job_shown(bool) {
    model.forget();
    session_.view.chance_percent.clear();
    // Later the chances are worked out when they are asked for: an edit has no wish of its own.
    if (!std::exchange(begun_, true) && session_.shows_chance()) work_out();
}

std::optional<std::vector<Point2>> RiskPage::pins() const {
    if (!session_.shows_chance()) return {};
    constexpr std::size_t most = 9; // more would cover the panel
    std::vector<Point2> out;
    if (const RiskFinding* finding = model.finding())
        for (const RegionAtRisk& region : finding->map.regions)
            if (out.size() < most) out.push_back(region.spot.at);
    return out;
}

} // namespace sparecoat::view::risk
