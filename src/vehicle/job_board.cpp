#include "vehicle/job_board.hpp"
#include "plan/plan.hpp"
#include "units/percent.hpp"
#include <algorithm>
#include <array>
#include <fmt/format.h>
#include <map>
#include <nlohmann/json.hpp>

namespace sparecoat::vehicle {
namespace {

using nlohmann::json;

constexpr const char* plan_label = "the plan of the vehicle";

/// The text or number under a key, or what stands in where the plan has none.
template <class Value> Value value_or(const json& of, const char* key, Value otherwise) {
    const auto found = of.find(key);
    return found == of.end() || found->is_null() ? otherwise : found->get<Value>();
}

PlanGlance::Step step_of(const json& step) {
    PlanGlance::Step out;
    out.id = step.at("step").get<std::string>();
    out.words = value_or<std::string>(step, "words", out.id);
    out.sets = value_or(step, "sets", 1);
    out.kept_off = value_or<std::vector<std::string>>(step, "kept_off", {});
    out.open_um = value_or(step, "open_panel_um", 0.0), out.time_s = value_or(step, "time_s", 0.0);
    if (step.contains("technique")) out.technique = step["technique"].dump();
    return out;
}

PlanGlance read_plan(const json& plan) {
    PlanGlance out;
    out.decision = plan.at("fate").get<std::string>();
    out.holds = value_or<std::string>(plan, "holds", ""),
    out.reason = value_or<std::string>(plan, "reason", "");
    out.doubts = value_or<std::vector<std::string>>(plan, "doubts", {});
    out.plastic = value_or(plan, "plastic", false), out.time_s = value_or(plan, "time_s", 0.0);
    for (const json& step : value_or<json>(plan, "steps", json::array())) out.steps.push_back(step_of(step));
    for (const json& spot : value_or<json>(plan, "at_risk", json::array()))
        out.at_risk.push_back(fmt::format("{}: {} under the reserve", spot.at("place").get<std::string>(),
                                          percent_finer_near_none(spot.at("chance").get<double>())));
    if (const json outlook = value_or<json>(plan, "outlook", nullptr); outlook.is_object()) {
        out.chance_of_target = outlook.at("chance_of_target").get<double>();
        out.chance_of_keeping = outlook.at("chance_of_keeping_everywhere").get<double>();
        const json& film = outlook.at("film_um");
        out.film_um = film.at("median").get<double>();
        out.film_sd_um = (film.at("high").get<double>() - film.at("low").get<double>()) /
                         (2 * 1.645); // of a normal distribution
    }
    return out;
}

PanelStand stand_of(const BoardPanel& panel) {
    if (panel.work) return PanelStand::done;
    if (!panel.clean()) return PanelStand::wash;
    if (!panel.plan || !panel.plan->fault.empty()) return PanelStand::no_plan;
    constexpr std::pair<PanelDecision, PanelStand> decisions[] = {
        {PanelDecision::planned, PanelStand::planned},
        {PanelDecision::less, PanelStand::less},
        {PanelDecision::finish_only, PanelStand::finish_only},
        {PanelDecision::leave, PanelStand::leave},
        {PanelDecision::touch_up, PanelStand::touch_up}};
    for (const auto& [decision, stand] : decisions)
        if (panel.plan->decision == name_of(decision)) return stand;
    return PanelStand::no_plan; // it was made before the panel was clean
}

class BoardReader {
public:
    BoardReader(const JobFile& job, std::optional<Id> visit) : job_(job) {
        board_.vehicle = job.vehicle(), board_.visits = job.all<Visit>(), board_.history = job.history();
        for (const Document& document : job.all<Document>()) documents_[document.id] = document.reference;
        for (PanelVisit& at : job.all<PanelVisit>()) at_[{at.panel, at.visit}] = std::move(at);
        for (const FilmReading& row : job.all<FilmReading>()) readings_[row.panel_visit].push_back(row);
        for (Work& row : job.all<Work>()) works_[row.panel_visit] = std::move(row);
        std::map<Id, Id> visit_of_square;
        for (const SquareRow& row : job.all<SquareRow>()) visit_of_square[row.id] = row.panel_visit;
        for (const TryRow& row : job.all<TryRow>()) ++tries_[visit_of_square[row.square]];
        const auto wanted =
            std::ranges::find_if(board_.visits, [&](const Visit& v) { return visit && v.id == *visit; });
        if (wanted != board_.visits.end()) board_.visit = *wanted;
        else if (!board_.visits.empty()) board_.visit = board_.visits.back();
    }

