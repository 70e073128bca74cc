#pragma once
#include "view/pages/board/job_model.hpp"
#include "view/run/background_task.hpp"
#include "view/window/run_session.hpp"

namespace sparecoat::view::board {

/// A vehicle's job: its file, its board in the whole window, and its panels as runs.
class BoardPage : public Page {
public:
    explicit BoardPage(RunSession& session) : session_(session) {}

    JobModel model;
    /// Opens a job file and its board. What cannot be opened is told, and what was open stays.
    void open(const std::filesystem::path& file);
    void save_sheet(const std::filesystem::path& file);
    /// Lets go of the job; the run is as it was before the first of its panels.
    void close_job();
    /// Makes the chosen panel's run ready as a background task, with a step of its plan; a later tick shows
    /// it.
    void open_panel(std::size_t step);
    /// The panel of the job that is shown, if one is, and its row on the board.
    const BoardPanel* opened_panel() const;
    const std::optional<JobModel::Opened>& opened() const { return opened_; }
    bool opening_panel() const { return opening_.working(); }
    /// Takes the form on the board in; what is refused is said in it.
    void enter_form();
    bool in_front() const { return session_.front() == this; }

    KeyContext keys() const override;
    bool act(Action action) override;
    bool dialog() const override { return model.form.has_value(); }
    bool takes_text() const override;
    void type(unsigned code_point) override { model.type(code_point); }
    bool close() override;
    void tick(double now_s) override;
    bool works_in_background() const override { return model.planning() || opening_panel(); }
    bool is_open() const override { return model.is_open(); }
    bool take_file(Chooser what, const std::filesystem::path& file) override;
    void draw(const Ui& ui, float width, float height) override;
    void draw_over_panel(const Ui& ui, ImDrawList& list, const Box& stage,
                         const PlaceOnPanel& place) override;

private:
    struct MadePanel {
        JobModel::Opened opened;
        std::shared_ptr<const RunJob> job;
        std::string fault;
    };
    struct PanelWish {
        JobModel::Opened opened;
        std::shared_ptr<const RunJob> earlier;
    };
    static MadePanel make_panel(const PanelWish& wish, TaskState& task);
    bool act_on_panels(Action action);
    bool act_on_visits(Action action);
    void act_on_readings(Action action);
    void open_step(bool after);
    void undo_or_redo(bool undo);
    void choose_panel(int by);
    void take_panel(MadePanel made);
    void leave_panels();

    RunSession& session_;
    struct Home {
        EditHistory edits;
        std::string defects;
    };
    std::optional<Home> home_; ///< the run before the job's panels
    std::optional<JobModel::Opened> opened_;
    LatestBackgroundTask<PanelWish, MadePanel> opening_{make_panel};
};

} // namespace sparecoat::view::board
