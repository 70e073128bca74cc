#pragma once
#include "view/pages/compare/compare_layout.hpp"
#include "view/pages/compare/compare_model.hpp"
#include "view/pages/compare/compare_stage.hpp"
#include "view/window/run_session.hpp"
#include <memory>

namespace sparecoat::view::compare {

/// Techniques side by side in the whole window, each with a run of its own.
class ComparePage : public Page {
public:
    explicit ComparePage(RunSession& session) : session_(session) {}

    CompareModel model;
    bool choosing = false; ///< the list of techniques for the chosen one is to be opened
    /// Holds presets or files against the technique in the window; none: the preset that follows it in the
    /// list.
    void open(const std::vector<std::string>& against = {});
    void save(const std::filesystem::path& folder);
    bool in_front() const { return session_.front() == this; }

    KeyContext keys() const override { return KeyContext::compare; }
    bool act(Action action) override;
    bool close() override;
    void tick(double now_s) override;
    bool works_in_background() const override { return model.works_in_background(); }
    bool moves() const override { return model.playing(); }
    bool stills_run() const override { return true; }
    bool is_open() const override { return model.is_open(); }
    void leave() override { close(); }
    void lay_out(float width, float height, float scale) override;
    void work_mouse() override;
    FrameCount draw_panels(float window_height, float scale) override;
    void drop_drawing() override { stage_.reset(); }
    void draw(const Ui& ui, float width, float height) override;
    const CompareLayout& layout() const { return layout_; } ///< of the last frame, in framebuffer pixels
    bool take_file(Chooser what, const std::filesystem::path& file) override;

private:
    bool act_on_time(Action action);
    bool act_on_sides(Action action);
    void take_chosen();

    CompareStage& stage();

    RunSession& session_;
    CompareLayout layout_;
    std::unique_ptr<CompareStage> stage_; ///< once there is a context to draw in
};

} // namespace sparecoat::view::compare
