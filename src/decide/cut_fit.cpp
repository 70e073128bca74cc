#include "decide/cut_fit.hpp"
#include "units/error.hpp"
#include "units/quantity.hpp"
#include <algorithm>
#include <array>
#include <cmath>
#include <fmt/format.h>
#include <map>
#include <stdexcept>

namespace sparecoat::decide {
namespace {

double mean_removed_um(const Simulation& simulation, std::span<const std::size_t> cells) {
    double sum = 0;
    for (const std::size_t k : cells) sum += static_cast<double>(simulation.fields().removed_um[k]);
    return sum / static_cast<double>(cells.size());
}

/// Second differences of the logarithms of whole losses, over a step that holds the change of a usual
/// exponent.
void find_responses(const Panel& panel, const Setup& fresh, const ArmPath& path,
                    std::span<const std::size_t> cells, WorkTrace& trace) {
    constexpr double step = 0.25;
    struct Logs {
        double film = 0, removed = 0;
    };
    const auto logs_at = [&](int pressure, int speed) {
        Setup setup = fresh;
        setup.liquid.pressure_exponent += step * pressure, setup.liquid.speed_exponent += step * speed;
        Simulation simulation(panel, setup);
        double removed_m3 = 0;
        for (std::size_t k = 0; k + 1 < path.samples.size(); ++k)
            removed_m3 += simulation.step(path.samples[k], path.samples[k + 1]).removed_m3;
        return Logs{std::log(mean_removed_um(simulation, cells)), std::log(removed_m3)};
    };
    Logs middle;
    for (const WorkTrace::Step& each : trace.steps)
        middle.film += each.film_um, middle.removed += each.removed_m3;
    if (!(middle.film > 0)) return; // never reached: there is no loss to respond
    middle = {std::log(middle.film), std::log(middle.removed)};
    const Logs harder = logs_at(1, 0), lighter = logs_at(-1, 0), faster = logs_at(0, 1),
               slower = logs_at(0, -1), both = logs_at(1, 1);
    const auto response = [&](double Logs::*of) {
        const auto twice = [&](double up, double down) {
            return (up - 2 * middle.*of + down) / (step * step);
        };
        return WorkTrace::Response{.by_pressure = (harder.*of - lighter.*of) / (2 * step),
                                   .by_speed = (faster.*of - slower.*of) / (2 * step),
                                   .pressure_twice = twice(harder.*of, lighter.*of),
                                   .both = (both.*of - harder.*of - faster.*of + middle.*of) / (step * step),
                                   .speed_twice = twice(faster.*of, slower.*of)};
    };
    trace.film = response(&Logs::film), trace.removed = response(&Logs::removed);
}

/// The rows' loss as a function of some logarithms, the others held at 0, which is the preset.
class CutModel {
public:
    CutModel(std::span<const WorkTrace> traces, std::span<const MeasuredLoss> rows, double breakdown_j_m2,
             Exponents exponents)
        : traces_(traces), rows_(rows), breakdown_j_m2_(breakdown_j_m2), exponents_(exponents) {}

    /// @param logs one for each parameter, fitted or not.
    std::vector<double> film_um(std::span<const CutParameter> parameters, const Eigen::VectorXd& logs) const {
        double cut = 0, breakdown = 0, more_pressure = 0, more_speed = 0;
        std::vector<double> pads;
        for (std::size_t k = 0; k < parameters.size(); ++k) {
            const double log = logs(static_cast<Eigen::Index>(k));
            switch (parameters[k].kind) {
            case CutParameterKind::cut: cut = log; break;
            case CutParameterKind::breakdown: breakdown = log; break;
            case CutParameterKind::pressure_exponent:
                more_pressure = exponents_.pressure * std::expm1(log);
                break;
            case CutParameterKind::speed_exponent: more_speed = exponents_.speed * std::expm1(log); break;
            case CutParameterKind::pad_factor: pads.push_back(log); break;
            }
        }
        std::map<std::pair<std::size_t, std::size_t>, WorkLoss> known; // of rows that repeat a piece of work
        std::vector<double> out;
        for (const MeasuredLoss& row : rows_) {
            const auto [at, fresh] = known.try_emplace({row.trace, row.pad});
            if (fresh)
                at->second = loss_of(traces_[row.trace], std::exp(cut + pads.at(row.pad)),
                                     breakdown_j_m2_ * std::exp(breakdown), more_pressure, more_speed);
            const WorkLoss& loss = at->second;
            out.push_back(row.weighed_area_m2 > 0 ? loss.removed_m3 / row.weighed_area_m2 * 1e6
                                                  : loss.film_um);
        }
        return out;
    }

