#include "sim/heat.hpp"
#include "sim/evaporation.hpp"
#include "sim/heat_kernels.hpp"
#include "sim/heat_steps.hpp"
#include "sim/kernels.hpp"
#include "units/quantity.hpp"
#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <stdexcept>

namespace sparecoat::sim {
namespace {

constexpr double node_m = 0.004;     // about; whole cells
constexpr double longest_step_s = 1; // a pause is taken in steps of this at the most
constexpr double slow_plane_s = 1;   // how often a polymer conducts in its plane
constexpr float warmed_k = 1e-5f;    // a smaller rise is left where it is

} // namespace

/// What does not change in a run.
struct PanelHeat::Nodes {
    Grid grid;
    std::size_t block = 1;        // cells along a node's side
    int shift_i = 0, shift_j = 0; // cells that the first node lacks, so that nodes start with the panel
    int nu = 0, nv = 0;
    std::size_t stride = 0, count = 0;
    double area_m2 = 0; // of a whole node
    std::vector<float> east, north, share, inverse_share, resistance;
    std::vector<std::size_t> middle; // the panel's cell nearest to each node's centre of area
    double diffusion_per_s = 0;      // conductivity / (density heat capacity side²)
    double stiffness_per_s = 0;      // no eigenvalue of the conduction is larger
    // In still air and in air that a machine stirs.
    struct Air {
        ColumnLaw column;
        std::vector<float> vapour; // kg/(m² s) that a wet face gives off at 0, 1, ... °C

        Air() = default;
        Air(const Substrate& sheet, const Surroundings& air, double convection_w_m2k);
    };
    Air still, stirred;

    Nodes(const Panel& panel, const Surroundings& air);

