#pragma once
#include "view/pages/compare/compare_model.hpp"
#include "view/window/run_session.hpp"

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
    bool take_file(Chooser what, const std::filesystem::path& file) override;

private:
    bool act_on_time(Action action);
    bool act_on_sides(Action action);
    void take_chosen();

    RunSession& session_;
};

} // namespace sparecoat::view::compare
