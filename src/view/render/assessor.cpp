#include "view/render/assessor.hpp"

namespace sparecoat::view {

Assessment assess_run(AssessRequest request) {
    Assessment out;
    const Panel& panel = request.job->panel;
    out.generation = request.generation;
    out.verdict = judge_if_worked(panel, request.copies.fields, request.job->step.pad.radius_m);
    if (request.labels) out.labels = place_contour_numbers(panel, request.copies.map, *request.labels);
    out.copies = std::move(request.copies);
    return out;
}

} // namespace sparecoat::view
