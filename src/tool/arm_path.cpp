#include "tool/arm_path.hpp"
#include "tool/hand.hpp"
#include "tool/strips.hpp"
#include "tool/strokes.hpp"
#include "units/error.hpp"
#include "units/quantity.hpp"
#include <algorithm>
#include <cmath>
#include <fmt/format.h>
#include <map>

namespace sparecoat::tool {

namespace {

std::string millimetres(double m) { return fmt::format("{:.4g} mm", m / mm); }

void require(bool holds, const std::string& file, const char* place, double found, const char* unit,
             const char* allowed) {
    if (!holds) throw InputError(file, place, fmt::format("{:g}{}", found, unit), allowed);
}

void check_values(const Technique& t, double pad_radius_m, const std::string& file) {
    const auto positive = [](double value) { return std::isfinite(value) && value > 0; };
    const auto not_negative = [](double value) { return std::isfinite(value) && value >= 0; };
    require(positive(pad_radius_m), file, "/pad", 2 * pad_radius_m, " m", "a pad diameter above 0");
    require(positive(t.force_n), file, "/force", t.force_n, " N", "a force above 0");
    require(positive(t.arm_speed_m_s), file, "/arm_speed", t.arm_speed_m_s, " m/s", "a speed above 0");
    require(positive(t.arm_acceleration_m_s2), file, "/arm_acceleration", t.arm_acceleration_m_s2, " m/s²",
            "an acceleration above 0");
    require(t.overlap >= 0 && t.overlap <= 0.95, file, "/overlap", 100 * t.overlap, " %", "0 to 95 %");
    require(t.passes >= 1, file, "/passes", t.passes, "", "1 or more");
    require(t.recharge_passes >= 0, file, "/recharge_passes", t.recharge_passes, "", "0 (never) or more");
    const HandVariation& hand = t.hand;
    require(not_negative(hand.force), file, "/hand/force", hand.force, "", "0 or more");
    require(not_negative(hand.arm_speed), file, "/hand/arm_speed", hand.arm_speed, "", "0 or more");
    require(not_negative(hand.tilt_rad), file, "/hand/tilt", hand.tilt_rad, " rad", "0 or more");
    require(not_negative(hand.spacing_m), file, "/hand/spacing", hand.spacing_m, " m", "0 or more");
    require(positive(hand.correlation_s), file, "/hand/correlation", hand.correlation_s, " s",
            "a time above 0");
}

Rect section_rect(const Technique& t) {
    return {*t.section_centre - 0.5 * t.section_size, *t.section_centre + 0.5 * t.section_size};
}

EdgeLimits edge_limits(const Technique& t, double pad_radius_m) {
    EdgeLimits limits;
    limits.everywhere_m = pad_radius_m + t.hold_back_m;
    for (const auto& [name, hold_back_m] : t.hold_back_edge_m)
        limits.by_edge_m[name] = pad_radius_m + hold_back_m;
    return limits;
}

std::optional<Section> section_of(const Technique& t, double pad_radius_m) {
    if (!t.section_centre) return std::nullopt;
    return Section{section_rect(t), pad_radius_m};
}

/// Says why the pad's centre has nowhere to go.
[[noreturn]] void refuse_no_room(const Technique& t, double pad_radius_m, const Panel& panel,
                                 const std::string& file) {
    const EdgeLimits limits = edge_limits(t, pad_radius_m);
    const std::string pad = "pad of " + millimetres(2 * pad_radius_m);
    const bool room_on_panel = PadRegion(panel, limits).extent().has_value();
    if (t.section_centre && !PadRegion(panel, {}, Section{section_rect(t), 0}).extent())
        throw InputError(file, "/section", "a section off the panel \"" + panel.name + "\"",
                         "a section that overlaps the panel");
    if (t.section_centre && room_on_panel)
        throw InputError(
            file, "/section/size",
            fmt::format("{} x {}, no room to move a {}", millimetres(t.section_size.x),
                        millimetres(t.section_size.y), pad),
            "a section larger than the pad, on a part of the panel that the hold-back leaves free");
    throw InputError(file, "/hold_back",
                     fmt::format("no room on the panel \"{}\" for a {} with a hold-back of {}", panel.name,
                                 pad, millimetres(t.hold_back_m)),
                     "a smaller pad or a smaller hold-back (negative: the rim overhangs the edge)");
}

/// Lays the strokes of all passes of one technique.
class Layer {
public:
    Layer(const Technique& technique, double pad_radius_m, const Panel& panel, std::uint64_t seed,
          const std::string& file)
        : technique_(technique), pad_radius_m_(pad_radius_m), panel_(panel), seed_(seed), file_(file) {}

