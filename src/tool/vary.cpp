#include "tool/vary.hpp"
#include "tool/hand.hpp"
#include <algorithm>

namespace sparecoat::tool {

bool varies(const HandVariation& hand) {
    return hand.force > 0 || hand.arm_speed > 0 || hand.tilt_rad > 0 || hand.spacing_m > 0;
}

ArmPath vary(const ArmPath& steady, const HandVariation& hand, std::uint64_t seed, double sign) {
    ArmPath path = steady;
    double t_s = steady.samples.empty() ? 0 : steady.samples.front().t_s, travelled_m = 0;
    for (std::size_t k = 0; k < path.samples.size(); ++k) {
        ArmSample& sample = path.samples[k];
        const ArmSample& meant = steady.samples[k];
        if (k > 0) {
            const ArmSample& before = steady.samples[k - 1];
            const double step_s = meant.t_s - before.t_s, run_m = norm(meant.at - before.at);
            const double knot = (t_s + 0.5 * step_s) / hand.correlation_s;
            const double share = 1 + sign * hand.arm_speed * smooth_noise(seed, HandChannel::arm_speed, knot);
            t_s += step_s / std::max(least_speed_share, share);
            travelled_m += run_m;
        }
        const double moment = t_s / hand.correlation_s, stretch = travelled_m / drift_length_m;
        const auto noise = [&](HandChannel channel, double x) {
            return sign * smooth_noise(seed, channel, x);
        };
        sample.t_s = t_s;
        if (hand.force > 0)
            sample.force_n *= std::max(least_force_share, 1 + hand.force * noise(HandChannel::force, moment));
        if (hand.tilt_rad > 0)
            sample.tilt_rad = meant.tilt_rad + hand.tilt_rad * Point2{noise(HandChannel::tilt_u, moment),
                                                                      noise(HandChannel::tilt_v, moment)};
        if (hand.spacing_m > 0)
            sample.at = meant.at + hand.spacing_m * Point2{noise(HandChannel::drift_u, stretch),
                                                           noise(HandChannel::drift_v, stretch)};
    }
    return path;
}

} // namespace sparecoat::tool
