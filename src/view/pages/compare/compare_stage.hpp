#pragma once
#include "view/pages/compare/compare_layout.hpp"
#include "view/pages/compare/compare_model.hpp"
#include "view/render/scene.hpp"
#include "view/window/chart_image.hpp"
#include "view/window/settings.hpp"
#include <cstdint>
#include <memory>
#include <vector>

namespace sparecoat::view::compare {

/// The panes of techniques side by side: their panels in OpenGL, and the mouse over them. Needs a current
/// context for all its life.
class CompareStage {
public:
    /// The mouse over the panes: turns, moves and zooms all of them at once, and holds a spot.
    void work(CompareModel& model, const CompareLayout& at);
    /// @param window_height in pixels. @return what all panes together took.
    FrameCount draw(CompareModel& model, const Settings& settings, const CompareLayout& at,
                    float window_height, float scale);
    ChartImage& chart() { return chart_; }

private:
    struct Pane {
        Scene scene;
        ComparePane of;
        std::uint64_t generation = 0; ///< of the runs that the scene's panel is of
    };
    FrameCount draw(const CompareModel& model, const Settings& settings, Pane& pane, const Box& stage,
                    float window_height, float scale);

    std::vector<std::unique_ptr<Pane>> panes_;
    ChartImage chart_;
    int button_ = -1;
    bool moved_ = false;
    std::size_t held_ = 0;     ///< the pane that the button went down in
    std::uint64_t framed_ = 0; ///< runs that the camera was set for
    std::string framed_panel_;
};

} // namespace sparecoat::view::compare
