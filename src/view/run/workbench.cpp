#include "view/run/workbench.hpp"

namespace sparecoat::view {

std::shared_ptr<const RunJob> make_job(const Library& library, const Choices& choices,
                                       const RunJob* earlier) {
    const RunRequest& request = choices.request;
    const bool same_shape =
        earlier && earlier->request.panel == request.panel && earlier->request.grid_m == request.grid_m;
    return std::make_shared<const RunJob>(
        prepare(library, request, choices.technique, same_shape ? &earlier->panel : nullptr));
}

Workbench::Workbench(Library library, RunRequest request) : library_(std::move(library)) {
    const Technique technique = library_.technique(request.technique);
    history_.push_back({{std::move(request), technique}, "", 0});
    job_ = make_job(library_, history_.front().choices, nullptr);
}

Workbench::Workbench(Library library, Choices choices, std::shared_ptr<const RunJob> job)
    : library_(std::move(library)), job_(std::move(job)) {
    history_.push_back({std::move(choices), "", 0});
}

bool Workbench::goes_on(const BenchStep& step) const {
    const Entry& last = history_[at_];
    return step.kind == BenchStep::Kind::edit && at_ > 0 && step.drag != 0 && last.drag == step.drag &&
           last.label == step.label;
}

void Workbench::take(const BenchStep& step, std::shared_ptr<const RunJob> job) {
    switch (step.kind) {
    case BenchStep::Kind::undo: --at_; break;
    case BenchStep::Kind::redo: ++at_; break;
    case BenchStep::Kind::edit:
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

void Workbench::edit(const Choices& next, const std::string& label, int drag) {
    make({BenchStep::Kind::edit, next, label, drag});
}

void Workbench::undo() {
    if (can_undo()) make({BenchStep::Kind::undo, *choices_at(-1), "", 0});
}

void Workbench::redo() {
    if (can_redo()) make({BenchStep::Kind::redo, *choices_at(1), "", 0});
}

} // namespace sparecoat::view
