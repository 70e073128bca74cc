#pragma once
#include "view/pages/risk/risk_model.hpp"
#include "view/window/run_session.hpp"

namespace sparecoat::view::risk {

/// The chance of burning through: its map, the spots at risk, and changes tried for one of them.
class RiskPage : public Page {
public:
    explicit RiskPage(RunSession& session) : session_(session) {}

    RiskModel model;
    /// The region at risk that is held; none while no chance is known or another place is held.
    std::optional<std::size_t> held_region() const;
    /// Takes a change that was tried over into the technique. Can be undone.
    void apply(const Remedy& remedy);
    /// Whether a change says anything for the path that is worked: a recorded one keeps its own force, tilt
    /// and pace.
    bool can_apply(const Remedy& remedy) const;

    bool act(Action action) override;
    void follow_run(const std::vector<Tile>& changed) override;
    bool works_in_background() const override { return model.working() || model.trying(); }
    void map_chosen(MapKind kind) override;
    void job_shown(bool panel_changed) override;
    std::optional<std::vector<Point2>> pins() const override;
    bool draw_card(const Ui& ui, CardPlace place, const Box& box) override;
    void draw_over_panel(const Ui& ui, ImDrawList& list, const Box& stage,
                         const PlaceOnPanel& place) override;

private:
    void work_out();

    RunSession& session_;
    bool begun_ = false; ///< a first job has been shown
};

} // namespace sparecoat::view::risk
