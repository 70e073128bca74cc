#pragma once
#include "picture/compare_report.hpp"
#include "picture/scale.hpp"
#include "study/compare.hpp"
#include "units/error.hpp"
#include "view/render/camera.hpp"
#include "view/run/background_task.hpp"
#include "view/run/live_run.hpp"
#include <cstddef>
#include <filesystem>
#include <memory>
#include <optional>
#include <string>
#include <vector>

namespace sparecoat::view::compare {

/// What a pane of the comparison shows: a technique's map, or what it has more than the first one's.
struct ComparePane {
    std::size_t side = 0;
    bool over_first = false;
    bool operator==(const ComparePane&) const = default;
};

/// Two to four techniques side by side in the window: their runs with a steady hand on one clock, their maps
/// on one scale, what they have more than the first; and beside the drawing the comparison over draws of the
/// hand.
///
/// The clock waits for the slowest: it goes on once every run has come to where it stands, so that all panes
/// show the same moment whatever the machine can do.
class CompareModel {
public:
    CompareModel();
    ~CompareModel();

    bool is_open() const { return library_.has_value(); }
    /// @param request of two to four techniques. Made ready beside the drawing.
    void open(const Library& library, CompareRequest request);
    /// The same with one technique more: the first of the list behind the last one, round its end, that the
    /// panel takes.
    void open_with_next(const Library& library, CompareRequest request, const std::vector<Listing>& list);
    void close();
    /// Of what is shown; while the first runs are made ready, of what is wanted.
    const CompareRequest& request() const { return has_runs() ? request_ : wanted_; }

    // ---- which techniques ----
    // What is shown stays until what is wanted is ready, and for good where that cannot be had.
    std::size_t sides() const { return wanted_.techniques.size(); } ///< wanted
    std::size_t chosen = 1; ///< of them; the table holds it against the first
    void choose_next(int by);
    bool can_add() const { return sides() < most_compared; }
    /// @throws InputError where it is there already.
    void add(const std::string& reference);
    /// The first preset behind the chosen one, round the list's end, that is not there yet and that the panel
    /// takes.
    void add_next(const std::vector<Listing>& list);
    void replace(std::size_t side, const std::string& reference);
    void drop(std::size_t side);       ///< not where only two are left
    void make_first(std::size_t side); ///< exchanges it with the first; not where that is one of no file
    /// As the panes' heads say: the preset's name, or its reference while it is being made ready.
    std::string name(std::size_t side) const;
    bool preparing() const { return preparing_.working(); }
    const std::string& fault() const {
        return fault_;
    } ///< why there is no comparison; empty where that is not so

    // ---- the runs ----
    /// Runs are there to be seen; not while the first ones are made ready.
    bool has_runs() const { return !runs_.empty(); }
    std::size_t runs() const { return runs_.size(); }
    const RunJob& job(std::size_t side) const { return *runs_[side]->job; }
    const LiveView& view(std::size_t side) const { return runs_[side]->view; }
    bool finished(std::size_t side) const { return runs_[side]->view.finished; }
    const Panel& panel() const { return runs_.front()->job->panel; }
    /// Counts up with every new set of runs.
    std::uint64_t generation() const { return generation_; }
    double t_s() const { return t_s_; }
    double end_s() const;
    bool playing() const { return playing_; }
    bool arrived() const;
    void play_or_pause();
    void seek(double t_s);

    // ---- the maps ----
    MapKind map = MapKind::film_lost;
    bool differences = true; ///< panes of differences
    bool whole_range =
        false; ///< the scales reach to the worst spot; else spots far beyond the rest take the end's colour
    bool of_draws = false; ///< film as the mean over the draws, where they are worked out
    /// The map is one of the draws, and not of the runs on the clock.
    bool shows_draws() const {
        return comparison_ && (map == MapKind::chance || (of_draws && map_info(map).film));
    }
    std::vector<ComparePane> panes() const;
    /// Values in the map's unit, NaN outside; empty until the runs are there.
    const std::vector<float>& values(const ComparePane& pane) const;
    /// Tiles of it that changed at the last tick.
    const std::vector<Tile>& changed(const ComparePane& pane) const;
    const Scale& scale() const { return scale_; } ///< of all techniques, in the unit shown
    const Scale& over_scale() const {
        return over_scale_;
    }                                             ///< of all differences, with its zero in the middle
    double most() const { return most_; }         ///< of all techniques, in the unit shown
    double farthest() const { return farthest_; } ///< from nothing, of all differences
    Camera camera;                                ///< of all panes
    std::optional<Point2> pointer, pinned;
    std::optional<Point2> spot() const { return pinned ? pinned : pointer; }
    /// The place whose chance of burning through is highest, once it is known.
    std::optional<Point2> weakest(std::size_t side) const;