    WeightedResiduals residuals(const std::vector<CutParameter>& parameters, const Eigen::VectorXd& all,
                                const std::vector<Eigen::Index>& free) const {
        return [this, &parameters, all, free](const Eigen::VectorXd& some) {
            Eigen::VectorXd logs = all;
            for (std::size_t k = 0; k < free.size(); ++k) logs(free[k]) = some(static_cast<Eigen::Index>(k));
            const std::vector<double> film = film_um(parameters, logs);
            Eigen::VectorXd out(static_cast<Eigen::Index>(film.size()));
            for (std::size_t k = 0; k < film.size(); ++k)
                out(static_cast<Eigen::Index>(k)) = (rows_[k].film_um - film[k]) / rows_[k].sd_um;
            return out;
        };
    }

    std::span<const MeasuredLoss> rows() const { return rows_; }
    double breakdown_j_m2() const { return breakdown_j_m2_; }
    double preset_exponent(CutParameterKind kind) const {
        return kind == CutParameterKind::pressure_exponent ? exponents_.pressure : exponents_.speed;
    }

private:
    std::span<const WorkTrace> traces_;
    std::span<const MeasuredLoss> rows_;
    double breakdown_j_m2_;
    Exponents exponents_;
};

bool is_exponent(CutParameterKind kind) {
    return kind == CutParameterKind::pressure_exponent || kind == CutParameterKind::speed_exponent;
}

/// Fits, holding one parameter after the other until the rest can be told apart.
class Fitting {
public:
    Fitting(const CutModel& model, std::vector<CutParameter> parameters,
            const std::vector<std::string>& pad_names)
        : model_(model), parameters_(std::move(parameters)), pad_names_(pad_names),
          logs_(Eigen::VectorXd::Zero(static_cast<Eigen::Index>(parameters_.size()))) {}

    CutFit fit() {
        start_from_a_scan();
        hold_what_is_blind();
        LeastSquaresFit found = solve();
        while (const std::optional<std::size_t> vague = vaguest_exponent(found)) {
            hold(*vague, parameters_[*vague].kind == CutParameterKind::pressure_exponent
                             ? "the rows hardly tell it: rows with twice and half the force would"
                             : "the rows hardly tell it: rows at twice and half the machine's speed would");
            start_from_a_scan();
            found = solve();
        }
        if (const std::optional<std::size_t> breakdown = find(CutParameterKind::breakdown);
            breakdown && !take_profile(found, *breakdown)) {
            hold(*breakdown, "the rows hardly tell it: more rows with much work behind the charge, and some "
                             "with little, would");
            start_from_a_scan();
            found = solve();
        }
        return report(found);
    }

private:
    std::vector<Eigen::Index> free() const {
        std::vector<Eigen::Index> out;
        for (std::size_t k = 0; k < parameters_.size(); ++k)
            if (parameters_[k].fitted()) out.push_back(static_cast<Eigen::Index>(k));
        return out;
    }

    Eigen::VectorXd free_logs() const {
        const std::vector<Eigen::Index> some = free();
        Eigen::VectorXd out(static_cast<Eigen::Index>(some.size()));
        for (std::size_t k = 0; k < some.size(); ++k) out(static_cast<Eigen::Index>(k)) = logs_(some[k]);
        return out;
    }

