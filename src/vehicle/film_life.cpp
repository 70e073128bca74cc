#include "vehicle/film_life.hpp"
#include "units/words.hpp"
#include <algorithm>
#include <cmath>
#include <fmt/format.h>
#include <limits>
#include <nlohmann/json.hpp>

namespace sparecoat::vehicle {
namespace {

/// Of the normal law: 90 % lie within so many standard deviations.
constexpr double sds_of_90_percent = 1.6448536269514722;

std::optional<double> number_at(const nlohmann::json& object, const nlohmann::json::json_pointer& place) {
    if (!object.contains(place) || !object.at(place).is_number()) return std::nullopt;
    return object.at(place).get<double>();
}

std::string text_at(const nlohmann::json& object, const char* key) {
    return object.contains(key) && object[key].is_string() ? object[key].get<std::string>() : std::string();
}

/// The machine that every step's words end with, " (free-spinning orbital, 15 mm throw)"; empty where there
/// are several.
std::string common_machine(const nlohmann::json& steps) {
    std::string common;
    for (const nlohmann::json& step : steps) {
        const std::string words = text_at(step, "words");
        const std::size_t from = words.ends_with(")") ? words.rfind(" (") : std::string::npos;
        const std::string machine = from == std::string::npos ? "" : words.substr(from);
        if (machine.empty() || (!common.empty() && machine != common)) return "";
        common = machine;
    }
    return common;
}

std::string steps_text(const nlohmann::json& plan) {
    if (!plan.contains("steps") || !plan["steps"].is_array()) return "";
    for (const nlohmann::json& step : plan["steps"])
        if (!step.is_object() || !step.contains("sets") || !step["sets"].is_number_integer()) return "";
    const std::string machine = common_machine(plan["steps"]);
    std::string text;
    for (const nlohmann::json& step : plan["steps"]) {
        const int sets = step["sets"].get<int>();
        std::string words = text_at(step, "words");
        words.resize(words.size() - machine.size());
        add_sets(text, sets, words);
    }
    return text;
}

FilmSum less(const FilmSum& a, const FilmSum& b) { return {a.um - b.um, std::hypot(a.sd_um, b.sd_um)}; }

} // namespace

PlannedFilm planned_film(const std::string& plan) {
    using Pointer = nlohmann::json::json_pointer;
    PlannedFilm planned;
    const nlohmann::json read = nlohmann::json::parse(plan, nullptr, false);
    if (!read.is_object()) return planned;
    planned.decision = text_at(read, "fate");
    planned.steps = steps_text(read);
    const auto median = number_at(read, Pointer("/outlook/film_um/median")),
               low = number_at(read, Pointer("/outlook/film_um/low")),
               high = number_at(read, Pointer("/outlook/film_um/high"));
    if (median && low && high) planned.loss = FilmSum{*median, (*high - *low) / (2 * sds_of_90_percent)};
    const auto mean = number_at(read, Pointer("/clear/mean_um")),
               sd = number_at(read, Pointer("/clear/sd_um"));
    if (mean && sd) planned.clear = FilmSum{*mean, *sd};
    return planned;
}

// With a, b the two, A = b² - z² var b, B = a b - z² cov and C = a² - z² var a, the ratios r are those with
// A r² - 2 B r + C <= 0. The lower root is C / (B + sqrt(B² - A C)), whatever the sign of A; where A <= 0, b
// may be 0 as far as anyone knows, and there is no upper one.
std::optional<HowOften> how_often(const FilmSum& left, const FilmSum& each, double covariance) {
    if (each.um <= 0) return std::nullopt;
    constexpr double z2 = sds_of_90_percent * sds_of_90_percent;
    const double a = left.um, b = each.um;
    const double A = b * b - z2 * each.sd_um * each.sd_um, B = a * b - z2 * covariance,
                 C = a * a - z2 * left.sd_um * left.sd_um;
    const double root = std::sqrt(std::max(0.0, B * B - A * C));
    HowOften out;
    out.number = std::max(0.0, a / b);
    out.high = A > 0 ? std::max(0.0, (B + root) / A) : std::numeric_limits<double>::infinity();
    out.low = a > 0 && C > 0 && B + root > 0 ? std::min(out.number, C / (B + root)) : 0.0;
    return out;
}

namespace {

/// A panel at a visit, as far as film goes.
struct PanelThen {
    Visit visit;
    std::optional<std::string> plan;
    bool worked = false;
    std::optional<FilmSum> cost;
};

std::vector<PanelThen> visits_of(const JobFile& job, const JobPanel& panel,
                                 const std::optional<Visit>& before) {
    std::vector<PanelThen> all;
    for (const Visit& visit : job.all<Visit>()) { // by date
        if (before && visit.id == before->id) break;
        const std::optional<PanelVisit> at = job.panel_visit(visit.id, panel.id);
        if (!at) continue;
        std::vector<FilmReading> readings;
        for (const FilmReading& row : job.all<FilmReading>())
            if (row.panel_visit == at->id) readings.push_back(row);
        std::optional<Work> work;
        for (const Work& row : job.all<Work>())
            if (row.panel_visit == at->id) work = row;
        const std::optional<FilmSum> cost = spent_by(work, readings).best;
        all.push_back({visit, at->plan, work || cost, cost});
    }
    return all;
}

} // namespace

FilmLife film_life(const JobFile& job, const JobPanel& panel, const std::optional<Visit>& before) {
    const Vehicle vehicle = job.vehicle();
    FilmLife life;
    std::vector<FilmSum> costs, since_plan;
    PlannedFilm plan;
    bool planned_work_waits = false;
    for (const PanelThen& then : visits_of(job, panel, before)) {
        if (then.plan) plan = planned_film(*then.plan), since_plan.clear();
        planned_work_waits = (then.plan || planned_work_waits) && !then.worked;
        if (!then.cost) continue;
        life.costs.push_back({then.visit, *then.cost});
        costs.push_back(*then.cost), since_plan.push_back(*then.cost);
    }
    life.spent = sum_of(costs);
    life.left = less({vehicle.allowance_um, 0}, life.spent);
    if (plan.clear) life.over_reserve = less(less(*plan.clear, sum_of(since_plan)), {vehicle.reserve_um, 0});
    life.reserve_holds = life.over_reserve && life.over_reserve->um < life.left.um;
    double covariance = 0;
    if (plan.loss && planned_work_waits) {
        life.each = plan.loss, life.each_is_planned = true;
    } else if (!costs.empty()) { // what is left and what one costs rest on the same readings
        const auto visits = static_cast<double>(costs.size());
        const double shared_sd_um = life.reserve_holds ? sum_of(since_plan).sd_um : life.spent.sd_um;
        life.each = FilmSum{life.spent.um / visits, life.spent.sd_um / visits};
        covariance = -shared_sd_um * shared_sd_um / visits;
    }
    if (life.each)
        life.corrections =
            how_often(life.reserve_holds ? *life.over_reserve : life.left, *life.each, covariance);
    return life;
}

} // namespace sparecoat::vehicle
