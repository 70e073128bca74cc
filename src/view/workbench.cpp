#include "view/workbench.hpp"

namespace sparecoat {
namespace {

bool same_shape(const RunRequest& a, const RunRequest& b) { return a.panel == b.panel && a.grid_m == b.grid_m; }

} // namespace

Workbench::Workbench(Library library, RunRequest request) : library_(std::move(library)) {
    const Technique technique = library_.technique(request.technique);
    history_.push_back({{std::move(request), technique}, "", 0});
    job_ = make_job(history_.front().choices);
}

std::shared_ptr<const RunJob> Workbench::make_job(const Choices& choices) const {
    const Panel* reuse = job_ && same_shape(job_->request, choices.request) ? &job_->panel : nullptr;
    return std::make_shared<const RunJob>(prepare(library_, choices.request, choices.technique, reuse));
}

void Workbench::edit(const Choices& next, const std::string& label, int drag) {
    std::shared_ptr<const RunJob> job = make_job(next); // throws before anything is changed
    history_.resize(at_ + 1);
    Entry& last = history_.back();
    const bool goes_on = at_ > 0 && drag != 0 && last.drag == drag && last.label == label;
    if (goes_on) {
        last.choices = next;
    } else {
        history_.push_back({next, label, drag});
        ++at_;
    }
    job_ = std::move(job);
}

void Workbench::load_technique(const std::string& reference) {
    Choices next = choices();
    next.technique = library_.technique(reference);
    next.request.technique = reference;
    next.request.path_csv.reset(); // a recorded path belongs to the technique it was recorded with
    edit(next, "technique");
}

void Workbench::undo() {
    if (!can_undo()) return;
    job_ = make_job(history_[at_ - 1].choices);
    --at_;
}

void Workbench::redo() {
    if (!can_redo()) return;
    job_ = make_job(history_[at_ + 1].choices);
    ++at_;
}

} // namespace sparecoat