    std::optional<std::size_t> find(CutParameterKind kind) const {
        for (std::size_t k = 0; k < parameters_.size(); ++k)
            if (parameters_[k].kind == kind && parameters_[k].fitted()) return k;
        return std::nullopt;
    }

    /// Loss is linear in the cut but for the pad's loading, so at each breakdown of a coarse scan the best
    /// cut is near sum(measured x model / sd²) / sum(model² / sd²), found again at its own loading; the best
    /// of all is the start.
    void start_from_a_scan() {
        const std::optional<std::size_t> breakdown = find(CutParameterKind::breakdown);
        constexpr std::array coarse{0.0,  -1.0, 1.0,  -2.0, 2.0,
                                    -3.0, 3.0,  -4.0, 4.0}; // logarithms; ties to the nearest
        double least = INFINITY;
        Eigen::VectorXd best = logs_;
        for (const double log : coarse) {
            if (!breakdown && log != 0) break;
            Eigen::VectorXd logs = Eigen::VectorXd::Zero(logs_.size());
            if (breakdown) logs(static_cast<Eigen::Index>(*breakdown)) = log;
            for (int again = 0; again < 4; ++again)
                logs(0) += std::log(best_scale(model_.film_um(parameters_, logs)));
            const double chi_square =
                model_.residuals(parameters_, logs, {})(Eigen::VectorXd()).squaredNorm();
            if (chi_square < least) least = chi_square, best = logs;
        }
        logs_ = best;
    }

    double best_scale(const std::vector<double>& film_um) const {
        double products = 0, squares = 0;
        for (std::size_t k = 0; k < film_um.size(); ++k) {
            const MeasuredLoss& row = model_.rows()[k];
            const double weight = 1 / (row.sd_um * row.sd_um);
            products += weight * row.film_um * film_um[k], squares += weight * film_um[k] * film_um[k];
        }
        if (!(products > 0))
            throw InputError("", "", "measurements that on the whole show no film lost",
                             "a loss that can be fitted");
        return products / squares;
    }

    /// The exponent with the widest interval, if that is too wide to be told.
    std::optional<std::size_t> vaguest_exponent(const LeastSquaresFit& found) const {
        const std::vector<Eigen::Index> some = free();
        std::optional<std::size_t> out;
        double widest = widest_exponent;
        for (std::size_t k = 0; k < some.size(); ++k) {
            const auto at = static_cast<std::size_t>(some[k]);
            if (!is_exponent(parameters_[at].kind)) continue;
            const auto fitted = static_cast<Eigen::Index>(k);
            const double half = model_.preset_exponent(parameters_[at].kind) *
                                std::exp(found.parameters(fitted)) * found.half_width(fitted, fit_level);
            if (half > widest) widest = half, out = at;
        }
        return out;
    }

    void hold(std::size_t parameter, std::string why) {
        parameters_[parameter].held = std::move(why);
        logs_(static_cast<Eigen::Index>(parameter)) = 0;
    }

    std::string name_of(std::size_t k) const {
        switch (parameters_[k].kind) {
        case CutParameterKind::cut: return "cut";
        case CutParameterKind::breakdown: return "breakdown";
        case CutParameterKind::pressure_exponent: return "the exponent on pressure";
        case CutParameterKind::speed_exponent: return "the exponent on speed";
        case CutParameterKind::pad_factor:
            return fmt::format("the pad factor of {}", pad_names_[parameters_[k].pad]);
        }
        return "";
    }