    // ---- the comparison ----
    std::size_t row = 0; ///< measure chosen in the table
    void work_out();
    void call_off();
    bool working() const { return working_.working(); }
    float share() const { return working_.share(); }
    std::shared_ptr<const Comparison> comparison() const { return comparison_; }
    /// Report, table and pictures into a folder. @throws InputError where it may not be written there.
    void save(const std::filesystem::path& folder, FilmUnit unit, PaperSize sheet);
    bool saving() const { return saving_.working(); }
    bool works_in_background() const { return preparing() || working() || saving() || !arrived(); }

    /// Once a frame. @param speed times real time. @return what is to be told, or empty. @throws InputError:
    /// techniques that cannot be had, a report that cannot be written.
    std::string tick(double now_s, double speed, FilmUnit unit);
    /// Waits until the runs are ready, have come to the clock's time, and the comparison and report are done;
    /// for tests.
    void settle(FilmUnit unit);

private:
    struct Run {
        explicit Run(std::shared_ptr<const RunJob> of) : job(std::move(of)), live(job) {}
        std::shared_ptr<const RunJob> job;
        LiveRun live;
        LiveView view;
        std::vector<float> map, over;
        std::vector<Tile> changed, over_changed;
        double due_s = 0; ///< of the step that the clock's time lies in
    };
    struct Wish {
        Library library;
        CompareRequest request;
        std::vector<std::string> or_else = {}; ///< in the last one's place where that cannot be had
    };
    struct Prepared {
        CompareRequest of;
        std::vector<std::shared_ptr<const RunJob>> jobs;
        std::optional<InputError> fault;
    };
    struct Worked {
        std::shared_ptr<const Comparison> comparison;
        std::string fault;
    };
    struct Saving {
        std::shared_ptr<const Comparison> comparison;
        std::filesystem::path folder;
        FilmUnit unit;
        PaperSize sheet;
    };
    struct Saved {
        std::string told;
        std::optional<InputError> fault;
    };
    static Prepared prepare_runs(const Wish& wish, TaskState& task);
    static Worked work(const Wish& wish, TaskState& task);
    static Saved write(const Saving& saving, TaskState& task);
    void change(CompareRequest request, std::vector<std::string> or_else = {});
    void change_with_next(CompareRequest request, const std::vector<Listing>& list, const std::string& after);
    void take_runs(Prepared prepared);
    void go_on(double dt_s, double speed);
    void refresh(Run& run, bool all);
    void refresh_over(const Run& first, Run& run, bool all);
    void refresh_scales(FilmUnit unit);
    double end_of_scale(std::vector<float> Run::*values, double most) const;
    struct Shown {
        MapKind map;
        bool draws, whole;
        const Comparison* of;
        bool operator==(const Shown&) const = default;
    };

    std::optional<Library> library_;
    CompareRequest request_, wanted_;
    std::string fault_;
    std::vector<std::unique_ptr<Run>> runs_;
    std::uint64_t generation_ = 0;
    double t_s_ = 0, now_s_ = 0, scaled_s_ = -1;
    bool playing_ = false;
    double peak_ = 0; ///< most of a map of this moment, so that its range holds still
    std::optional<Shown> shown_;
    std::optional<FilmUnit> unit_;
    Scale scale_, over_scale_;
    double most_ = 0, farthest_ = 0;
    std::shared_ptr<const Comparison> comparison_;
    LatestBackgroundTask<Wish, Prepared> preparing_;
    LatestBackgroundTask<Wish, Worked> working_;
    LatestBackgroundTask<Saving, Saved> saving_;
};

} // namespace sparecoat::view::compare
