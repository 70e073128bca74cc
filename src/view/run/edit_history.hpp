#pragma once
#include "run/run_job.hpp"
#include <cstddef>
#include <iterator>
#include <memory>
#include <string>
#include <vector>

namespace sparecoat::view {

/// Everything a person can change in the window; a value, so that undo keeps copies.
struct Choices {
    RunRequest request;  ///< panel, paint, grid, seed (and a recorded path)
    Technique technique; ///< as edited; starts as the preset's
};

/// A step from what lies on the bench to something else. Made ready and taken apart from each other, since
/// making the job ready takes a while: make_job() may run on any thread.
struct EditStep {
    enum class Kind { edit, undo, redo } kind = Kind::edit;
    Choices choices;   ///< afterwards
    std::string label; ///< for the undo list ("force")
    int drag = 0; ///< edits with the same label that follow each other within one drag (not 0) are one entry
};

/// The job that choices stand for. The panel is taken over from an earlier job where it is the same.
/// @throws InputError.
std::shared_ptr<const RunJob> make_job(const Library& library, const Choices& choices, const RunJob* earlier);

/// What lies on the bench: choices with undo and redo, and the job that follows from them.
class EditHistory {
public:
    /// @throws InputError.
    EditHistory(Library library, RunRequest request);
    /// With a job that was made of these choices.
    EditHistory(Library library, Choices choices, std::shared_ptr<const RunJob> job);

    const Library& library() const { return library_; }
    const Choices& choices() const { return history_[at_].choices; }
    std::shared_ptr<const RunJob> job() const { return job_; }

    /// The choices some entries back (< 0) or on; null where there are none.
    const Choices* choices_at(int by) const {
        const std::ptrdiff_t at = static_cast<std::ptrdiff_t>(at_) + by;
        return at >= 0 && at < std::ssize(history_) ? &history_[static_cast<std::size_t>(at)].choices
                                                    : nullptr;
    }
    /// Makes a step with the job that make_job() gave for its choices. No other step in between.
    void take(const EditStep& step, std::shared_ptr<const RunJob> job);
    /// Whether an edit would go on with the entry that the last one made.
    bool goes_on(const EditStep& step) const;

    /// Steps made ready and taken at once. @throws InputError (choices and job stay as they were).
    void edit(const Choices& next, const std::string& label, int drag = 0);
    void undo();
    void redo();

    bool can_undo() const { return at_ > 0; }
    bool can_redo() const { return at_ + 1 < history_.size(); }
    std::string undo_label() const { return can_undo() ? history_[at_].label : ""; }
    std::string redo_label() const { return can_redo() ? history_[at_ + 1].label : ""; }

private:
    struct Entry {
        Choices choices;
        std::string label;
        int drag = 0;
    };
    void make(const EditStep& step) { take(step, make_job(library_, step.choices, job_.get())); }

    Library library_;
    std::vector<Entry> history_;
    std::size_t at_ = 0;
    std::shared_ptr<const RunJob> job_;
};

} // namespace sparecoat::view
