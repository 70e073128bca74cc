#include "view/pages/compare/compare_stage.hpp"
#include "picture/map_drawing.hpp"
#include "view/render/shot.hpp"
#include <cmath>

namespace sparecoat::view::compare {

void CompareStage::work(CompareModel& model, const CompareLayout& at) {
    model.pointer.reset();
    if (!model.has_runs()) return;
    const ImGuiIO& io = ImGui::GetIO();
    const std::optional<std::size_t> under = io.WantCaptureMouse ? std::nullopt : at.pane_at(io.MousePos);
    if (under && button_ < 0) held_ = *under;
    if (held_ >= at.stages.size()) button_ = -1, held_ = 0;
    const Box& stage = at.stages[held_];
    if (under || button_ >= 0) {
        const float x = (io.MousePos.x - stage.x) / stage.w, y = (io.MousePos.y - stage.y) / stage.h;
        model.pointer = pick(model.panel(), model.camera.ray(x, y, stage.w / stage.h));
    }
    for (int button = 0; button < 3; ++button)
        if (under && button_ < 0 && ImGui::IsMouseClicked(button)) button_ = button, moved_ = false;
    if (button_ >= 0) {
        if (const ImVec2 d = ImGui::GetMouseDragDelta(button_, 4); d.x != 0 || d.y != 0) moved_ = true;
        const float dx = io.MouseDelta.x / stage.h, dy = io.MouseDelta.y / stage.h;
        if (moved_ && button_ == 0) model.camera.orbit(-3 * dx, 3 * dy);
        else if (moved_) model.camera.pan(dx, -dy);
        if (!ImGui::IsMouseDown(button_)) {
            if (button_ == 0 && !moved_) model.pinned = model.pointer;
            button_ = -1;
        }
    }
    if (under && io.MouseWheel != 0) model.camera.zoom(std::pow(0.88f, io.MouseWheel));
}

FrameCount CompareStage::draw(CompareModel& model, const Settings& settings, const CompareLayout& at,
                              float window_height, float scale) {
    FrameCount all;
    if (!model.has_runs() || at.stages.empty()) return all;
    const std::vector<ComparePane> panes = model.panes();
    const float aspect = at.stages.front().w / at.stages.front().h;
    model.camera.resize(aspect, 0);
    if (framed_ != model.generation() && framed_panel_ != model.request().run.panel)
        model.camera.frame(model.panel(), aspect);
    framed_ = model.generation(), framed_panel_ = model.request().run.panel;
    panes_.resize(std::min(panes.size(), at.stages.size()));
    for (std::size_t k = 0; k < panes_.size(); ++k) {
        if (model.values(panes[k]).size() != model.panel().grid.cells()) continue; // no frame of the runs yet
        if (!panes_[k]) panes_[k] = std::make_unique<Pane>();
        const bool other = panes_[k]->of != panes[k] || panes_[k]->generation != model.generation();
        if (panes_[k]->generation != model.generation()) panes_[k]->scene.set_panel(model.panel());
        panes_[k]->of = panes[k], panes_[k]->generation = model.generation();
        panes_[k]->scene.update_map(model.values(panes[k]),
                                    other ? all_tiles(model.panel().grid) : model.changed(panes[k]));
        const FrameCount count = draw(model, settings, *panes_[k], at.stages[k], window_height, scale);
        all.draws += count.draws, all.bytes_uploaded += count.bytes_uploaded,
            all.tiles_uploaded += count.tiles_uploaded;
    }
    return all;
}

FrameCount CompareStage::draw(const CompareModel& model, const Settings& settings, Pane& pane,
                              const Box& stage, float window_height, float scale) {
    const double factor = map_info(model.map).film ? per_um(settings.unit) : 1;
    const Scale& range = pane.of.over_first ? model.over_scale() : model.scale();
    SceneState state;
    state.light_theme = settings.light_theme;
    state.colours = pane.of.over_first ? &difference_colours() : &colours_of(model.map);
    state.low = static_cast<float>(range.low / factor), state.high = static_cast<float>(range.high / factor);
    // Of a small difference the lines would draw the grid's own steps.
    state.contour_step =
        settings.contours && !pane.of.over_first ? static_cast<float>(range.step / factor) : 0;
    if (model.map == MapKind::chance && !pane.of.over_first)
        state.contour_levels = {chance_levels[0], chance_levels[1], chance_levels[2]};
    state.pixel_scale = scale;
    const RunJob& job = model.job(pane.of.side);
    if (!pane.of.over_first) {
        show_work(state, job, model.view(pane.of.side), job.path.samples, std::nullopt);
        // Of many hands none of the paths is this one's; and a whole one would hide the map that it came to.
        if (model.shows_draws() || model.finished(pane.of.side)) state.path = {};
        else state.pad = model.view(pane.of.side).now;
        state.pad_opacity = 0.8f, state.path_opacity = 0.35f;
        if (model.map == MapKind::chance)
            if (const auto weakest = model.weakest(pane.of.side)) state.pins.push_back(*weakest);
    }
    state.pointer = model.spot();
    return pane.scene.draw(model.camera, state, static_cast<int>(stage.x),
                           static_cast<int>(window_height - stage.y - stage.h), static_cast<int>(stage.w),
                           static_cast<int>(stage.h));
}

} // namespace sparecoat::view::compare
