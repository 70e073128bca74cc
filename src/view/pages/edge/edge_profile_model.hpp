#pragma once
#include "decide/edge_profile.hpp"
#include "run/run_job.hpp"
#include "view/run/background_task.hpp"
#include "view/run/edit_history.hpp"
#include "view/run/live_run.hpp"
#include <memory>
#include <optional>
#include <string>
#include <vector>

namespace sparecoat::view::edge {

/// Clear coat along an edge or body line as columns for a graph; NaN where the line starts anew or no cell
/// is.
struct ProfileColumns {
    std::vector<float> along_mm, left_um;
    std::vector<float> before_um,
        sd_um; ///< film before any work and its standard deviation, where it is thinnest
    std::vector<std::uint32_t> cell; ///< of left_um; no_profile_cell for none
};

/// What would be with the pad held back otherwise: a steady hand's run on coarse cells, to its end.
struct HoldBackTrial {
    double hold_back_m = 0;
    std::shared_ptr<const RunJob> job;
    std::vector<float> along_mm, left_um; ///< as in ProfileColumns
    float least_um = 0;
    std::string fault; ///< why it cannot be worked; empty otherwise
};

/// One edge or body line of the shown panel, its clear coat live, and the question what holding back from it
/// would do. No call waits.
class EdgeProfileModel {
public:
    /// The cells a trial is run on: coarse enough to follow a hand on a slider.
    static constexpr double trial_grid_m = 0.004;
    static constexpr int trial_pairs = 8; ///< draws for its chance

    EdgeProfileModel();

    bool open = false;
    /// Another job: a trial of the one before says nothing any more. On another panel the line stays where
    /// that has one of its name.
    void take_job(const Panel& panel, bool other_panel);
    void forget_trial();

    const std::vector<PanelFeature>& grounds() const { return grounds_; }
    std::optional<std::size_t> chosen() const { return chosen_; }
    /// @param index into grounds().
    void choose(const Panel& panel, std::size_t index);
    /// The line that a spot is named after. @return whether it has one.
    bool choose_near(const Panel& panel, std::size_t cell);
    const EdgeProfile& profile() const { return profile_; }
    const ProfileColumns& columns() const { return columns_; }
    /// Name of the chosen line as the panel has it, and as it is said.
    std::string name(const Panel& panel) const;

    /// Reads the film along the line. Does nothing while closed.
    void refresh(const Panel& panel, const LiveView& view);
    std::optional<std::size_t> hovered; ///< piece under the pointer on the graph, set by the card
    /// Where that is on the panel: the thinnest place of the piece.
    std::optional<Point2> hovered_at(const Panel& panel) const;

    // ---- what if the pad were held back so far ----
    std::optional<double> wanted_m; ///< none: not asked
    void ask(const Library& library, const Choices& choices, double hold_back_m, const std::string& line);
    const HoldBackTrial* trial() const { return trial_ ? &*trial_ : nullptr; }
    /// Highest chance along the line with it; none while it is not known.
    std::optional<double> trial_chance() const { return chance_; }
    bool trying() const { return trials_.working(); }
    /// Takes up what has come.
    void tick();

private:
    void take_film(const Panel& panel);
    struct Ask {
        Library library;
        Choices choices;
        double hold_back_m = 0;
        PanelFeature ground;
        std::string line;
        std::shared_ptr<const RunJob> like; ///< a coarse job whose panel may do again
    };
    struct ChanceAsk {
        Library library;
        std::shared_ptr<const RunJob> job;
        PanelFeature ground;
        double hold_back_m = 0;
    };
    struct ChanceAnswer {
        std::optional<double> chance;
        double hold_back_m = 0;
    };
    static HoldBackTrial work_out(const Ask& ask, TaskState& task);
    static ChanceAnswer work_out_chance(const ChanceAsk& ask, TaskState& task);

    std::vector<PanelFeature> grounds_;
    std::optional<std::size_t> chosen_;
    EdgeProfile profile_;
    ProfileColumns columns_;
    std::vector<float> left_um_; ///< per cell of the panel, kept up in the strip alone
    std::string chosen_name_;
    std::optional<HoldBackTrial> trial_;
    std::optional<double> chance_;
    std::optional<Library> library_;
    std::shared_ptr<const RunJob> coarse_;
    LatestBackgroundTask<Ask, HoldBackTrial> trials_;
    LatestBackgroundTask<ChanceAsk, ChanceAnswer> chances_;
};

} // namespace sparecoat::view::edge
