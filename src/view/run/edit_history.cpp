#include "view/run/edit_history.hpp"

namespace sparecoat::view {

std::shared_ptr<const RunJob> make_job(const Library& library, const Choices& choices,
                                       const RunJob* earlier) {
    const RunRequest& request = choices.request;
    const bool same_shape =
        earlier && earlier->request.panel == request.panel && earlier->request.grid_m == request.grid_m;
    return std::make_shared<const RunJob>(
        prepare(library, request, choices.technique, same_shape ? &earlier->panel : nullptr));
}

EditHistory::EditHistory(Library library, RunRequest request) : library_(std::move(library)) {
    const Technique technique = library_.technique(request.technique);
    history_.push_back({{std::move(request), technique}, "", 0});
    job_ = make_job(library_, history_.front().choices, nullptr);
}

EditHistory::EditHistory(Library library, Choices choices, std::shared_ptr<const RunJob> job)
    : library_(std::move(library)), job_(std::move(job)) {
    history_.push_back({std::move(choices), "", 0});
}

bool EditHistory::goes_on(const EditStep& step) const {
    const Entry& last = history_[at_];
    return step.kind == EditStep::Kind::edit && at_ > 0 && step.drag != 0 && last.drag == step.drag &&
           last.label == step.label;
}

void EditHistory::take(const EditStep& step, std::shared_ptr<const RunJob> job) {
    switch (step.kind) {
    case EditStep::Kind::undo: --at_; break;
    case EditStep::Kind::redo: ++at_; break;
    case EditStep::Kind::edit:
        history_.resize(at_ + 1); // what was undone is given up
        if (goes_on(step)) {
            history_[at_].choices = step.choices;
        } else {
            history_.push_back({step.choices, step.label, step.drag});
            ++at_;
        }
        break;
    }
    job_ = std::move(job);
}

void EditHistory::edit(const Choices& next, const std::string& label, int drag) {
    make({EditStep::Kind::edit, next, label, drag});
}

void EditHistory::undo() {
    if (can_undo()) make({EditStep::Kind::undo, *choices_at(-1), "", 0});
}

void EditHistory::redo() {
    if (can_redo()) make({EditStep::Kind::redo, *choices_at(1), "", 0});
}

} // namespace sparecoat::view
