#pragma once
#include "view/pages/lamp/lamp_model.hpp"
#include "view/window/run_session.hpp"

namespace sparecoat::view::lamp {

/// The inspection lamp over the run: marks in the paint instead of a map.
class LampPage : public Page {
public:
    explicit LampPage(RunSession& session) : session_(session) {}

    LampModel model;

    bool act(Action action) override;
    void follow_run(const std::vector<Tile>& changed) override;
    bool works_in_background() const override { return model.working(); }
    void map_chosen(MapKind) override { model.lit = false; }
    void defects_chosen(const Defects& defects) override { model.set_defects(defects); }
    bool hides_map() const override { return model.lit; }
    bool draw_card(const Ui& ui, CardPlace place, const Box& box) override;
    void draw_rows(const Ui& ui, ValueCard& card) override;

private:
    RunSession& session_;
};

} // namespace sparecoat::view::lamp
