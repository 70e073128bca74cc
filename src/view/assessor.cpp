#include "view/assessor.hpp"
#include "picture/contours.hpp"
#include <algorithm>

namespace sparecoat {
namespace {

/// A number or a few on every level, on its longest lines, well apart from each other: enough to read by, few
/// enough to see past.
std::vector<ContourLabel> label_contours(const Panel& panel, const AssessRequest& request) {
    std::vector<ContourLabel> labels;
    if (request.levels.empty() || request.map.size() != panel.grid.cells()) return labels;
    constexpr std::size_t least_points = 24; // shorter lines cannot be told from their number
    constexpr int numbers_a_level = 3;
    constexpr double apart_m = 0.1;
    std::vector<Contour> lines = trace_contours(panel.grid, request.map, panel.inside, request.levels);
    std::stable_sort(lines.begin(), lines.end(), [](const Contour& a, const Contour& b) {
        return a.level != b.level ? a.level < b.level : a.points.size() > b.points.size();
    });
    const auto is_free = [&](Point2 at) {
        return std::none_of(labels.begin(), labels.end(),
                            [&](const ContourLabel& label) { return norm(label.at - at) < apart_m; });
    };
    // In rounds, so that every level has its first number before any has its second.
    std::vector<std::size_t> next; // each level's next line
    for (std::size_t k = 0; k < lines.size(); ++k)
        if (k == 0 || lines[k].level != lines[k - 1].level) next.push_back(k);
    for (int round = 0; round < numbers_a_level; ++round)
        for (std::size_t& k : next) {
            const double level = lines[k].level;
            for (bool placed = false; !placed && k < lines.size() && lines[k].level == level;) {
                const std::vector<Point2>& points = lines[k].points;
                if (points.size() < least_points) break;
                for (const double share : {0.5, 0.3, 0.7, 0.15, 0.85}) {
                    const Point2 at = points[static_cast<std::size_t>(share * static_cast<double>(points.size()))];
                    if (placed || !is_free(at)) continue;
                    labels.push_back({level, at});
                    placed = true;
                }
                if (k + 1 < lines.size() && lines[k + 1].level == level) ++k;
                else break;
            }
        }
    return labels;
}

Assessment assess(const AssessRequest& request) {
    Assessment out;
    out.generation = request.generation;
    out.verdict = judge_if_worked(request.job->panel, request.fields, request.job->step.pad.radius_m);
    out.labels = label_contours(request.job->panel, request);
    return out;
}

} // namespace

Assessor::Assessor() : thread_([this] { work(); }) {}

Assessor::~Assessor() {
    {
        const std::lock_guard lock(mutex_);
        quit_ = true;
    }
    wake_.notify_all();
    thread_.join();
}

bool Assessor::idle() const {
    const std::lock_guard lock(mutex_);
    return !busy_;
}

void Assessor::ask(AssessRequest request) {
    {
        const std::lock_guard lock(mutex_);
        request_ = std::move(request);
        busy_ = true;
    }
    wake_.notify_all();
}

std::optional<Assessment> Assessor::take() {
    const std::lock_guard lock(mutex_);
    return std::exchange(answer_, std::nullopt);
}

void Assessor::work() {
    std::unique_lock lock(mutex_);
    for (;;) {
        wake_.wait(lock, [this] { return quit_ || request_; });
        if (quit_) return;
        const AssessRequest request = std::move(*std::exchange(request_, std::nullopt));
        lock.unlock();
        Assessment answer = assess(request);
        lock.lock();
        answer_ = std::move(answer);
        busy_ = false;
    }
}

} // namespace sparecoat
