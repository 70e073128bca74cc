#pragma once
#include "tool/tool.hpp"

namespace sparecoat::sim {

/// State of the liquid and the pad's face since they were last fresh, and the removal coefficient that
/// follows from it. Preston (1927): dh/dt = k p |v|, with
///     k = cut_per_size x d x pad cut x softness x loading x dry
/// (the heat factor belongs to the panel's temperature and is not part of this state).
class Abrasive {
public:
    Abrasive(const Liquid& liquid, const Pad& pad, double softness);

    void recharge(); ///< fresh liquid on a cleaned pad

    double coefficient() const; ///< k now, 1/Pa
    bool preston() const { return liquid_.pressure_exponent == 1 && liquid_.speed_exponent == 1; }
    double friction() const; ///< pad against panel, now
    double size_m() const;   ///< median abrasive size d = d_end + (d_start - d_end) exp(-W / W0)
    double loading() const;  ///< 1 / (1 + removed / capacity)
    bool dry() const;

    /// @param work_j friction work done, @param removed_m3 film taken up, over dt_s.
    void use(double work_j, double removed_m3, double dt_s);

private:
    double dryness() const; ///< 1 while wet, falling to 0 after the working time

    Liquid liquid_;
    double base_coefficient_, base_friction_, capacity_m_, pad_area_m2_;
    double work_j_m2_ = 0, removed_m_ = 0, age_s_ = 0;
};

} // namespace sparecoat::sim