    /// Never empty.
    std::vector<Leg> legs() const {
        std::vector<Leg> legs;
        switch (technique_.pattern) {
        case Pattern::raster: legs = raster(); break;
        case Pattern::spiral: legs = spiral(); break;
        case Pattern::line: legs = line(); break;
        case Pattern::strips: legs = strips(); break;
        case Pattern::recorded:
            throw InputError(file_, "/pattern", "recorded, without a recording",
                             "raster, spiral, line, strips");
        }
        if (legs.empty())
            throw InputError(file_, "/pattern",
                             "a pattern that meets only slivers of the panel \"" + panel_.name + "\"",
                             "strokes of 5 mm and more where the pad's centre may go");
        return legs;
    }

private:
    double spacing_m() const { return (1 - technique_.overlap) * 2 * pad_radius_m_; }

    StrokePlan plan_on(const PadRegion& region) const {
        return {region, technique_.arm_speed_m_s, technique_.arm_acceleration_m_s2, 2 * pad_radius_m_};
    }

    void begin_pass(StrokePlan& plan, int pass, bool new_section = false) const {
        const int every = technique_.recharge_passes;
        plan.begin_pass(pass, new_section || (every > 0 && pass > 0 && pass % every == 0));
    }

    PadRegion section_region() const {
        return PadRegion(panel_, edge_limits(technique_, pad_radius_m_),
                         section_of(technique_, pad_radius_m_), file_);
    }

    Rect room(const PadRegion& region) const {
        constexpr double least_m = 1e-3;
        const std::optional<Rect> extent = region.extent();
        if (!extent || std::max(extent->size().x, extent->size().y) < least_m)
            refuse_no_room(technique_, pad_radius_m_, panel_, file_);
        return *extent;
    }

    double wander_m(std::int64_t line) const {
        return technique_.hand.spacing_m * normal_at(seed_, HandChannel::spacing, line);
    }

    /// The sections that a raster is worked in, in serpentine order: the technique's own, or for a whole
    /// panel as many of about the section's size as it takes. Neighbours' outermost lines lie half a line
    /// spacing apart: sections overlap a little more than lines do, or the joints would show.
    std::vector<std::optional<Section>> sections(const Rect& extent) const {
        if (technique_.section_centre) return {section_of(technique_, pad_radius_m_)};
        struct Split {
            int count;
            double width_m;
        };
        const double joint_m = 0.5 * spacing_m();
        const auto split = [&](double extent_m, double section_m) {
            const double centre_m = std::max(section_m - 2 * pad_radius_m_, spacing_m());
            const int count =
                std::max(1, static_cast<int>(std::lround((extent_m + joint_m) / (centre_m + joint_m))));
            return Split{count, std::max(0.0, (extent_m - (count - 1) * joint_m) / count)};
        };
        const Split u = split(extent.size().x, technique_.section_size.x);
        const Split v = split(extent.size().y, technique_.section_size.y);
        const Point2 rim{pad_radius_m_, pad_radius_m_};
        std::vector<std::optional<Section>> out;
        for (int j = 0; j < v.count; ++j)
            for (int k = 0; k < u.count; ++k) {
                const int i = j % 2 == 0 ? k : u.count - 1 - k;
                const Point2 low = extent.low + Point2{i * (u.width_m + joint_m), j * (v.width_m + joint_m)};
                const Point2 high = low + Point2{u.width_m, v.width_m};
                out.push_back(Section{{low - rim, high + rim}, pad_radius_m_});
            }
        return out;
    }

    std::vector<Leg> raster() const {
        const PadRegion whole = section_region();
        const Rect extent = room(whole);
        StrokePlan plan = plan_on(whole);
        int lines = 0;
        bool fresh = true;
        for (const std::optional<Section>& section : sections(extent)) {
            const PadRegion region(panel_, edge_limits(technique_, pad_radius_m_), section, file_);
            const std::optional<Rect> part = region.extent();
            if (!part) continue;             // nothing but a window, say
            std::map<Run, RasterBand> bands; // of both runs, once each
            for (int pass = 0; pass < technique_.passes; ++pass) {
                begin_pass(plan, pass, pass == 0 && !fresh);
                fresh = false;
                Raster lay;
                lay.run = technique_.crossed && pass % 2 == 1 ? Run::along_v : Run::along_u;
                if (!bands.contains(lay.run)) bands[lay.run] = raster_band(region, *part, lay.run);
                lay.band = bands[lay.run];
                lay.spacing_m = spacing_m();
                if (technique_.hand.spacing_m > 0)
                    lay.wander_m = [this, lines](int k) { return wander_m(lines + k); };
                lines += add_raster(plan, region, lay);
            }
        }
        return plan.legs();
    }

