#pragma once
#include "panel/reading_spots.hpp"
#include "picture/heatmap.hpp"
#include "picture/sheet.hpp"
#include "plan/plan.hpp"
#include "vehicle/documents.hpp"
#include "vehicle/job_board.hpp"
#include "vehicle/job_plan.hpp"
#include "view/run/background_task.hpp"
#include "view/run/edit_history.hpp"
#include <cstdint>
#include <filesystem>
#include <functional>
#include <map>
#include <memory>
#include <mutex>
#include <optional>
#include <string>
#include <vector>

namespace sparecoat::view::board {

enum class BoardPart { panels, readings, plan };

/// One line of a form: typed, or chosen from a list by some of its words.
struct BoardField {
    std::string label, hint, text;
    std::vector<Listing> from; ///< to choose from; empty: typed
    std::size_t row = 0;       ///< in what matches

    /// Of `from`, what holds every word typed; all where nothing is typed.
    std::vector<std::size_t> matches() const;
    /// What is meant: the id under `row` of what matches, or the text. Empty where nothing is.
    std::string value() const;
};

struct BoardForm {
    enum class Kind { visit, panel, marks, work, plan, sheet, pattern, gauge };
    Kind kind = Kind::visit;
    std::string title, remark, action; ///< the last: what Enter does
    std::vector<BoardField> fields;
    std::string fault; ///< what was refused and what is allowed
};

/// Readings being entered on one panel: where the cursor is on its walk over the pattern, and what is typed.
struct ReadingEntry {
    Id panel = 0;
    std::shared_ptr<const Panel> shape; ///< on coarse cells: its outline is exact
    Paint paint;
    SpotPattern pattern;
    bool after_work = false, of_clear = false;
    std::size_t turn = 0; ///< of the walk; as many as there are spots: at its end
    std::string text, fault;

    std::size_t spots() const { return pattern.spots.size(); }
    bool at_end() const { return turn >= spots(); }
    std::size_t spot() const { return pattern.walked(std::min(turn, spots() - 1)); }
};

/// A plan as it was asked for in the window.
struct PlanWish {
    std::string time_limit, film_limit;      ///< as typed; empty: none
    std::map<std::string, std::string> a_hv; ///< per machine of the kit, as typed
};

/// A vehicle's job in the window: its board, its entries, its plan. The file is written with every entry;
/// whatever another program writes is taken up. Nothing here draws; no call waits, files and a panel's
/// outline apart.
class JobModel {
public:
    JobModel();

    // ---- the file -----------------------------------------------------------------------------------
    /// @throws InputError; what was open then stays open.
    void open(const std::filesystem::path& file, JobFile::Access access = JobFile::Access::write);
    void close();
    bool is_open() const { return job_ != nullptr; }
    const JobFile& file() const { return *job_; }
    bool read_only() const { return job_ && job_->read_only(); }
    /// Its copy from before it was brought up to date, if one was made on opening.
    std::optional<std::filesystem::path> backup() const { return job_ ? job_->backup() : std::nullopt; }
    const Board& board() const { return board_; }
    std::uint64_t generation() const { return generation_; } ///< counts readings of the file

    // ---- where one is -------------------------------------------------------------------------------
    BoardPart page = BoardPart::panels;
    std::size_t row = 0;     ///< of the board's panels
    std::size_t columns = 3; ///< that the panels stand in, as drawn
    const BoardPanel* panel() const { return row < board_.panels.size() ? &board_.panels[row] : nullptr; }
    /// Over the grid of panels; stays on it.
    void move(int right, int down);
    void choose_visit(int by);

    // ---- entries: each one edit, thrown back whole with an InputError (ChangedElsewhere) -------------
    void toggle_clean();
    void set_marks(const std::string& defects);
    void add_panel(const std::string& name, const std::string& shape, const std::string& paint);
    void add_visit(const std::string& date, const std::string& label);
    void note_work(const Work& work);
    /// Puts readings on file, in the place of those that are there at the same spots.
    void put_readings(const std::vector<GaugeReading>& readings, const std::string& label);
    /// Gauge readings of the chosen panel as CSV, or a section record. @return what came in, in words.
    std::string take_in(const std::filesystem::path& file);
    /// @return what was undone or redone, in words; empty where there is nothing.
    std::string undo();
    std::string redo();
    bool can_undo() const;
    bool can_redo() const;

    // ---- forms --------------------------------------------------------------------------------------
    std::optional<BoardForm> form;
    void ask(BoardForm::Kind kind, FilmUnit unit);
    /// Takes the form in and closes it; what is refused is said in the form. @return whether it was taken.
    bool enter_form(FilmUnit unit);

