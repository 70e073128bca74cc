#pragma once
#include "picture/heatmap.hpp"
#include "picture/section_curves.hpp"
#include "plan/section.hpp"
#include "view/render/square_drag.hpp"
#include "view/run/background_task.hpp"
#include <cstdint>
#include <filesystem>
#include <memory>
#include <optional>
#include <string>
#include <vector>

namespace sparecoat::view::section {

/// What the record needs to know of the panel in the window, as its run names it.
struct PanelInUse {
    std::string panel, paint, defects;
    std::optional<std::filesystem::path> readings;
    bool operator==(const PanelInUse&) const = default;
};

/// A try as it is typed in.
struct TryForm {
    bool look_only = false;            ///< a look at the last try instead of new work
    std::string step;                  ///< words or letters of a step of the kit, or the chosen one's words
    std::optional<std::size_t> chosen; ///< of the kit's steps
    std::size_t row = 0;               ///< of those that match
    std::string sets = "1", seen, before, after, readings;
    std::string fault; ///< what was refused and what is allowed; empty where nothing was

    void type_step(const std::string& text); ///< another step is meant
    void choose_step(const std::vector<KitStep>& steps, std::size_t index);
};

/// The kit's steps that hold every word typed, in the kit's order; all of them where nothing is typed.
std::vector<std::size_t> matching_steps(const std::vector<KitStep>& steps, const std::string& typed);

/// A gauge's means as they are typed, bare numbers in `unit`. @param earlier of the same square, whose mean
/// before may stand. @throws InputError that names the field: "before", "after", "n".
std::optional<GaugePair> read_gauge(const TryForm& form, const Kit& kit,
                                    const std::optional<GaugePair>& earlier, FilmUnit unit);

/// The share seen as it is typed: one of the words, or a number in per cent. @throws InputError ("seen") with
/// what is allowed.
std::optional<std::string> read_seen(const TryForm& form);

/// What has been worked out of one panel of a record.
struct SectionFinding {
    SectionReport report; ///< of that panel alone
    SectionCurves curves; ///< empty where advice is withheld
    std::uint64_t revision = 0;
    const PanelAdvice& panel() const { return report.panels.front(); }
};

/// The record of test sections in the window and the advice on the panel that is shown: entries with undo, a
/// file that is written with every entry, advice worked out beside the drawing. Nothing here draws; no call
/// waits, files apart.
class SectionModel {
public:
    SectionModel();

    bool open = false;    ///< the cards are shown
    bool placing = false; ///< the mouse lays tape
    SquareDrag drag;
    TryForm form;
    bool table = false;                     ///< candidates as a table instead of as curves
    std::optional<std::size_t> hovered;     ///< candidate under the pointer, in curves or table
    std::optional<std::size_t> folded_open; ///< an earlier square whose tries are shown
    bool begin_typing = false;              ///< the step's field is to take the keyboard

    // ---- the record ----
    /// A new one without a file. @throws InputError where the kit is not to be had.
    void begin(const Library& library, const std::string& kit);
    /// @throws InputError; the record is then as it was.
    void load(const Library& library, const std::filesystem::path& file);
    /// Writes it, from now on with every entry. @throws InputError.
    void save(const std::filesystem::path& file);
    bool has_record() const { return record_.has_value(); }
    const SectionRecord& record() const { return *record_; }
    const std::filesystem::path& file() const { return file_; }
    /// Something was entered and there is no file yet.
    bool unsaved() const { return file_.empty() && !undo_.empty(); }
    const Kit& kit() const { return kit_; }
    const std::vector<KitStep>& steps() const { return steps_; }
    /// Of the kit's smallest; of the usual 150 mm where there is no kit yet.
    double least_pad_m() const;

    // ---- the panel ----
    /// Which panel is shown, and what its run takes it to be. @return whether that is another one.
    bool show_panel(const PanelInUse& panel);
    const PanelInUse& on_bench() const { return on_bench_; }
    /// Its entry; null where the record has none yet.
    const RecordedPanel* panel() const;
    const std::vector<TapedSquare>& squares() const;
    bool clean() const { return panel() && panel()->clean; }

    // ---- entries: each throws InputError and leaves everything as it was ----
    void set_clean(bool clean);
    void choose_paint(const std::string& reference);
    void choose_defects(const std::string& reference);
    /// Lays a new square, or changes one. @throws also where square_fault says something.
    void tape(const Panel& panel, const TapedSquare& square, std::optional<std::size_t> changes);
    /// Fills the form with what is on file of the last try, to be added to or put right.
    void look_at_last(FilmUnit unit);
    /// Puts the form in, as work on the last square or as a look at its last try, and empties it. @throws
    /// InputError with the field as its place, which is also said in form.fault.
    void enter_form(FilmUnit unit);
    /// A file keeps its first entry: without one it would be no record.
    bool can_undo() const { return !undo_.empty() && (file_.empty() || !undo_.back().first); }
    std::string undo_label() const { return undo_.empty() ? "" : undo_.back().label; }
    void undo();

    // ---- advice ----
    /// Works the advice out for the record as it is. Withheld, and nothing is asked, until the panel is
    /// clean.
    void work_out(const Library& library);
    void call_off() { advising_.call_off(); }
    /// Takes up what has come.
    bool tick();
    const SectionFinding* finding() const { return finding_.get(); }
    /// The finding is of the record before its last entry.
    bool stale() const { return finding_ && finding_->revision != revision_; }
    bool working() const { return advising_.working(); }
    float share() const { return advising_.share(); }
    const std::string& fault() const { return fault_; }
    void wait() const { advising_.wait(); }

private:
    struct Undo {
        std::string text, label;
        bool first = false; ///< before it the record held nothing
    };
    struct Ask {
        Library library;
        SectionRecord record;
        std::string panel;
        std::uint64_t revision = 0;
        std::shared_ptr<WorkedSets> worked;
    };
    struct Answer {
        std::shared_ptr<const SectionFinding> finding;
        std::string fault;
    };
    static Answer find(const Ask& ask, TaskState& task);
    void take_kit(const Library& library, const std::string& reference);
    void enter(const RecordEntry& entry, const std::string& label);
    void take(const std::string& text, const std::string& label);
    void settle();
    void settle_panel();
    void find_panel();
    RecordEntry entry() const;
    Try read_try(FilmUnit unit) const;
    std::size_t chosen_step() const;
    std::optional<GaugePair> gauge_on_square() const;

    std::optional<SectionRecord> record_;
    std::string text_; ///< the record's JSON, notes and order and all
    std::filesystem::path file_;
    Kit kit_;
    std::vector<KitStep> steps_;
    std::vector<Undo> undo_;
    PanelInUse on_bench_;
    std::optional<std::size_t> panel_; ///< of the record's
    std::uint64_t revision_ = 0;
    std::shared_ptr<const SectionFinding> finding_;
    std::string fault_;
    std::shared_ptr<WorkedSets> worked_ = std::make_shared<WorkedSets>(); ///< what an entry does not change
    LatestBackgroundTask<Ask, Answer> advising_;
};

} // namespace sparecoat::view::section