    std::vector<Leg> spiral() const {
        const PadRegion region = section_region();
        const Rect extent = room(region);
        StrokePlan plan = plan_on(region);
        double turns = 0;
        for (int pass = 0; pass < technique_.passes; ++pass) {
            begin_pass(plan, pass);
            std::function<double(double)> wander;
            if (technique_.hand.spacing_m > 0)
                wander = [this, turns](double turn) {
                    return technique_.hand.spacing_m *
                           smooth_noise(seed_, HandChannel::spacing, turns + turn);
                };
            const ArmWay out = spiral_way(extent, spacing_m(), wander);
            add_way(plan, region, pass % 2 == 0 ? out : out.reversed());
            turns += std::ceil(0.5 * std::max(extent.size().x, extent.size().y) / spacing_m()) + 1;
        }
        return plan.legs();
    }

    std::vector<Leg> line() const {
        check_edge_names(panel_, technique_.hold_back_edge_m, "/hold_back", file_);
        const Point2 run = technique_.line_to - technique_.line_from;
        const double length_m = norm(run);
        if (!(length_m > 0)) throw InputError(file_, "/line", "a line of no length", "two different ends");
        EdgeLimits touching;
        touching.everywhere_m = -pad_radius_m_;
        const PadRegion region(panel_, touching, {}, file_);
        if (region.along(ArmWay(technique_.line_from, technique_.line_to)).empty())
            throw InputError(file_, "/line", "a line off the panel \"" + panel_.name + "\"",
                             "a line on which the pad touches the panel");

        StrokePlan plan = plan_on(region);
        const Point2 aside{-run.y / length_m, run.x / length_m};
        for (int pass = 0; pass < technique_.passes; ++pass) {
            begin_pass(plan, pass);
            const Point2 shift = technique_.hand.spacing_m > 0 ? wander_m(pass) * aside : Point2{};
            const ArmWay there(technique_.line_from + shift, technique_.line_to + shift);
            add_way(plan, region, pass % 2 == 0 ? there : there.reversed());
        }
        return plan.legs();
    }

    std::vector<Leg> strips() const {
        const PadRegion region(panel_, edge_limits(technique_, pad_radius_m_), {}, file_);
        StrokePlan plan = plan_on(region);
        std::function<double(int)> wander;
        if (technique_.hand.spacing_m > 0) wander = [this](int run) { return wander_m(run); };
        add_strips(plan, region, strip_pieces(technique_, pad_radius_m_, panel_, region, file_),
                   technique_.passes, wander);
        return plan.legs();
    }

    const Technique& technique_;
    double pad_radius_m_;
    const Panel& panel_;
    std::uint64_t seed_;
    const std::string& file_;
};

/// Moments of a leg's motion to take samples at: the ends of its ramps, and enough in between.
std::vector<double> sample_times(const SpeedProfile& profile, StepLimits limits) {
    std::vector<double> times{0};
    const auto add_phase = [&](double length_s) {
        if (length_s < 1e-9) return; // rounding: a step of no time would have no speed
        const double start_s = times.back();
        const double steps = std::max({1.0, std::ceil(length_s / limits.max_step_s - 1e-9),
                                       std::ceil(length_s * profile.peak_m_s() / limits.max_step_m - 1e-9)});
        for (int k = 1; k <= static_cast<int>(steps); ++k) times.push_back(start_s + length_s * k / steps);
    };
    add_phase(profile.ramp_s());
    add_phase(profile.cruise_s());
    add_phase(profile.ramp_s());
    return times;
}

/// Turns legs into samples in time, as the varying hand runs them. Force and tilt follow later: they
/// vary in time, which is known only once the arm's speed is.
class Runner {
public:
    Runner(const Technique& technique, std::uint64_t seed, StepLimits limits)
        : technique_(technique), seed_(seed), limits_(limits) {}