    /// Holds what is blind: of the parameters in a blind direction an exponent, else a pad's factor, the
    /// first pad's before the others, else breakdown. The cut itself is never held.
    void hold_what_is_blind() {
        for (;;) {
            const std::vector<Eigen::Index> some = free();
            const std::vector<Eigen::VectorXd> blind = blind_directions(
                jacobian_of(model_.residuals(parameters_, logs_, some), free_logs(), difference));
            if (blind.empty()) return;
            std::vector<std::size_t> together;
            for (std::size_t k = 0; k < some.size(); ++k)
                if (std::abs(blind.front()(static_cast<Eigen::Index>(k))) > 0.05)
                    together.push_back(static_cast<std::size_t>(some[k]));
            const std::size_t held = to_hold(together);
            std::string names;
            for (std::size_t k = 0; k < together.size(); ++k)
                names += (k == 0 ? "" : k + 1 == together.size() ? " and " : ", ") + name_of(together[k]);
            const bool breakdown = parameters_[held].kind == CutParameterKind::breakdown;
            hold(held,
                 together.size() == 1
                     ? fmt::format("no row depends on it")
                     : fmt::format(
                           "these rows cannot tell {} apart: changed together they give the same losses",
                           names));
            if (breakdown) start_from_a_scan(); // what was best beside another breakdown is a start no more
        }
    }

    std::size_t to_hold(const std::vector<std::size_t>& together) const {
        for (const CutParameterKind kind :
             {CutParameterKind::speed_exponent, CutParameterKind::pressure_exponent,
              CutParameterKind::pad_factor, CutParameterKind::breakdown})
            for (const std::size_t k : together)
                if (parameters_[k].kind == kind) return k;
        throw std::logic_error("a cut that no row depends on");
    }

    LeastSquaresFit solve() const {
        return least_squares(model_.residuals(parameters_, logs_, free()), free_logs(), difference);
    }

    /// The rest fitted with breakdown kept at a logarithm.
    LeastSquaresFit solve_at(std::size_t breakdown, double log, const Eigen::VectorXd& start) {
        logs_(static_cast<Eigen::Index>(breakdown)) = log;
        std::vector<Eigen::Index> others = free();
        std::erase(others, static_cast<Eigen::Index>(breakdown));
        return least_squares(model_.residuals(parameters_, logs_, others), start, difference);
    }

    struct Within {
        double low = INFINITY, high = -INFINITY;
        void take(double from, double to) { low = std::min(low, from), high = std::max(high, to); }
    };

    /// Intervals of all fitted parameters from the profile over breakdown; `found` moves to the best fit
    /// there is.
    /// @return false where the rows hardly tell breakdown.
    bool take_profile(LeastSquaresFit& found, std::size_t breakdown) {
        const std::vector<Eigen::Index> some = free();
        const auto at = std::ranges::find(some, static_cast<Eigen::Index>(breakdown)) - some.begin();
        const double range = std::log(told_range);
        constexpr double coarse = 0.25;
        std::vector<double> steps;
        for (double log = -range; log <= range; log += coarse) steps.push_back(log);
        // The coarse steps look for other minima; from the lowest the fit is made again.
        Eigen::VectorXd others = without(found.parameters, at);
        for (const double log : steps) {
            const LeastSquaresFit there = solve_at(breakdown, log, others);
            others = there.parameters;
            if (there.chi_square > found.chi_square - 1e-6) continue;
            const LeastSquaresFit better =
                least_squares(model_.residuals(parameters_, logs_, some), with(others, at, log), difference);
            if (better.chi_square < found.chi_square) found = better;
        }
        // Fine ones round the best for where an interval is narrower than the coarse.
        const double best = found.parameters(at), fine = found.half_width(at, fit_level) / 8;
        if (!(std::abs(best) < range)) return false;
        if (fine < coarse)
            for (int k = -24; k <= 24; ++k) steps.push_back(best + k * fine);
        std::ranges::sort(steps);
        const double limit = std::pow(found.quantile(fit_level) * found.scale(), 2);
        std::vector<Within> within(some.size());
        others = without(found.parameters, at);
        double last_log = 0, last_excess = INFINITY;
        for (const double log : steps) {
            const LeastSquaresFit there = solve_at(breakdown, log, others);
            others = there.parameters;
            const double excess = there.chi_square - found.chi_square;
            Within& own = within[static_cast<std::size_t>(at)];
            // Where the limit is crossed, a straight line between the steps.
            if (std::isfinite(last_excess) && (excess < limit) != (last_excess < limit)) {
                const double crossing =
                    last_log + (log - last_log) * (limit - last_excess) / (excess - last_excess);
                own.take(crossing, crossing);
            }
            last_log = log, last_excess = excess;
            if (excess >= limit) continue;
            own.take(log, log);
            for (std::size_t k = 0, other = 0; k < some.size(); ++k) {
                if (static_cast<Eigen::Index>(k) == at) continue;
                const auto o = static_cast<Eigen::Index>(other++);
                const double half = std::sqrt((limit - std::max(0.0, excess)) * there.covariance(o, o));
                within[k].take(there.parameters(o) - half, there.parameters(o) + half);
            }
        }
        logs_(static_cast<Eigen::Index>(breakdown)) = best;
        const Within& own = within[static_cast<std::size_t>(at)];
        if (own.low <= steps.front() || own.high >= steps.back() ||
            own.high - own.low > std::log(widest_told))
            return false;
        profile_ = within;
        return true;
    }

