#include "cli/sweep_text.hpp"
#include <algorithm>
#include <fmt/format.h>
#include <fmt/ranges.h>

namespace sparecoat::cli {
namespace {

std::string failed_text(std::size_t failed) {
    if (failed == 0) return {};
    return fmt::format("Not worked   {} {}: the last column of \"sparecoat sweep csv\" says why\n", failed,
                       failed == 1 ? "run" : "runs");
}

std::size_t widest_name(const Sweep& sweep) {
    std::size_t widest = 6;
    for (const SweepFactor& factor : sweep.design().factors) widest = std::max(widest, factor.name.size());
    return widest;
}

std::string range_text(const SweepFactor& factor, const FactorScale& scale) {
    if (!scale.listed())
        return fmt::format("{} to {}{}", scale.word(0), scale.word(1), factor.logarithmic ? ", log" : "");
    std::vector<std::string> words;
    for (std::size_t k = 0; k < scale.parts(); ++k)
        words.push_back(scale.word((static_cast<double>(k) + 0.5) / static_cast<double>(scale.parts())));
    return fmt::format("{}", fmt::join(words, ", "));
}

std::string with_interval(const IndexEstimate& e) {
    return fmt::format("{:6.3f} ({:6.3f} to {:6.3f})", e.value, e.low, e.high);
}

} // namespace

std::string count_text(const Sweep& sweep, const SweepCount& count, const std::string& file) {
    std::string out = fmt::format("Sweep        {}: {} runs, {} of them different\n", sweep.design().name,
                                  count.runs, count.distinct);
    if (count.asked != count.distinct) out += fmt::format("Part         {} runs\n", count.asked);
    out += fmt::format("Computed     {} now, {} were on file in {}\n", count.computed, count.there, file);
    return out + failed_text(count.failed);
}

std::string design_text(const Sweep& sweep, const SweepKeys& keys) {
    const SweepDesign& d = sweep.design();
    std::string out = fmt::format("Sweep        {}\n", d.name);
    out += fmt::format("Panel        {}, marks: {}, paints: {}\n", d.panel, d.defects,
                       fmt::join(d.paints, ", "));
    out += fmt::format("Technique    {}, cells of {:g} mm, {} {}\n", d.technique, d.grid_m * 1e3, d.hands,
                       d.hands == 1 ? "hand" : "hands");
    out += fmt::format("Points       {} ({}), {} runs, {} of them different\n\n", sweep.points().count(),
                       name_of(d.kind), sweep.runs(), keys.first.size());
    const std::size_t widest = widest_name(sweep);
    out += fmt::format("{:<{}}  {:<10} {:<24} range\n", "factor", widest, "of", "at");
    for (std::size_t k = 0; k < d.factors.size(); ++k)
        out += fmt::format("{:<{}}  {:<10} {:<24} {}\n", d.factors[k].name, widest, name_of(d.factors[k].of),
                           d.factors[k].at, range_text(d.factors[k], sweep.factors()[k]));
    return out + "\n";
}

std::string rows_text(const Sweep& sweep, const std::vector<std::optional<SweepRow>>& rows) {
    std::array<std::vector<double>, sweep_output_count> values;
    std::size_t there = 0, failed = 0;
    for (const auto& row : rows) {
        if (!row) continue;
        ++there;
        if (row->failed()) ++failed;
        else
            for (std::size_t k = 0; k < sweep_output_count; ++k) values[k].push_back(row->values[k]);
    }
    std::string out = fmt::format("On file      {} of {} runs\n", there, sweep.runs()) + failed_text(failed);
    if (values.front().empty()) return out;
    out += fmt::format("\n{:<15} {:>11} {:>11} {:>11}\n", "output", "least", "median", "most");
    for (std::size_t k = 0; k < sweep_output_count; ++k) {
        std::vector<double>& v = values[k];
        std::sort(v.begin(), v.end());
        out += fmt::format("{:<15} {:>11.4g} {:>11.4g} {:>11.4g}\n", sweep_outputs[k].name, v.front(),
                           v[(v.size() - 1) / 2], v.back());
    }
    return out;
}

std::string indices_text(const Sweep& sweep, const SweepReport& report) {
    std::string out =
        fmt::format("Sweep        {}: {} runs; Sobol indices with {:.0f} % bootstrap intervals\n",
                    sweep.design().name, sweep.runs(), 100 * report.level);
    const std::size_t widest = widest_name(sweep);
    for (const OutputReport& one : report.outputs) {
        out += fmt::format("\n{}: mean {:.4g}, variance {:.4g}\n", sweep_outputs[one.output].words,
                           one.indices->mean, one.indices->variance);
        out += fmt::format("{:<{}}  {:<26} {}\n", "factor", widest, "first order, by itself",
                           "total, with interactions");
        for (std::size_t k = 0; k < one.indices->factors.size(); ++k)
            out += fmt::format("{:<{}}  {} {}\n", sweep.design().factors[k].name, widest,
                               with_interval(one.indices->factors[k].first),
                               with_interval(one.indices->factors[k].total));
    }
    return out + "\n";
}

std::string front_text(const Sweep& sweep, const SweepReport& report) {
    constexpr std::size_t lines = 12;
    std::string out =
        fmt::format("Front        {} of {} points are not beaten: less film lost for as much cleared\n{}\n",
                    report.front.size(), report.all.size(), failed_text(report.failed));
    out += fmt::format("{:>7} {:>8}  values\n", "lost µm", "cleared");
    const std::size_t shown = std::min(lines, report.front.size());
    for (std::size_t n = 0; n < shown; ++n) {
        const ParetoPoint& at = report.front[shown < 2 ? n : n * (report.front.size() - 1) / (shown - 1)];
        out += fmt::format("{:>7.2f} {:>6.1f} %  {}\n", at.lost_um, 100 * at.cleared,
                           settings_words(sweep, at.point));
    }
    return out + "\n";
}

} // namespace sparecoat::cli
