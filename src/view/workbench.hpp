#pragma once
#include "job/run_job.hpp"
#include <memory>
#include <string>
#include <vector>

namespace sparecoat {

/// Everything a person can change in the window; a value, so that undo keeps copies.
struct Choices {
    RunRequest request;    ///< panel, paint, grid, seed (and a recorded path)
    Technique technique;   ///< as edited; starts as the preset's
};

/// What lies on the bench: choices with undo and redo, and the job that follows from them.
/// Panels are kept between edits that do not touch them, so that an edit is quick.
class Workbench {
public:
    /// @throws InputError.
    Workbench(Library library, RunRequest request);

    const Library& library() const { return library_; }
    const Choices& choices() const { return history_[at_].choices; }
    std::shared_ptr<const RunJob> job() const { return job_; }

    /// Takes new choices. @param label for the undo list ("force"); edits with the same label that follow
    /// each other within one drag (same `drag`, not 0) are one entry.
    /// @throws InputError (choices and job stay as they were).
    void edit(const Choices& next, const std::string& label, int drag = 0);
    /// Loads a technique preset or file into the choices.
    void load_technique(const std::string& reference);

    bool can_undo() const { return at_ > 0; }
    bool can_redo() const { return at_ + 1 < history_.size(); }
    std::string undo_label() const { return can_undo() ? history_[at_].label : ""; }
    std::string redo_label() const { return can_redo() ? history_[at_ + 1].label : ""; }
    void undo();
    void redo();

private:
    struct Entry {
        Choices choices;
        std::string label;
        int drag = 0;
    };
    std::shared_ptr<const RunJob> make_job(const Choices& choices) const;

    Library library_;
    std::vector<Entry> history_;
    std::size_t at_ = 0;
    std::shared_ptr<const RunJob> job_;
};

} // namespace sparecoat
