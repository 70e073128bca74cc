#include "sim/abrasive.hpp"
#include "units/quantity.hpp"
#include <cmath>

namespace sparecoat::sim {
namespace {
// Once dry, cut dies away over a quarter of the working time and the drag of the pad rises by half:
// common practice, no source; the two values are from memory.
constexpr double dry_share_of_working_time = 0.25;
constexpr double dry_drag = 0.5;
} // namespace

Abrasive::Abrasive(const Liquid& liquid, const Pad& pad, double softness)
    : liquid_(liquid), base_coefficient_(liquid.cut_per_size_pa_m * pad.cut_factor * softness),
      base_friction_(pad.friction * liquid.friction_factor), capacity_m_(pad.capacity_m),
      pad_area_m2_(pi * pad.radius_m * pad.radius_m) {}

void Abrasive::recharge() { work_j_m2_ = removed_m_ = age_s_ = 0; }

double Abrasive::size_m() const {
    if (liquid_.breakdown_j_m2 <= 0) return liquid_.abrasive_start_m;
    return liquid_.abrasive_end_m + (liquid_.abrasive_start_m - liquid_.abrasive_end_m) *
                                        std::exp(-work_j_m2_ / liquid_.breakdown_j_m2);
}

double Abrasive::loading() const { return capacity_m_ > 0 ? 1 / (1 + removed_m_ / capacity_m_) : 1; }

bool Abrasive::dry() const { return liquid_.working_time_s > 0 && age_s_ > liquid_.working_time_s; }

double Abrasive::dryness() const {
    if (!dry()) return 1;
    return std::exp(-(age_s_ - liquid_.working_time_s) /
                    (dry_share_of_working_time * liquid_.working_time_s));
}

double Abrasive::coefficient() const { return base_coefficient_ * size_m() * loading() * dryness(); }

double Abrasive::friction() const { return base_friction_ * (1 + dry_drag * (1 - dryness())); }

void Abrasive::use(double work_j, double removed_m3, double dt_s) {
    work_j_m2_ += work_j / pad_area_m2_;
    removed_m_ += removed_m3 / pad_area_m2_;
    age_s_ += dt_s;
}

} // namespace sparecoat::sim
