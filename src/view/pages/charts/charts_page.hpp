#pragma once
#include "view/pages/charts/chart_model.hpp"
#include "view/window/chart_image.hpp"
#include "view/window/run_session.hpp"

namespace sparecoat::view::charts {

/// Charts in the whole window: of a sweep on file, or of how even the technique works.
class ChartsPage : public Page {
public:
    explicit ChartsPage(RunSession& session) : session_(session) {}

    ChartModel model;
    void open(ChartMaker maker);
    /// Charts of how even the technique works.
    void open_evenness();
    void save(const std::filesystem::path& file);
    bool in_front() const { return session_.front() == this; }

    KeyContext keys() const override { return KeyContext::charts; }
    bool act(Action action) override;
    bool close() override;
    void tick(double now_s) override;
    bool works_in_background() const override { return model.working(); }
    bool stills_run() const override { return true; }
    bool is_open() const override { return model.is_open(); }
    void leave() override { close(); }
    bool take_file(Chooser what, const std::filesystem::path& file) override;
    std::string file_name(Chooser what) const override;
    void draw(const Ui& ui, float width, float height) override;
    void drop_drawing() override { image_ = {}; }

private:
    RunSession& session_;
    ChartImage image_;
};

} // namespace sparecoat::view::charts