    /// @param legs at least one.
    ArmPath run(const std::vector<Leg>& legs) {
        for (const Leg& leg : legs) {
            bool first = true;
            const auto step = [&](double from_m, double to_m, double dt_s) {
                add(leg, leg.way.at(from_m), first && leg.recharge);
                first = false;
                t_s_ += dt_s;
                end_ = leg.way.at(to_m);
            };
            if (leg.kind == Leg::Kind::down) run_down(leg, step);
            else step(0, leg.way.length_m(), leg.fixed_s);
        }
        add({Leg::Kind::down, {}, 0, legs.back().pass, false}, end_, false);
        return std::move(path_);
    }

private:
    template <class Step> void run_down(const Leg& leg, const Step& step) {
        const SpeedProfile profile(leg.way.length_m(), technique_.arm_speed_m_s,
                                   technique_.arm_acceleration_m_s2);
        const std::vector<double> times = sample_times(profile, limits_);
        for (std::size_t k = 1; k < times.size(); ++k) {
            const double from_m = profile.arc_m(times[k - 1]), to_m = profile.arc_m(times[k]);
            step(from_m, to_m, (times[k] - times[k - 1]) / speed_share(travelled_m_ + 0.5 * (from_m + to_m)));
        }
        travelled_m_ += leg.way.length_m();
    }

    /// The hand's speed over the one asked for, by how far the arm has come.
    double speed_share(double travelled_m) const {
        const double sd = technique_.hand.arm_speed;
        if (sd <= 0) return 1;
        const double correlation_m = technique_.arm_speed_m_s * technique_.hand.correlation_s;
        return std::max(least_speed_share,
                        1 + sd * smooth_noise(seed_, HandChannel::arm_speed, travelled_m / correlation_m));
    }

    void add(const Leg& leg, Point2 at, bool recharge) {
        ArmSample sample;
        sample.t_s = t_s_;
        sample.at = at;
        sample.down = leg.kind == Leg::Kind::down;
        sample.recharge = recharge;
        sample.pass = leg.pass;
        path_.samples.push_back(sample);
    }

    const Technique& technique_;
    std::uint64_t seed_;
    StepLimits limits_;
    ArmPath path_;
    Point2 end_;
    double t_s_ = 0, travelled_m_ = 0;
};

/// What the hand does at each moment of a path that is already timed.
void command(ArmPath& path, const Technique& technique, std::uint64_t seed) {
    const HandVariation& hand = technique.hand;
    const Point2 tilt_rad = tilt_vector(technique.tilt_rad, technique.tilt_toward_rad);
    double force_n = technique.force_n;
    for (ArmSample& sample : path.samples) {
        const double x = sample.t_s / hand.correlation_s;
        if (hand.force > 0 && sample.down)
            force_n = technique.force_n *
                      std::max(least_force_share, 1 + hand.force * smooth_noise(seed, HandChannel::force, x));
        sample.force_n = force_n;
        sample.tilt_rad = tilt_rad;
        if (hand.tilt_rad > 0)
            sample.tilt_rad = tilt_rad + hand.tilt_rad * Point2{smooth_noise(seed, HandChannel::tilt_u, x),
                                                                smooth_noise(seed, HandChannel::tilt_v, x)};
        sample.speed_rad_s = technique.speed_rad_s;
    }
}

} // namespace

ArmPath lay_path(const Technique& technique, double pad_radius_m, const Panel& panel, std::uint64_t seed,
                 StepLimits limits, const std::string& file) {
    check_values(technique, pad_radius_m, file);
    const std::vector<Leg> legs = Layer(technique, pad_radius_m, panel, seed, file).legs();
    // A second time, for what the runner leaves long: lifts, and steps that a slow hand has stretched.
    ArmPath path = resample(Runner(technique, seed, limits).run(legs), limits);
    command(path, technique, seed);
    return path;
}

ArmPath resample(const ArmPath& path, StepLimits limits) {
    ArmPath fine;
    for (std::size_t k = 0; k + 1 < path.samples.size(); ++k) {
        const ArmSample& from = path.samples[k];
        const ArmSample& to = path.samples[k + 1];
        const double steps = std::max({1.0, std::ceil((to.t_s - from.t_s) / limits.max_step_s - 1e-9),
                                       std::ceil(norm(to.at - from.at) / limits.max_step_m - 1e-9)});
        fine.samples.push_back(from);
        for (int j = 1; j < static_cast<int>(steps); ++j) {
            const double share = j / steps;
            ArmSample between = from;
            between.t_s = from.t_s + share * (to.t_s - from.t_s);
            between.at = from.at + share * (to.at - from.at);
            if (from.down) between.force_n = from.force_n + share * (to.force_n - from.force_n);
            between.tilt_rad = from.tilt_rad + share * (to.tilt_rad - from.tilt_rad);
            between.speed_rad_s = from.speed_rad_s + share * (to.speed_rad_s - from.speed_rad_s);
            between.recharge = false;
            fine.samples.push_back(between);
        }
    }
    if (!path.samples.empty()) fine.samples.push_back(path.samples.back());
    return fine;
}

} // namespace sparecoat::tool
