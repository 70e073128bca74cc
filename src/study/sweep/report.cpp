#include "study/sweep/report.hpp"
#include "decide/cautions.hpp"
#include <algorithm>
#include <cmath>
#include <fmt/format.h>
#include <limits>
#include <nlohmann/json.hpp>

namespace sparecoat::study {

using nlohmann::json;

namespace {

using Rows = std::vector<std::optional<SweepRow>>;

void demand_all(const Rows& rows) {
    const auto missing = std::ranges::count_if(rows, [](const auto& row) { return !row.has_value(); });
    if (missing > 0)
        throw InputError("", "--db", fmt::format("{} of {} runs without a row", missing, rows.size()),
                         "all of them; \"sparecoat sweep run\" computes what is missing");
}

/// RFC 4180: in quotes where it holds what separates.
std::string csv_text(const std::string& text) {
    if (text.find_first_of(",\"\n\r") == std::string::npos) return text;
    std::string out = "\"";
    for (const char c : text) out += c == '"' ? std::string("\"\"") : std::string(1, c);
    return out + "\"";
}

std::string csv_number(double value) { return std::isnan(value) ? std::string() : fmt::format("{}", value); }

/// Means over a point's runs; NaN where one failed.
std::vector<double> means_of(const Sweep& sweep, const Rows& rows, std::size_t output) {
    std::vector<double> means(sweep.points().count(), 0.0);
    const std::size_t each = sweep.replicates();
    for (std::size_t run = 0; run < rows.size(); ++run) means[run / each] += rows[run]->values[output];
    for (double& mean : means) mean /= static_cast<double>(each);
    return means;
}

std::vector<double> chosen(const std::vector<double>& values, const std::vector<std::size_t>& points) {
    std::vector<double> out;
    for (const std::size_t point : points) out.push_back(values[point]);
    return out;
}

Points chosen(const Points& all, const std::vector<std::size_t>& points) {
    Points out{all.dims, {}};
    for (const std::size_t point : points)
        out.x.insert(out.x.end(), all.at(point).begin(), all.at(point).end());
    return out;
}

} // namespace

Rows rows_of(const SweepKeys& keys, const SweepResults& results) {
    Rows rows;
    for (const std::string& key : keys.of_run) rows.push_back(results.row(key));
    return rows;
}

std::string settings_words(const Sweep& sweep, std::size_t point) {
    std::string words;
    for (std::size_t k = 0; k < sweep.factors().size(); ++k)
        words += (k == 0 ? "" : ", ") + sweep.design().factors[k].name + " " +
                 sweep.factors()[k].word(sweep.points().at(point)[k]);
    return words;
}

std::string sweep_csv(const Sweep& sweep, const Rows& rows) {
    demand_all(rows);
    std::string out = "run,point,paint,hand";
    for (const FactorScale& factor : sweep.factors()) out += "," + factor.column();
    for (const SweepOutput& output : sweep_outputs) out += fmt::format(",{}", output.name);
    out += ",error\n";
    for (std::size_t run = 0; run < rows.size(); ++run) {
        const SweepPlace place = sweep.place(run);
        out += fmt::format("{},{},{},{}", run, place.point, csv_text(sweep.design().paints[place.paint]),
                           sweep.seed(run));
        for (std::size_t k = 0; k < sweep.factors().size(); ++k) {
            const FactorScale& factor = sweep.factors()[k];
            const double x = sweep.points().at(place.point)[k];
            out += "," + (factor.words() ? csv_text(factor.word(x)) : csv_number(factor.number(x)));
        }
        for (const double value : rows[run]->values) out += "," + csv_number(value);
        out += "," + csv_text(rows[run]->error) + "\n";
    }
    return out;
}

SweepReport report_of(const Sweep& sweep, const Rows& rows, const std::vector<std::size_t>& outputs,
                      bool indices) {
    demand_all(rows);
    SweepReport report;
    report.failed =
        static_cast<std::size_t>(std::ranges::count_if(rows, [](const auto& row) { return row->failed(); }));
    const bool saltelli = indices && sweep.design().kind == DesignKind::saltelli;
    if (saltelli && report.failed > 0)
        throw InputError("", "--db", fmt::format("{} runs that could not be worked", report.failed),
                         "all of them worked, for indices; \"sparecoat sweep csv\" lists what is wrong");
    const std::vector<double> lost = means_of(sweep, rows, sweep_output("median_lost_um", ""));
    const std::vector<double> cleared = means_of(sweep, rows, sweep_output("cleared", ""));
    for (std::size_t point = 0; point < lost.size(); ++point)
        if (!std::isnan(lost[point])) report.points.push_back(point);
    if (report.points.empty())
        throw InputError("", "--db", "no point all of whose runs could be worked",
                         "one or more; \"sparecoat sweep csv\" lists what is wrong");

    // Of Saltelli's scheme A and B alone, which are points of their own; AB_k would count A's values over
    // again.
    std::vector<std::size_t> apart = report.points;
    if (sweep.design().kind == DesignKind::saltelli)
        std::erase_if(apart, [&](std::size_t point) { return point % (sweep.factors().size() + 2) > 1; });
    const Points points = chosen(sweep.points(), apart);
    for (const std::size_t output : outputs) {
        const std::vector<double> means = means_of(sweep, rows, output),
                                  values = chosen(means, report.points);
        OutputReport one;
        one.output = output;
        const auto [least, most] = std::ranges::minmax(values);
        one.least = least, one.most = most;
        for (const double value : values) one.mean += value / static_cast<double>(values.size());
        for (std::size_t k = 0; k < sweep.factors().size(); ++k)
            one.effects.push_back(main_effect(points, k, chosen(means, apart),
                                              sweep.design().kind == DesignKind::grid
                                                  ? sweep.factors()[k].parts()
                                                  : sweep.factors()[k].steps()));
        BootstrapTerms terms;
        terms.level = report.level;
        if (saltelli) one.indices = sobol_indices(values, sweep.factors().size(), terms);
        report.outputs.push_back(std::move(one));
    }

    const std::vector<double> cost = chosen(lost, report.points), gain = chosen(cleared, report.points);
    for (std::size_t k = 0; k < report.points.size(); ++k)
        report.all.push_back({report.points[k], cost[k], gain[k]});
    for (const std::size_t k : pareto_front(cost, gain)) report.front.push_back(report.all[k]);
    return report;
}

json sweep_json(const Sweep& sweep, const SweepReport& report) {
    const SweepDesign& design = sweep.design();
    const auto estimate = [](const IndexEstimate& e) {
        return json{{"value", e.value}, {"low", e.low}, {"high", e.high}};
    };
    json factors = json::array(), outputs = json::array(), front = json::array();
    for (std::size_t k = 0; k < design.factors.size(); ++k)
        factors.push_back({{"name", design.factors[k].name},
                           {"column", sweep.factors()[k].column()},
                           {"of", name_of(design.factors[k].of)},
                           {"at", design.factors[k].at}});
    for (const OutputReport& one : report.outputs) {
        json of_factors = json::array();
        for (std::size_t k = 0; k < design.factors.size(); ++k) {
            json effects = json::array();
            for (const EffectLevel& level : one.effects[k])
                effects.push_back({{"value", sweep.factors()[k].word(level.x)},
                                   {"mean", level.mean},
                                   {"standard_error", level.standard_error},
                                   {"points", level.points}});
            json factor = {{"name", design.factors[k].name},
                           {"effect", effects},
                           {"first", nullptr},
                           {"total", nullptr}};
            if (one.indices) {
                factor["first"] = estimate(one.indices->factors[k].first);
                factor["total"] = estimate(one.indices->factors[k].total);
            }
            of_factors.push_back(std::move(factor));
        }
        outputs.push_back({{"name", sweep_outputs[one.output].name},
                           {"words", sweep_outputs[one.output].words},
                           {"least", one.least},
                           {"mean", one.mean},
                           {"most", one.most},
                           {"variance", one.indices ? json(one.indices->variance) : json(nullptr)},
                           {"factors", of_factors}});
    }
    for (const ParetoPoint& at : report.front) {
        json values = json::object();
        for (std::size_t k = 0; k < design.factors.size(); ++k)
            values[design.factors[k].name] = sweep.factors()[k].value(sweep.points().at(at.point)[k]);
        front.push_back({{"point", at.point},
                         {"median_lost_um", at.lost_um},
                         {"cleared", at.cleared},
                         {"values", values}});
    }
    return {{"kind", "sparecoat-sweep"},
            {"version", 1},
            {"notice", estimate_notice},
            {"cautions", cautions},
            {"name", design.name},
            {"inputs",
             {{"panel", design.panel},
              {"paints", design.paints},
              {"defects", design.defects},
              {"technique", design.technique},
              {"grid_mm", design.grid_m * 1e3},
              {"air_c", design.air_c},
              {"hands", design.hands},
              {"seed", design.seed},
              {"design", name_of(design.kind)},
              {"model", sweep_model}}},
            {"runs", sweep.runs()},
            {"points", sweep.points().count()},
            {"failed", report.failed},
            {"level", report.level},
            {"factors", factors},
            {"outputs", outputs},
            {"front", front}};
}

} // namespace sparecoat::study
