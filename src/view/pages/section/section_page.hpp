#pragma once
#include "view/pages/section/section_model.hpp"
#include "view/render/tape_frames.hpp"
#include "view/window/run_session.hpp"

namespace sparecoat::view::section {

/// Test sections: the record and its panel, tape laid with the mouse, and the advice that follows an entry.
class SectionPage : public Page {
public:
    explicit SectionPage(RunSession& session) : session_(session) {}

    SectionModel model;
    /// Whether the cards are to be seen: a lesson has its own panel, and a job its own squares.
    bool shown() const { return model.open && !session_.in_lesson && !session_.on_vehicle_panel; }
    void open(bool open);
    void load_record(const std::filesystem::path& file);
    void save_record(const std::filesystem::path& file);
    /// Makes an entry, a record being begun where there is none, and has the advice worked out anew. What was
    /// refused becomes a message. @return whether it went well.
    bool enter(const std::function<void()>& what);
    /// Puts the form in; what was refused is said in the form itself.
    void enter_form();
    /// The mouse lays tape: takes hold at a point, goes on to others, lets go.
    void take_tape(Point2 at, double reach_m);
    void lay_tape(Point2 at);
    void let_tape_go();
    /// The squares as tape on the panel: the last one, and one in the hand, clearly, the others faint.
    std::vector<TapeFrame> tape_frames() const;
    /// The technique's section becomes a square, so that the run works inside it.
    void work_in(const TapedSquare& square);
    /// The same with a step of the kit, one set.
    void watch_step(std::size_t step, const TapedSquare& square);
    /// Takes the record's paint over into the run.
    void take_record_paint();

    bool act(Action action) override;
    bool is_on(Action action) const override { return action == Action::toggle_section && shown(); }
    bool let_go() override;
    bool close() override;
    void end_tick() override;
    bool works_in_background() const override { return model.working(); }
    void hand_begins() override { model.drag.cancel(), model.placing = false; }
    bool unsaved() const override { return model.unsaved(); }
    bool take_file(Chooser what, const std::filesystem::path& file) override;
    bool takes_mouse() const override { return model.placing; }
    bool draw_card(const Ui& ui, CardPlace place, const Box& box) override;
    void draw_over_panel(const Ui& ui, ImDrawList& list, const Box& stage,
                         const PlaceOnPanel& place) override;

private:
    void new_record();
    void load_last_record();
    void unless_record_lost(std::function<void()> what);
    PanelInUse panel_in_use() const;

    RunSession& session_;
};

} // namespace sparecoat::view::section