    // ---- readings, spot by spot ---------------------------------------------------------------------
    std::optional<ReadingEntry> entry;
    int gauge_n = 1; ///< measurements behind each, and the gauge's repeatability
    double gauge_sd_um = 1;
    int pattern_rows = 3, pattern_columns = 4;
    /// Begins on the panel chosen. @throws InputError: no panel, no visit, no room for the pattern.
    void begin_readings();
    /// A digit, comma or point; whatever else is passed over.
    void type(unsigned code_point);
    void rub_out();
    /// Takes what is typed as the spot's film and goes on to the next; where nothing is typed it only goes
    /// on. What is refused is said in entry->fault, and the cursor stays. @return whether the cursor went on.
    bool take_reading(FilmUnit unit);
    void move_spot(int right, int up);
    void go_to_spot(std::size_t spot); ///< of the pattern
    void remove_reading();
    /// @return what a gauge's own text was taken for, in words; empty: it was plain values.
    std::string paste(const std::string& text, FilmUnit unit);
    void switch_kind(bool of_clear);
    void switch_time(bool after_work);
    /// The reading on file at a spot of the pattern, of the kind and time being entered.
    const FilmReading* reading_at(std::size_t spot) const;
    /// All of that kind and time.
    std::vector<const FilmReading*> readings_shown() const;
    /// What a person should know of the readings shown, and which they are.
    struct Remarks {
        std::vector<FilmFlag> flags;  ///< lines count readings_shown(), from 1
        std::vector<bool> suspicious; ///< of readings_shown()
        bool is_suspicious(const FilmReading* reading, const std::vector<const FilmReading*>& shown) const;
    };
    const Remarks& remarks() const;

    // ---- the plan -----------------------------------------------------------------------------------
    PlanWish wish;
    /// Works the plan of the visit out beside the drawing. @throws InputError: what is typed, no kit, no
    /// panel, no visit, a file that is not to be written.
    void work_out_plan(FilmUnit unit);
    void call_off_plan() { planning_.call_off(); }
    bool planning() const { return planning_.working(); }
    float planned_share() const { return planning_.share(); }
    std::string planned_panel() const;
    /// The plan that the visit keeps, with its totals; null where it keeps none of the whole vehicle.
    const VehiclePlan* plan() const { return kept_ && kept_->whole ? &kept_->plan : nullptr; }
    /// What the job did not say when it was made, in words.
    const std::vector<std::string>& assumed() const;
    std::optional<std::size_t> front_row; ///< of its front, looked at
    void look_along_front(int by);
    /// The day's vibration of the plan's machines whose value was given.
    std::vector<VibrationTask> vibration() const {
        return plan() ? day_of(kept_->plan, kept_->asked) : std::vector<VibrationTask>{};
    }
    void wait_for_plan() const { planning_.wait(); }

    // ---- the sheet ----------------------------------------------------------------------------------
    SheetTerms sheet;       ///< as chosen in its form
    bool sheet_due = false; ///< the form was taken: a file is to be named
    /// Writes the sheet of the visit that is shown. @throws InputError.
    void write_sheet(const std::filesystem::path& file, FilmUnit unit, const std::filesystem::path& shop);

    // ---- a panel on the bench -----------------------------------------------------------------------
    /// Lays the job's presets, its readings and a step of its plan out for a run of the panel chosen.
    struct Opened {
        std::shared_ptr<const Library> presets; ///< the job's own before the shipped ones
        Choices choices;
        std::string defects;
        Id panel = 0;
        std::size_t step = 0, steps = 0; ///< of the plan; none: a technique that stands in
    };
    Opened lay_out(std::size_t step) const;

    // ---- every frame --------------------------------------------------------------------------------
    /// Takes up what another program wrote and what was worked out. @return what is to be told, if anything.
    std::string tick(double now_s);

private:
    struct WhichPanel {
        std::mutex mutex;
        std::string name;
    };
    struct Ask {
        std::shared_ptr<const Library> presets;
        JobForPlan from;
        Visit visit;
        PlanTerms terms;
        AskedExposure asked;
        std::int64_t revision = 0;
        std::shared_ptr<WhichPanel> which;
        std::shared_ptr<WorkedSets> worked;
    };
    struct Answer {
        JobForPlan from;
        Visit visit;
        AskedExposure asked;
        std::int64_t revision = 0;
        std::shared_ptr<const VehiclePlan> plan;
        std::string fault;
    };
    static Answer work_out(const Ask& ask, TaskState& task);
    void read();
    void read_plan();
    void edit(const std::string& label, const std::function<void()>& body);
    const BoardPanel& chosen() const;
    const Visit& visit() const;
    void read_entry();
    BoardForm form_of(BoardForm::Kind kind, FilmUnit unit) const;
    void fill_work(BoardForm& out, FilmUnit unit) const;
    void fill_plan(BoardForm& out, FilmUnit unit) const;
    void take_form(const BoardForm& asked, FilmUnit unit);
    void take_work(const BoardForm& asked, FilmUnit unit);
    std::string keep(Answer answer);

    std::unique_ptr<JobFile> job_;
    Board board_;
    std::uint64_t generation_ = 0;
    std::optional<Id> visit_;
    double looked_s_ = 0;
    mutable std::optional<Remarks> remarks_;
    std::shared_ptr<WhichPanel> which_ = std::make_shared<WhichPanel>();
    std::optional<KeptPlan> kept_;                                        ///< of the visit that is shown
    std::shared_ptr<WorkedSets> worked_ = std::make_shared<WorkedSets>(); ///< what an entry does not change
    LatestBackgroundTask<Ask, Answer> planning_{work_out};
};

/// A date such as 2026-03-14, of today by the clock's own time zone.
std::string today();

} // namespace sparecoat::view::board
