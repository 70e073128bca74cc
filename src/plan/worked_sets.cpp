#include "plan/worked_sets.hpp"
#include "finish/step_marks.hpp"
#include "formats/encoding.hpp"
#include <cstring>
#include <type_traits>

namespace sparecoat::plan {
namespace {

/// Bytes of values one after the other. Structs are taken apart by structured bindings, which do not compile
/// any more once a struct has a member that is not written here.
class Bytes {
public:
    template <class T>
    requires(std::is_arithmetic_v<T> || std::is_enum_v<T>) void add(T value) {
        const std::size_t at = bytes_.size();
        bytes_.resize(at + sizeof value);
        std::memcpy(bytes_.data() + at, &value, sizeof value);
    }
    template <class T> void add(const std::vector<T>& values) {
        add(values.size());
        const std::size_t at = bytes_.size(), size = values.size() * sizeof(T);
        bytes_.resize(at + size);
        if (size > 0) std::memcpy(bytes_.data() + at, values.data(), size);
    }
    template <class... Values> void all(const Values&... values) { (add(values), ...); }
    const std::string& text() const { return bytes_; }

    void add(Point2 p) { all(p.x, p.y); }
    void add(const Machine& machine) {
        const auto& [name, kind, throw_m, low, high, ratio, torque, drag, inertia, most_m, least_m, power,
                     mass] = machine;
        all(kind, throw_m, low, high, ratio, torque, drag, inertia, most_m, least_m, power, mass);
    }
    void add(const Pad& pad) {
        const auto& [name, material, radius_m, thickness_m, plate_m, rim, foam, loss, friction, cut, capacity,
                     density] = pad;
        const auto& [rim_kind, width_m, height_m] = rim;
        const auto& [modulus, plateau, densification, poisson] = foam;
        all(radius_m, thickness_m, plate_m, rim_kind, width_m, height_m, modulus, plateau, densification,
            poisson, loss, friction, cut, capacity, density);
    }
    void add(const Liquid& liquid) {
        const auto& [name, paper, start_m, end_m, breakdown, working_s, cut, friction, a, b, a_sd, b_sd,
                     water] = liquid; // the exponents' doubt has no say in a run
        all(paper, start_m, end_m, breakdown, working_s, cut, friction, a, b, water);
    }
    void add(const Surroundings& air) {
        const auto& [air_c, humidity, top, bottom, radiation, speed, way_m, film, conductivity, limit_c] =
            air;
        all(air_c, humidity, top, bottom, radiation, speed, way_m, film, conductivity, limit_c);
    }
    void add(const Softening& softening) {
        const auto& [from_c, doubling_k] = softening;
        all(from_c, doubling_k);
    }
    void add(const Setup& setup) {
        const auto& [machine, pad, liquid, softness, stiffness, integrator, taped, air, softening, heat] =
            setup;
        all(machine, pad, liquid, softness, stiffness, integrator, air, softening, heat);
        add(taped ? *taped : std::vector<std::uint8_t>());
    }
    void add(const Panel& panel) { // as far as a run looks at it
        const auto& [nu, nv, h_m, x0_m, y0_m] = panel.grid;
        const auto& [name, thickness_m, density, capacity, conductivity, polymer] = panel.substrate;
        all(nu, nv, h_m, x0_m, y0_m, thickness_m, density, capacity, conductivity, polymer);
        all(panel.height_m, panel.inside, panel.edge_distance_m, panel.crest_distance_m,
            panel.laplacian_per_m, panel.nearest_edge, panel.nearest_crest);
        all(panel.clear_um, panel.base_um, panel.primer_um, panel.ecoat_um);
    }
    void add(const ArmPath& path) {
        for (const ArmSample& sample : path.samples) {
            const auto& [t_s, at, force_n, tilt_rad, speed, down, recharge, pass] = sample;
            all(t_s, at, force_n, tilt_rad, speed, down, recharge, pass);
        }
    }

private:
    std::string bytes_;
};

} // namespace

std::string digest_of(const RunJob& job) {
    Bytes bytes;
    bytes.all(job.panel, setup_of(job), job.path);
    return sha256(bytes.text());
}

std::shared_ptr<const WorkedSet> WorkedSets::of(const RunJob& job) {
    const std::string digest = digest_of(job);
    {
        const std::scoped_lock lock(mutex_);
        if (const auto known = kept_.find(digest); known != kept_.end()) return known->second;
    }
    const RunResult result = simulate(job);
    auto set = std::make_shared<const WorkedSet>(WorkedSet{
        result.fields.removed_um, result.heat->peak_map_c(), work_since_fresh_j(job.path, result.trace)});
    const std::scoped_lock lock(mutex_);
    ++worked_out_;
    if (kept_.size() == most_kept) kept_.clear();
    return kept_.emplace(digest, std::move(set)).first->second;
}

std::size_t WorkedSets::worked_out() const {
    const std::scoped_lock lock(mutex_);
    return worked_out_;
}

} // namespace sparecoat::plan