    static Eigen::VectorXd without(const Eigen::VectorXd& all, Eigen::Index at) {
        Eigen::VectorXd out(all.size() - 1);
        for (Eigen::Index k = 0, n = 0; k < all.size(); ++k)
            if (k != at) out(n++) = all(k);
        return out;
    }

    static Eigen::VectorXd with(const Eigen::VectorXd& others, Eigen::Index at, double value) {
        Eigen::VectorXd out(others.size() + 1);
        for (Eigen::Index k = 0, n = 0; k < out.size(); ++k) out(k) = k == at ? value : others(n++);
        return out;
    }

    CutFit report(const LeastSquaresFit& found) {
        const std::vector<Eigen::Index> some = free();
        for (std::size_t k = 0; k < some.size(); ++k) {
            const auto at = static_cast<Eigen::Index>(k);
            logs_(some[k]) = found.parameters(at);
            CutParameter& parameter = parameters_[static_cast<std::size_t>(some[k])];
            const double best = found.parameters(at), half = found.half_width(at, fit_level);
            const Within within = profile_.empty() ? Within{best - half, best + half} : profile_[k];
            parameter.value = std::exp(best), parameter.low = std::exp(within.low),
            parameter.high = std::exp(within.high);
        }
        CutFit out;
        out.model_um = model_.film_um(parameters_, logs_);
        out.parameters = parameters_;
        out.residual.assign(found.residuals.begin(), found.residuals.end());
        out.leverage.assign(found.leverage.begin(), found.leverage.end());
        out.outlier = found.outliers();
        out.chi_square = found.chi_square, out.degrees = found.degrees, out.scale = found.scale();
        out.chance = found.chance_of_chi_square();
        out.converged = found.converged;
        return out;
    }

