#include "view/pages/compare/compare_stage.hpp"
#include "picture/map_drawing.hpp"
#include "view/render/shot.hpp"
#include <cmath>

namespace sparecoat::view::compare {

void CompareStage::work(Session& session, const CompareLayout& at) {
    CompareModel& bench = session.compare.model;
    bench.pointer.reset();
    if (!bench.has_runs()) return;
    const ImGuiIO& io = ImGui::GetIO();
    const std::optional<std::size_t> under = io.WantCaptureMouse ? std::nullopt : at.pane_at(io.MousePos);
    if (under && button_ < 0) held_ = *under;
    if (held_ >= at.stages.size()) button_ = -1, held_ = 0;
    const Box& stage = at.stages[held_];
    if (under || button_ >= 0) {
        const float x = (io.MousePos.x - stage.x) / stage.w, y = (io.MousePos.y - stage.y) / stage.h;
        bench.pointer = pick(bench.panel(), bench.camera.ray(x, y, stage.w / stage.h));
    }
    for (int button = 0; button < 3; ++button)
        if (under && button_ < 0 && ImGui::IsMouseClicked(button)) button_ = button, moved_ = false;
    if (button_ >= 0) {
        if (const ImVec2 d = ImGui::GetMouseDragDelta(button_, 4); d.x != 0 || d.y != 0) moved_ = true;
        const float dx = io.MouseDelta.x / stage.h, dy = io.MouseDelta.y / stage.h;
        if (moved_ && button_ == 0) bench.camera.orbit(-3 * dx, 3 * dy);
        else if (moved_) bench.camera.pan(dx, -dy);
        if (!ImGui::IsMouseDown(button_)) {
            if (button_ == 0 && !moved_) bench.pinned = bench.pointer;
            button_ = -1;
        }
    }
    if (under && io.MouseWheel != 0) bench.camera.zoom(std::pow(0.88f, io.MouseWheel));
}

FrameCount CompareStage::draw(Session& session, const CompareLayout& at, float window_height, float scale) {
    CompareModel& bench = session.compare.model;
    FrameCount all;
    if (!bench.has_runs() || at.stages.empty()) return all;
    const std::vector<ComparePane> panes = bench.panes();
    const float aspect = at.stages.front().w / at.stages.front().h;
    bench.camera.resize(aspect, 0);
    if (framed_ != bench.generation() && framed_panel_ != bench.request().run.panel)
        bench.camera.frame(bench.panel(), aspect);
    framed_ = bench.generation(), framed_panel_ = bench.request().run.panel;
    panes_.resize(std::min(panes.size(), at.stages.size()));
    for (std::size_t k = 0; k < panes_.size(); ++k) {
        if (bench.values(panes[k]).size() != bench.panel().grid.cells()) continue; // no frame of the runs yet
        if (!panes_[k]) panes_[k] = std::make_unique<Pane>();
        const bool other = panes_[k]->of != panes[k] || panes_[k]->generation != bench.generation();
        if (panes_[k]->generation != bench.generation()) panes_[k]->scene.set_panel(bench.panel());
        panes_[k]->of = panes[k], panes_[k]->generation = bench.generation();
        panes_[k]->scene.update_map(bench.values(panes[k]),
                                    other ? all_tiles(bench.panel().grid) : bench.changed(panes[k]));
        const FrameCount count = draw(session, *panes_[k], at.stages[k], window_height, scale);
        all.draws += count.draws, all.bytes_uploaded += count.bytes_uploaded,
            all.tiles_uploaded += count.tiles_uploaded;
    }
    return all;
}

FrameCount CompareStage::draw(Session& session, Pane& pane, const Box& stage, float window_height,
                              float scale) {
    const CompareModel& bench = session.compare.model;
    const double factor = map_info(bench.map).film ? per_um(session.settings.unit) : 1;
    const Scale& range = pane.of.over_first ? bench.over_scale() : bench.scale();
    SceneState state;
    state.light_theme = session.settings.light_theme;
    state.colours = pane.of.over_first ? &difference_colours() : &colours_of(bench.map);
    state.low = static_cast<float>(range.low / factor), state.high = static_cast<float>(range.high / factor);
    // Of a small difference the lines would draw the grid's own steps.
    state.contour_step =
        session.settings.contours && !pane.of.over_first ? static_cast<float>(range.step / factor) : 0;
    if (bench.map == MapKind::chance && !pane.of.over_first)
        state.contour_levels = {chance_levels[0], chance_levels[1], chance_levels[2]};
    state.pixel_scale = scale;
    const RunJob& job = bench.job(pane.of.side);
    if (!pane.of.over_first) {
        show_work(state, job, bench.view(pane.of.side), job.path.samples, std::nullopt);
        // Of many hands none of the paths is this one's; and a whole one would hide the map that it came to.
        if (bench.shows_draws() || bench.finished(pane.of.side)) state.path = {};
        else state.pad = bench.view(pane.of.side).now;
        state.pad_opacity = 0.8f, state.path_opacity = 0.35f;
        if (bench.map == MapKind::chance)
            if (const auto weakest = bench.weakest(pane.of.side)) state.pins.push_back(*weakest);
    }
    state.pointer = bench.spot();
    return pane.scene.draw(bench.camera, state, static_cast<int>(stage.x),
                           static_cast<int>(window_height - stage.y - stage.h), static_cast<int>(stage.w),
                           static_cast<int>(stage.h));
}

} // namespace sparecoat::view::compare
