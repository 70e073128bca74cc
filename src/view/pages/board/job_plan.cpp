// A job's panels as runs, and the plan of a visit.
#include "run/run_job.hpp"
#include "units/error.hpp"
#include "units/quantity.hpp"
#include "vehicle/job_store.hpp"
#include "view/pages/board/board_words.hpp"
#include "view/pages/board/job_fields.hpp"
#include "view/pages/board/job_model.hpp"
#include "view/run/background_task.hpp"
#include <algorithm>
#include <fmt/format.h>
#include <nlohmann/json.hpp>

namespace sparecoat::view::board {

namespace fs = std::filesystem;

namespace {

constexpr double look_every_s = 0.5; // for what another program wrote

} // namespace

// ---- a panel as a run -------------------------------------------------------------------------

namespace {

/// One set of a planned step: the kit's way of working it with what the plan says of it (see technique_json),
/// and the hand that the plan's chances were drawn with.
Technique planned_technique(const Library& library, const std::string& kit, const PlanGlance::Step& step) {
    const std::vector<KitStep> steps = kit.empty() ? std::vector<KitStep>{} : steps_of(library, kit);
    const auto found = std::ranges::find(steps, step.id, &KitStep::id);
    if (found == steps.end())
        throw InputError("", "plan", fmt::format("a step \"{}\"", step.id),
                         "a step of the job's kit; plan the vehicle anew");
    Technique out = found->technique;
    out.hand = usual_hand;
    const nlohmann::json plan = nlohmann::json::parse(step.technique.empty() ? "{}" : step.technique);
    const auto take = [&](const char* key, double& value, double unit) {
        if (plan.contains(key)) value = plan[key].get<double>() * unit;
    };
    take("force_n", out.force_n, 1), take("speed_per_min", out.speed_rad_s, per_min),
        take("arm_speed_mm_s", out.arm_speed_m_s, mm);
    take("overlap", out.overlap, 1), take("tilt_deg", out.tilt_rad, deg),
        take("hold_back_mm", out.hold_back_m, mm), take("tape_mm", out.tape_m, mm);
    out.passes = plan.value("passes", out.passes), out.crossed = plan.value("crossed", out.crossed);
    const auto by_edge = [&](const char* key, std::map<std::string, double>& lengths_m) {
        if (!plan.contains(key)) return;
        for (const auto& [edge, length_mm] : plan[key].items())
            lengths_m[edge] = length_mm.get<double>() * mm;
    };
    by_edge("hold_back_edge_mm", out.hold_back_edge_m), by_edge("tape_edge_mm", out.tape_edge_m);
    return out;
}

} // namespace

JobModel::Opened JobModel::lay_out(std::size_t step) const {
    constexpr const char* stands_in = "polish-da-15";
    const BoardPanel& shown = chosen();
    Opened out;
    out.presets = std::make_shared<const Library>(job_library_before(*job_, Library::standard()));
    const Library& library = *out.presets;
    out.panel = shown.panel.id;
    RunRequest& request = out.choices.request;
    request.panel = shown.shape, request.paint = shown.paint;
    out.defects = shown.marks.empty() ? RecordedPanel{}.defects : shown.marks;
    request.readings = readings_for_run(*job_, shown.panel, shown.film);
    out.steps = shown.plan ? shown.plan->steps.size() : 0;
    if (out.steps == 0) {
        request.technique = stands_in;
        out.choices.technique = library.technique(stands_in);
        return out;
    }
    out.step = std::min(step, out.steps - 1);
    const PlanGlance::Step& planned = shown.plan->steps[out.step];
    try {
        out.choices.technique = planned_technique(library, board_.kit, planned);
    } catch (const nlohmann::json::exception& error) {
        throw InputError(job_->path().string(), "plan",
                         fmt::format("a step that cannot be read ({})", error.what()),
                         "plan the vehicle anew");
    }
    return out;
}

// ---- the plan -------------------------------------------------------------------------------------

void JobModel::work_out_plan(FilmUnit unit) {
    PlanTerms terms;
    if (!wish.time_limit.empty()) terms.time_s = seconds_of(wish.time_limit);
    if (!wish.film_limit.empty()) terms.film_um = film_of("film limit", wish.film_limit, unit, 200);
    AskedExposure asked;
    for (const auto& [machine, text] : wish.a_hv)
        if (!text.empty()) asked.a_hv[machine] = vibration_of(machine, text);
    if (read_only())
        throw InputError(job_->path().string(), "", "a job file that is not to be written",
                         "one that can be: the plan is kept in it");
    Ask ask{std::make_shared<const Library>(job_library(*job_)),
            {},
            visit(),
            terms,
            std::move(asked),
            job_->revision(),
            which_,
            worked_};
    ask.from = job_for_plan(*job_, ask.visit);
    planning_.ask(std::move(ask));
    page = BoardPart::plan;
}

JobModel::Answer JobModel::work_out(const Ask& ask, TaskState& task) {
    Answer answer{ask.from, ask.visit, ask.asked, ask.revision, nullptr, {}};
    try {
        const auto tell = [&](const std::string& panel, double share) {
            const std::scoped_lock lock(ask.which->mutex);
            ask.which->name = panel;
            task.share = static_cast<float>(share);
            return !task.off;
        };
        answer.plan = std::make_shared<const VehiclePlan>(
            plan_vehicle(*ask.presets, ask.from.record, ask.from.tasks, ask.terms, threads_beside_drawing(),
                         tell, ask.worked.get()));
    } catch (const Stopped&) {
        answer.fault = "called off";
    } catch (const InputError& error) {
        answer.fault = error.what();
    }
    return answer;
}

std::string JobModel::planned_panel() const {
    const std::scoped_lock lock(which_->mutex);
    return which_->name;
}

/// Keeps a plan that has come. @return what is to be told.
std::string JobModel::keep(Answer answer) {
    if (!answer.plan) throw InputError("", "plan", answer.fault, "");
    if (job_->revision() != answer.revision)
        answer.from.assumed.insert(answer.from.assumed.begin(),
                                   "what was entered while it was being worked out is not in it");
    store_plan(*job_, answer.visit, answer.from, *answer.plan, answer.asked);
    front_row.reset();
    read();
    return "The plan is on file: " + hours_text(answer.plan->time_s);
}

const std::vector<std::string>& JobModel::assumed() const {
    static const std::vector<std::string> none;
    return kept_ ? kept_->assumed : none;
}

void JobModel::write_sheet(const fs::path& file, FilmUnit unit, const fs::path& shop) {
    SheetTerms terms = sheet;
    terms.unit = unit;
    std::error_code none;
    if (!shop.empty() && fs::exists(shop, none)) terms.shop = load_shop(shop);
    picture::write_sheet(file, *job_, visit(), terms);
}

void JobModel::look_along_front(int by) {
    if (!plan() || plan()->front.empty()) return;
    const auto last = std::ssize(plan()->front) - 1;
    const std::ptrdiff_t from = front_row ? static_cast<std::ptrdiff_t>(*front_row) + by : by > 0 ? 0 : last;
    front_row = static_cast<std::size_t>(std::clamp<std::ptrdiff_t>(from, 0, last));
}

std::string JobModel::tick(double now_s) {
    if (!job_) return "";
    std::string told;
    if (now_s - looked_s_ > look_every_s || now_s < looked_s_) {
        looked_s_ = now_s;
        if (job_->changed_elsewhere()) {
            read();
            told = "Read again: another program wrote to the job";
        }
    }
    if (std::optional<Answer> answer = planning_.take()) told = keep(std::move(*answer));
    return told;
}

} // namespace sparecoat::view::board