    static constexpr DifferenceStep difference{0, 1e-4}; ///< of logarithms; leaves an error of some 1e-9
    const CutModel& model_;
    std::vector<CutParameter> parameters_;
    const std::vector<std::string>& pad_names_;
    Eigen::VectorXd logs_;
    std::vector<Within> profile_; ///< of each fitted parameter, logarithms; empty without breakdown
};

} // namespace

double WorkTrace::Response::at(double more_pressure, double more_speed) const {
    return std::exp(more_pressure * (by_pressure + 0.5 * pressure_twice * more_pressure) +
                    more_speed * (by_speed + 0.5 * speed_twice * more_speed) +
                    both * more_pressure * more_speed);
}

WorkTrace trace_work(const Panel& panel, const Setup& setup, const ArmPath& path,
                     std::span<const std::size_t> cells, double counts_from_s, double counts_to_s,
                     bool exponents) {
    if (cells.empty()) throw std::invalid_argument("no ground that is measured");
    WorkTrace out;
    out.pad_area_m2 = pi * setup.pad.radius_m * setup.pad.radius_m;
    out.capacity_m = setup.pad.capacity_m;
    out.end_size = setup.liquid.abrasive_end_m / setup.liquid.abrasive_start_m;
    Setup fresh = setup;
    fresh.liquid.breakdown_j_m2 = 0;
    fresh.pad.capacity_m = 0;
    Simulation simulation(panel, fresh);
    double before_um = 0, work_j = 0, counted_from_j = 0;
    for (std::size_t k = 0; k + 1 < path.samples.size(); ++k) {
        const ArmSample &from = path.samples[k], &to = path.samples[k + 1];
        const double middle_s = 0.5 * (from.t_s + to.t_s);
        const StepReport report = simulation.step(from, to);
        WorkTrace::Step step;
        const double after_um = mean_removed_um(simulation, cells);
        step.film_um = after_um - before_um;
        before_um = after_um;
        step.removed_m3 = report.removed_m3;
        step.work_j = report.friction_power_w * report.dt_s;
        step.recharge = from.recharge;
        step.counts = middle_s > counts_from_s && middle_s < counts_to_s;
        if (step.recharge) work_j = 0;
        work_j += step.work_j;
        if (!step.counts && middle_s < counts_from_s) counted_from_j = work_j;
        if (step.counts) out.work_j_m2 = 0.5 * (counted_from_j + work_j) / out.pad_area_m2;
        out.steps.push_back(step);
    }
    if (exponents) find_responses(panel, fresh, path, cells, out);
    return out;
}

WorkLoss loss_of(const WorkTrace& trace, double cut, double breakdown_j_m2, double more_pressure,
                 double more_speed) {
    const double film = trace.film.at(more_pressure, more_speed),
                 removed = trace.removed.at(more_pressure, more_speed);
    double work_j_m2 = 0, taken_m = 0;
    WorkLoss out;
    for (const WorkTrace::Step& step : trace.steps) {
        if (step.recharge) work_j_m2 = taken_m = 0;
        const double size =
            breakdown_j_m2 > 0 ? trace.end_size + (1 - trace.end_size) * std::exp(-work_j_m2 / breakdown_j_m2)
                               : 1;
        const double loading = trace.capacity_m > 0 ? 1 / (1 + taken_m / trace.capacity_m) : 1;
        const double now = cut * size * loading;
        work_j_m2 += step.work_j / trace.pad_area_m2;
        taken_m += now * removed * step.removed_m3 / trace.pad_area_m2;
        if (!step.counts) continue;
        out.film_um += now * film * step.film_um;
        out.removed_m3 += now * removed * step.removed_m3;
    }
    return out;
}

CutFit fit_cut(std::span<const WorkTrace> traces, std::span<const MeasuredLoss> rows, double breakdown_j_m2,
               const std::vector<std::string>& pad_names, std::optional<Exponents> exponents) {
    if (rows.empty()) throw InputError("", "", "no measurement", "one or more");
    std::vector<CutParameter> parameters{{}};
    if (breakdown_j_m2 > 0) parameters.push_back({.kind = CutParameterKind::breakdown, .held = {}});
    if (exponents)
        for (const CutParameterKind kind :
             {CutParameterKind::pressure_exponent, CutParameterKind::speed_exponent})
            parameters.push_back({.kind = kind, .held = {}});
    for (std::size_t pad = 0; pad < pad_names.size(); ++pad)
        parameters.push_back({.kind = CutParameterKind::pad_factor, .pad = pad, .held = {}});
    // With fewer rows than parameters some direction is blind, so what is solved has rows enough.
    return Fitting(CutModel(traces, rows, breakdown_j_m2, exponents.value_or(Exponents())),
                   std::move(parameters), pad_names)
        .fit();
}

} // namespace sparecoat::decide