    Board read() {
        if (board_.vehicle.kit) board_.kit = documents_.at(*board_.vehicle.kit);
        for (JobPanel& panel : job_.all<JobPanel>()) board_.panels.push_back(read_panel(std::move(panel)));
        count_edits();
        return std::move(board_);
    }

private:
    const PanelVisit* at(Id panel, Id visit) const {
        const auto found = at_.find({panel, visit});
        return found == at_.end() ? nullptr : &found->second;
    }

    BoardPanel read_panel(JobPanel row) {
        BoardPanel out;
        out.shape = documents_.at(row.shape), out.paint = documents_.at(row.paint);
        out.panel = std::move(row);
        for (const Visit& visit : board_.visits) {
            const bool shown = visit.id == board_.visit->id;
            if (const PanelVisit* then = at(out.panel.id, visit.id)) add_visit(out, *then, shown);
            if (shown) break;
        }
        out.stand = stand_of(out);
        return out;
    }

    void add_visit(BoardPanel& out, const PanelVisit& then, bool shown) {
        const std::vector<FilmReading>& readings = readings_[then.id];
        const auto work = works_.find(then.id);
        const SpentFilm spent =
            spent_by(work == works_.end() ? std::nullopt : std::optional(work->second), readings);
        if (spent.best) { // a gauge that rose says that nothing could be measured
            const FilmSum part{std::max(0.0, spent.best->um), spent.best->sd_um};
            out.spent = sum_of(std::array{out.spent, part});
            ++out.spent_visits;
        }
        std::vector<FilmReading> before, after;
        for (const FilmReading& row : readings) (row.after_work ? after : before).push_back(row);
        if (shown) {
            out.at = then, out.readings = readings, out.lost = spent.best, out.tries = tries_[then.id];
            if (then.defects) out.marks = documents_.at(*then.defects);
            if (then.plan) out.plan = glance_at_plan(*then.plan);
            if (work != works_.end()) out.work = work->second;
            if (!before.empty()) out.film = std::move(before), out.film_of_earlier = false;
        } else if (!after.empty()) {
            out.film = std::move(after), out.film_of_earlier = true;
        }
    }

    void count_edits() {
        std::optional<int> since;
        for (const Edit& edit : board_.history) { // oldest first
            if (edit.undone) continue;
            if (edit.label == plan_label) since = 0;
            else if (since) ++*since;
        }
        board_.edits_since_plan = since;
    }

    const JobFile& job_;
    Board board_;
    std::map<Id, std::string> documents_;
    std::map<std::pair<Id, Id>, PanelVisit> at_; ///< by panel and visit
    std::map<Id, std::vector<FilmReading>> readings_;
    std::map<Id, Work> works_;
    std::map<Id, int> tries_; ///< by panel_visit
};

} // namespace

PlanGlance glance_at_plan(const std::string& plan_json) {
    try {
        return read_plan(json::parse(plan_json));
    } catch (const json::exception& error) {
        PlanGlance none;
        none.fault = fmt::format("a plan that cannot be read ({})", error.what());
        return none;
    }
}

std::string_view words_of(PanelStand stand) {
    switch (stand) {
    case PanelStand::wash: return "wash first";
    case PanelStand::no_plan: return "no plan yet";
    case PanelStand::planned: return "to polish";
    case PanelStand::less: return "to polish, short of the target";
    case PanelStand::finish_only: return "finish only";
    case PanelStand::leave: return "leave as it is";
    case PanelStand::touch_up: return "touch up";
    case PanelStand::done: return "done";
    }
    return "";
}

double Board::planned_s() const {
    double sum = 0;
    for (const BoardPanel& panel : panels)
        if (panel.plan) sum += panel.plan->time_s;
    return sum;
}

int Board::count(PanelStand stand) const {
    return static_cast<int>(std::ranges::count(panels, stand, &BoardPanel::stand));
}

Board board_of(const JobFile& job, std::optional<Id> visit) {
    Board board;
    job.at_one_moment([&] { board = BoardReader(job, visit).read(); });
    return board;
}

} // namespace sparecoat::vehicle