    std::size_t at(int i, int j) const {
        return static_cast<std::size_t>(j + 1) * stride + static_cast<std::size_t>(i + 1);
    }
    std::size_t of_cell(int i, int j) const {
        const int b = static_cast<int>(block);
        return at((i + shift_i) / b, (j + shift_j) / b);
    }
    std::size_t of_cell(std::size_t cell) const {
        const auto across = static_cast<std::size_t>(grid.nu);
        return of_cell(static_cast<int>(cell % across), static_cast<int>(cell / across));
    }
    kernels::Plane plane() const { return {east.data(), north.data(), inverse_share.data()}; }
    kernels::Window window(const Box& box) const {
        if (box.i_high < box.i_low) return {};
        return {at(box.i_low, box.j_low), static_cast<std::size_t>(box.i_high - box.i_low + 1),
                static_cast<std::size_t>(box.j_high - box.j_low + 1), stride};
    }
};

PanelHeat::Nodes::Air::Air(const Substrate& sheet, const Surroundings& air, double convection_w_m2k)
    : column(sheet, std::min(air.radiation_w_m2k, air.top_w_m2k) + convection_w_m2k, air.bottom_w_m2k) {
    for (int t = 0; t <= static_cast<int>(boiling_c) + 2; ++t)
        vapour.push_back(
            static_cast<float>(evaporation_kg_m2s(t, air.air_c, air.humidity, convection_w_m2k)));
}

PanelHeat::Nodes::Nodes(const Panel& panel, const Surroundings& air) : grid(panel.grid) {
    const Substrate& sheet = panel.substrate;
    if (!(sheet.thickness_m > 0 && sheet.density_kg_m3 > 0 && sheet.heat_capacity_j_kgk > 0 &&
          sheet.conductivity_w_mk > 0))
        throw std::invalid_argument(
            "the panel's substrate needs a thickness, density, heat capacity and conductivity");
    const double convection = std::max(0.0, air.top_w_m2k - air.radiation_w_m2k);
    still = Air(sheet, air, convection);
    stirred =
        Air(sheet, air,
            mixed_convection_w_m2k(convection, forced_convection_w_m2k(air.air_speed_m_s, air.section_m)));

    block = static_cast<std::size_t>(std::clamp(static_cast<int>(node_m / grid.h_m + 1e-6), 1, 4));
    const int b = static_cast<int>(block);
    int first_i = grid.nu, first_j = grid.nv;
    for (int j = 0; j < grid.nv; ++j)
        for (int i = 0; i < grid.nu; ++i)
            if (panel.inside[grid.index(i, j)])
                first_i = std::min(first_i, i), first_j = std::min(first_j, j);
    shift_i = (b - first_i % b) % b, shift_j = (b - first_j % b) % b;
    nu = (grid.nu - 1 + shift_i) / b + 1, nv = (grid.nv - 1 + shift_j) / b + 1;
    stride = static_cast<std::size_t>(nu) + 2;
    count = stride * (static_cast<std::size_t>(nv) + 2);
    const double side = b * grid.h_m;
    area_m2 = side * side;

    // Area, centre of area (in cells) and film of each node; open cell faces between neighbours.
    std::vector<double> cells(count, 0), x(count, 0), y(count, 0), film(count, 0);
    std::vector<int> faces_east(count, 0), faces_north(count, 0);
    const auto inside = [&](int i, int j) {
        return i < grid.nu && j < grid.nv && panel.inside[grid.index(i, j)] != 0;
    };
    for (int j = 0; j < grid.nv; ++j) {
        for (int i = 0; i < grid.nu; ++i) {
            if (!inside(i, j)) continue;
            const std::size_t cell = grid.index(i, j), n = of_cell(i, j);
            cells[n] += 1, x[n] += i, y[n] += j;
            film[n] += 1e-6 * static_cast<double>(panel.clear_um[cell] + panel.base_um[cell] +
                                                  panel.primer_um[cell] + panel.ecoat_um[cell]);
            if (inside(i + 1, j) && of_cell(i + 1, j) != n) ++faces_east[n];
            if (inside(i, j + 1) && of_cell(i, j + 1) != n) ++faces_north[n];
        }
    }
    for (auto* field : {&east, &north, &share, &inverse_share, &resistance}) field->assign(count, 0.0f);
    std::vector<double> coupled(count, 0);
    for (std::size_t n = 0; n < count; ++n) {
        if (cells[n] == 0) continue;
        share[n] = static_cast<float>(cells[n] / (b * b));
        inverse_share[n] = static_cast<float>(b * b / cells[n]);
        resistance[n] = static_cast<float>(film[n] / cells[n] / air.film_conductivity_w_mk);
        const auto join = [&](std::size_t m, int faces, const std::vector<double>& along,
                              std::vector<float>& face) {
            if (faces == 0) return;
            // Open width over distance, both in cells.
            const double conductance = faces / (along[m] / cells[m] - along[n] / cells[n]);
            face[n] = static_cast<float>(conductance);
            coupled[n] += conductance, coupled[m] += conductance;
        };
        join(n + 1, faces_east[n], x, east);
        join(n + stride, faces_north[n], y, north);
    }
    middle.assign(count, 0);
    std::vector<double> off(count, INFINITY);
    for (int j = 0; j < grid.nv; ++j) {
        for (int i = 0; i < grid.nu; ++i) {
            const std::size_t n = of_cell(i, j);
            if (!inside(i, j)) continue;
            const double distance = std::hypot(i - x[n] / cells[n], j - y[n] / cells[n]);
            if (distance < off[n]) off[n] = distance, middle[n] = grid.index(i, j);
        }
    }
    diffusion_per_s = sheet.conductivity_w_mk / (sheet.density_kg_m3 * sheet.heat_capacity_j_kgk * area_m2);
    // Gershgorin: an eigenvalue is no larger than twice a node's own coefficient.
    for (std::size_t n = 0; n < count; ++n)
        stiffness_per_s = std::max(stiffness_per_s,
                                   2 * coupled[n] * static_cast<double>(inverse_share[n]) * diffusion_per_s);
}

PanelHeat::PanelHeat(const Panel& panel, const Surroundings& surroundings, double step_s)
    : nodes_(std::make_shared<const Nodes>(panel, surroundings)), surroundings_(surroundings),
      step_s_(step_s), box_{nodes_->nu, -1, nodes_->nv, -1} {
    temperature_rise_.assign(nodes_->count * static_cast<std::size_t>(nodes_->still.column.levels()), 0.0f);
    for (auto* field : {&pending_, &flux_, &peak_, &water_}) field->assign(nodes_->count, 0.0f);
}

void PanelHeat::reach(Box box) {
    box_.i_low = std::max(std::min(box_.i_low, box.i_low), 0);
    box_.j_low = std::max(std::min(box_.j_low, box.j_low), 0);
    box_.i_high = std::min(std::max(box_.i_high, box.i_high), nodes_->nu - 1);
    box_.j_high = std::min(std::max(box_.j_high, box.j_high), nodes_->nv - 1);
}

PadBody::PadBody(const Pad& pad)
    : area_m2(pi * pad.radius_m * pad.radius_m), capacity_j_k(1500 * pad.area_density_kg_m2 * area_m2),
      contact_w_m2k(50), radius_m(pad.radius_m) {}

void PanelHeat::mount(const PadBody& pad) { pad_ = pad, pad_rise_k_ = 0; }

void PanelHeat::charge(double water_kg_m2) {
    const double water_kg = water_kg_m2 * pad_.area_m2;
    charged_kg_ += std::max(0.0, water_kg - store_kg_);
    store_kg_ = std::max(store_kg_, water_kg);
}

void PanelHeat::warm(Footprint& f, double friction, double dt_s, Point2 centre, double mean_speed_m_s) {
    const Nodes& nodes = *nodes_;
    const auto across = static_cast<std::size_t>(nodes.grid.nu);
    const int b = static_cast<int>(nodes.block);
    worked_ = true, pad_at_ = centre;
    double flows = 0; // contact area x how much warmer the film is than the pad
    if (pad_.area_m2 > 0)
        flows = f.cell_area_m2 * kernels::over_pad(f.size, f.coverage.data(), f.pressure.data(),
                                                   f.temperature_rise.data(), static_cast<float>(pad_rise_k_),
                                                   f.over_pad.data());
    const auto made = static_cast<float>(friction * dt_s / static_cast<double>(b * b));
    const auto taken = static_cast<float>(-pad_.contact_w_m2k * dt_s / static_cast<double>(b * b));
    for (const Footprint::Row& row : f.rows) {
        const int i = static_cast<int>(row.grid % across) + nodes.shift_i;
        const int j = (static_cast<int>(row.grid / across) + nodes.shift_j) / b;
        const std::size_t offset = static_cast<std::size_t>(i % b);
        float* to = pending_.data() + nodes.at(i / b, j);
        kernels::cells_to_nodes(nodes.block, offset, row.count, f.pressure.data() + row.packed,
                                f.speed.data() + row.packed, made, to);
        if (pad_.area_m2 > 0)
            kernels::cells_to_nodes(nodes.block, offset, row.count, f.coverage.data() + row.packed,
                                    f.over_pad.data() + row.packed, taken, to);
        reach({i / b, (i + static_cast<int>(row.count) - 1) / b, j, j});
    }
    if (pad_.area_m2 <= 0) return;
    // dT/dt = contact x (film - pad) / C; the pad's back and rim lose what air that passes at the face's
    // speed takes.
    const double into_w = pad_.contact_w_m2k * flows;
    into_pad_j_ += into_w * dt_s;
    pad_rise_k_ += into_w * dt_s / pad_.capacity_j_k;
    const double loss =
        surroundings_.radiation_w_m2k + forced_convection_w_m2k(mean_speed_m_s, 2 * pad_.radius_m);
    pad_rise_k_ *= std::exp(-loss * pad_.area_m2 / pad_.capacity_j_k * dt_s);
}

/// The pad leaves its film of water on what it covers, or its share of what it still holds.
void PanelHeat::lay_water() {
    if (store_kg_ <= 0 || pad_.area_m2 <= 0) return;
    const Nodes& nodes = *nodes_;
    const double side = static_cast<double>(nodes.block) * nodes.grid.h_m;
    const auto place = [&](double at, double origin, int shift) { // in nodes
        return (at - origin + (shift + 0.5) * nodes.grid.h_m) / side - 0.5;
    };
    const double i0 = place(pad_at_.x, nodes.grid.x0_m, nodes.shift_i),
                 j0 = place(pad_at_.y, nodes.grid.y0_m, nodes.shift_j), r = pad_.radius_m / side;
    const int j_low = std::max(0, static_cast<int>(std::ceil(j0 - r))),
              j_high = std::min(nodes.nv - 1, static_cast<int>(std::floor(j0 + r)));
    const auto each = [&](const auto& act) {
        for (int j = j_low; j <= j_high; ++j) {
            const double half = std::sqrt(std::max(0.0, r * r - (j - j0) * (j - j0)));
            const int i_low = std::max(0, static_cast<int>(std::ceil(i0 - half))),
                      i_high = std::min(nodes.nu - 1, static_cast<int>(std::floor(i0 + half)));
            for (int i = i_low; i <= i_high; ++i) act(nodes.at(i, j));
        }
    };
    const auto film = static_cast<float>(surroundings_.water_film_kg_m2);
    double wanted_kg = 0;
    each([&](std::size_t n) {
        wanted_kg += nodes.area_m2 * static_cast<double>(nodes.share[n] * std::max(0.0f, film - water_[n]));
    });
    if (wanted_kg <= 0) return;
    const auto share = static_cast<float>(std::min(1.0, store_kg_ / wanted_kg));
    each([&](std::size_t n) {
        if (nodes.share[n] > 0) water_[n] += share * std::max(0.0f, film - water_[n]);
    });
    store_kg_ = std::max(0.0, store_kg_ - wanted_kg);
    wet_ = true;
}

void PanelHeat::warm(std::size_t cell, double heat_j_m2) {
    const Nodes& nodes = *nodes_;
    const std::size_t n = nodes.of_cell(cell);
    pending_[n] += static_cast<float>(heat_j_m2 / static_cast<double>(nodes.block * nodes.block));
    const int i = static_cast<int>(n % nodes.stride) - 1, j = static_cast<int>(n / nodes.stride) - 1;
    reach({i, i, j, j});
}

void PanelHeat::wet(std::size_t cell, double water_kg_m2) {
    const std::size_t n = nodes_->of_cell(cell);
    charged_kg_ += (water_kg_m2 - static_cast<double>(water_[n])) * static_cast<double>(nodes_->share[n]) *
                   nodes_->area_m2;
    water_[n] = static_cast<float>(water_kg_m2);
    wet_ = true;
    const int i = static_cast<int>(n % nodes_->stride) - 1, j = static_cast<int>(n / nodes_->stride) - 1;
    reach({i, i, j, j});
}

void PanelHeat::pass(double dt_s) {
    gathered_s_ += dt_s;
    if (gathered_s_ < step_s_ * (1 - 1e-9)) return;
    const double gathered = gathered_s_;
    gathered_s_ = 0;
    if (box_.i_high < box_.i_low) return; // nothing has been warmed yet

    const kernels::Window window = nodes_->window(box_);
    kernels::take_flux(window, nodes_->inverse_share.data(), static_cast<float>(1 / gathered),
                       pending_.data(), flux_.data());
    const double power_w = over_the_panel(flux_.data());
    into_j_ += gathered * power_w;
    if (worked_) lay_water();
    else if (pad_.area_m2 > 0) // lifted, the pad still turns or lies about: still air
        pad_rise_k_ *= std::exp(-surroundings_.top_w_m2k * pad_.area_m2 / pad_.capacity_j_k * gathered);
    const int steps = static_cast<int>(std::ceil(gathered / longest_step_s - 1e-9));
    for (int k = 0; k < steps; ++k) advance(gathered / steps, power_w);
    worked_ = false;
}

void PanelHeat::advance(double dt_s, double power_w) {
    plane_owed_s_ += dt_s;
    const float* flux = flux_.data();
    if (wet_) {
        power_w -= latent_heat_j_kg * evaporate(dt_s);
        flux = scratch_.net.data();
    }
    // A polymer takes minutes to even out 4 mm: in its plane fewer steps will do.
    const bool slow = nodes_->still.column.levels() > 1;
    if (!slow || plane_owed_s_ >= slow_plane_s) {
        conduct_columns(0.5 * dt_s, flux, power_w);
        conduct_plane(plane_owed_s_);
        plane_owed_s_ = 0;
        conduct_columns(0.5 * dt_s, flux, power_w);
    } else {
        conduct_columns(dt_s, flux, power_w);
    }
    if (wet_) boil();
    const kernels::Window window = nodes_->window(box_);
    hottest_ = kernels::note_peak(window, temperature_rise_.data(), nodes_->resistance.data(), flux_.data(),
                                  peak_.data());
}

/// What evaporates in this step is a flux out of the columns' face. It is taken from where the face stands
/// half the step on, by one step of Newton's method on its slope (the trapezoidal rule, linearised), so that
/// a thin node cannot swing about its wet-bulb temperature; and it is no more than is there.
double PanelHeat::evaporate(double dt_s) {
    const Nodes& nodes = *nodes_;
    for (auto* field : {&scratch_.vapour, &scratch_.net}) field->resize(nodes.count, 0.0f);
    const Nodes::Air& air = worked_ ? nodes.stirred : nodes.still;
    const double heat = air.column.capacity_j_m2k()[0];
    kernels::evaporate(
        nodes.window(box_),
        {air.vapour.data(), static_cast<float>(air.vapour.size() - 2),
         static_cast<float>(surroundings_.air_c), static_cast<float>(latent_heat_j_kg),
         static_cast<float>(0.5 * dt_s * latent_heat_j_kg / heat), static_cast<float>(1 / dt_s)},
        temperature_rise_.data(), flux_.data(), water_.data(), scratch_.vapour.data(), scratch_.net.data());
    const double rate_kg_s = over_the_panel(scratch_.vapour.data());
    evaporated_kg_ += dt_s * rate_kg_s;
    // Nothing goes: as a rule nothing is left. (Air as damp as the face takes nothing up either.)
    if (rate_kg_s <= 0) wet_ = over_the_panel(water_.data()) > 0;
    return rate_kg_s;
}

/// Water on ground hotter than it boils takes what is over as latent heat, as far as it goes.
void PanelHeat::boil() {
    const double capacity = nodes_->still.column.capacity_j_m2k()[0];
    const auto most = static_cast<float>(boiling_c - surroundings_.air_c);
    if (hottest_ < most - 20) return; // no node warms by so much in a step
    const double kg_per_k = capacity / latent_heat_j_kg;
    scratch_.vapour.resize(nodes_->count, 0.0f);
    kernels::boil(nodes_->window(box_), most, static_cast<float>(kg_per_k), temperature_rise_.data(),
                  water_.data(), scratch_.vapour.data());
    evaporated_kg_ += over_the_panel(scratch_.vapour.data());
}

double PanelHeat::over_the_panel(const float* at_nodes) const {
    return nodes_->area_m2 * kernels::weighted_sum(nodes_->window(box_), nodes_->share.data(), at_nodes);
}

void PanelHeat::conduct_columns(double dt_s, const float* flux, double power_w) {
    const ColumnStep step = (worked_ ? nodes_->stirred : nodes_->still).column.step(dt_s);
    const std::size_t levels = step.gain.size();
    lost_j_ += step.lost_per_flux * power_w;
    for (std::size_t l = 0; l < levels; ++l)
        if (step.lost_per_kelvin[l] != 0)
            lost_j_ += step.lost_per_kelvin[l] * over_the_panel(temperature_rise_.data() + l * nodes_->count);
    kernels::columns(nodes_->window(box_), levels, nodes_->count, step.decay.data(), step.gain.data(), flux,
                     temperature_rise_.data());
}

void PanelHeat::conduct_plane(double dt_s) {
    const Nodes& nodes = *nodes_;
    int stages = 2;
    while (chebyshev_reach(stages) < nodes.stiffness_per_s * dt_s) ++stages;
    const ChebyshevStages plan = chebyshev_stages(stages, nodes.diffusion_per_s * dt_s);
    for (auto* field : {&scratch_.first, &scratch_.last, &scratch_.before}) field->resize(nodes.count, 0.0f);

    make_room(stages);
    const kernels::Window window = nodes.window(box_);
    const kernels::Plane plane = nodes.plane();
    for (int l = 0; l < nodes.still.column.levels(); ++l) {
        float* temperature_rise = temperature_rise_.data() + static_cast<std::size_t>(l) * nodes.count;
        float *last = scratch_.last.data(), *before = scratch_.before.data();
        const float* first = scratch_.first.data();
        kernels::conduct(window, plane, temperature_rise, static_cast<float>(nodes.diffusion_per_s * dt_s),
                         scratch_.first.data());
        if (stages == 2) { // then d_1 is a multiple of what is there already, and need not be written
            const kernels::Stage& s = plan.rest.front();
            const auto d1 = static_cast<float>(plan.first);
            kernels::chebyshev_last(window, plane, {s.mu * d1, 0, s.tau * d1, s.gamma}, first, first, first,
                                    temperature_rise);
            continue;
        }
        kernels::start_stages(window, first, static_cast<float>(plan.first), last, before);
        for (std::size_t j = 0; j + 1 < plan.rest.size(); ++j) {
            kernels::chebyshev_stage(window, plane, plan.rest[j], first, last, before);
            std::swap(last, before);
        }
        kernels::chebyshev_last(window, plane, plan.rest.back(), first, last, before, temperature_rise);
    }
}

/// A stage carries heat one node further. Grows the box on each side where warmth is nearer to its rim than
/// the stages to come would carry it.
void PanelHeat::make_room(int stages) {
    const Nodes& nodes = *nodes_;
    const auto warm = [&](int i_low, int i_high, int j_low, int j_high) {
        for (int j = std::max(j_low, box_.j_low); j <= std::min(j_high, box_.j_high); ++j)
            for (int i = std::max(i_low, box_.i_low); i <= std::min(i_high, box_.i_high); ++i)
                if (std::abs(temperature_rise_[nodes.at(i, j)]) > warmed_k) return true;
        return false;
    };
    // Further in than the outermost that many nodes, warmth has room.
    const int depth = stages - 1;
    const Box& b = box_;
    Box wanted = b;
    if (b.i_low > 0 && warm(b.i_low, b.i_low + depth, b.j_low, b.j_high)) wanted.i_low -= stages;
    if (b.i_high < nodes.nu - 1 && warm(b.i_high - depth, b.i_high, b.j_low, b.j_high))
        wanted.i_high += stages;
    if (b.j_low > 0 && warm(b.i_low, b.i_high, b.j_low, b.j_low + depth)) wanted.j_low -= stages;
    if (b.j_high < nodes.nv - 1 && warm(b.i_low, b.i_high, b.j_high - depth, b.j_high))
        wanted.j_high += stages;
    reach(wanted);
}

void PanelHeat::lay_under(Footprint& f) const {
    const Nodes& nodes = *nodes_;
    const auto across = static_cast<std::size_t>(nodes.grid.nu);
    const int b = static_cast<int>(nodes.block);
    for (const Footprint::Row& row : f.rows) {
        const int i = static_cast<int>(row.grid % across) + nodes.shift_i;
        const int j = (static_cast<int>(row.grid / across) + nodes.shift_j) / b;
        const std::size_t first = nodes.at(i / b, j), offset = static_cast<std::size_t>(i % b);
        kernels::nodes_to_cells(nodes.block, offset, row.count, temperature_rise_.data() + first,
                                f.temperature_rise.data() + row.packed);
        kernels::nodes_to_cells(nodes.block, offset, row.count, nodes.resistance.data() + first,
                                f.film_resistance.data() + row.packed);
    }
}

double PanelHeat::sheet_c(std::size_t cell) const {
    return surroundings_.air_c + static_cast<double>(temperature_rise_[nodes_->of_cell(cell)]);
}

double PanelHeat::film_c(std::size_t cell) const {
    const std::size_t n = nodes_->of_cell(cell);
    return surroundings_.air_c + static_cast<double>(temperature_rise_[n] + nodes_->resistance[n] * flux_[n]);
}

double PanelHeat::peak_film_c(std::size_t cell) const {
    return surroundings_.air_c + static_cast<double>(peak_[nodes_->of_cell(cell)]);
}

std::vector<float> PanelHeat::map_c(const std::vector<float>& temperature_rise_at_nodes) const {
    const Nodes& nodes = *nodes_;
    std::vector<float> out(nodes.grid.cells());
    const auto air = static_cast<float>(surroundings_.air_c);
    for (int j = 0; j < nodes.grid.nv; ++j) {
        float* row = out.data() + nodes.grid.index(0, j);
        const auto across = static_cast<std::size_t>(nodes.grid.nu);
        kernels::nodes_to_cells(nodes.block, static_cast<std::size_t>(nodes.shift_i), across,
                                temperature_rise_at_nodes.data() + nodes.of_cell(0, j), row);
        for (std::size_t i = 0; i < across; ++i) row[i] += air;
    }
    return out;
}

/// Rise of the film's outer face at every node.
std::vector<float> PanelHeat::surface() const {
    std::vector<float> out(nodes_->count);
    for (std::size_t n = 0; n < out.size(); ++n)
        out[n] = temperature_rise_[n] + nodes_->resistance[n] * flux_[n];
    return out;
}

std::vector<float> PanelHeat::film_map_c() const { return map_c(surface()); }
std::vector<float> PanelHeat::peak_map_c() const { return map_c(peak_); }

std::vector<float> PanelHeat::film_nodes_c() const {
    std::vector<float> out = surface();
    for (float& value : out) value += static_cast<float>(surroundings_.air_c);
    return out;
}

std::vector<float> PanelHeat::peak_nodes_c() const {
    std::vector<float> out = peak_;
    for (float& value : out) value += static_cast<float>(surroundings_.air_c);
    return out;
}

std::size_t PanelHeat::node_of(std::size_t cell) const { return nodes_->of_cell(cell); }

PanelHeat::Spot PanelHeat::warmest(const std::vector<float>& temperature_rise_at_nodes) const {
    // Nodes off the panel stay at 0, as do all of them before any heat has come in.
    std::size_t most = nodes_->count;
    for (std::size_t n = 0; n < nodes_->count; ++n)
        if (nodes_->share[n] > 0 &&
            (most == nodes_->count || temperature_rise_at_nodes[n] > temperature_rise_at_nodes[most]))
            most = n;
    const std::size_t cell = nodes_->middle[most];
    return {surroundings_.air_c + static_cast<double>(temperature_rise_at_nodes[most]), cell,
            nodes_->grid.centre(cell)};
}

PanelHeat::Spot PanelHeat::hottest() const { return warmest(surface()); }
PanelHeat::Spot PanelHeat::peak() const { return warmest(peak_); }

PanelHeat::Energy PanelHeat::energy() const {
    Energy out{into_j_ + into_pad_j_, lost_j_, 0, evaporated_kg_ * latent_heat_j_kg, into_pad_j_};
    const Eigen::VectorXd& capacity = nodes_->still.column.capacity_j_m2k();
    for (Eigen::Index l = 0; l < capacity.size(); ++l)
        out.stored_j += capacity[l] * over_the_panel(temperature_rise_.data() +
                                                     static_cast<std::size_t>(l) * nodes_->count);
    for (const float joules_m2 : pending_) { // gathered, not moved on yet
        out.made_j += nodes_->area_m2 * static_cast<double>(joules_m2);
        out.stored_j += nodes_->area_m2 * static_cast<double>(joules_m2);
    }
    return out;
}

PanelHeat::Water PanelHeat::water() const {
    return {charged_kg_, store_kg_, over_the_panel(water_.data()), evaporated_kg_};
}

double PanelHeat::water_kg_m2(std::size_t cell) const {
    return static_cast<double>(water_[nodes_->of_cell(cell)]);
}

std::size_t PanelHeat::bytes() const {
    return sizeof(float) *
           (temperature_rise_.size() + pending_.size() + flux_.size() + peak_.size() + water_.size());
}

} // namespace sparecoat::sim
