#pragma once
#include "view/pages/edge/edge_profile_model.hpp"
#include "view/window/run_session.hpp"

namespace sparecoat::view::edge {

/// Film along an edge or body line, and what holding back from it would do.
class EdgePage : public Page {
public:
    explicit EdgePage(RunSession& session) : session_(session) {}

    EdgeProfileModel model;
    /// Asks what holding back so far from the profile's line would do, and takes what was asked over.
    void try_hold_back(double hold_back_m);
    void take_hold_back();
    /// How far the pad is held back from the profile's line now; a body line that is not named: not at all.
    double held_back_m() const;
    /// Why holding back changes nothing; empty where it does.
    std::string hold_back_idle() const;

    bool act(Action action) override;
    bool close() override;
    void follow_run(const std::vector<Tile>& changed) override;
    void spot_held(Point2 at) override;
    void job_shown(bool panel_changed) override;
    void strips_taken() override { model.open = false; }
    bool draw_card(const Ui& ui, CardPlace place, const Box& box) override;

private:
    RunSession& session_;
};

} // namespace sparecoat::view::edge
