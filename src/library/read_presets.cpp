#include "formats/nearest.hpp"
#include "formats/read_document.hpp"
#include "library/presets.hpp"
#include <algorithm>
#include <cmath>
#include <fmt/format.h>
#include <limits>

namespace sparecoat::library {

using nlohmann::json;

namespace {

// ---- shared ---------------------------------------------------------------------------------------

/// Refuses a pair of limits the wrong way round.
void hold_to_order(const Values& range, Dim dim) {
    const double min = range.number("min"), max = range.number("max");
    if (min > max)
        range.place().refuse(
            fmt::format("min {} above max {}", print_quantity(min, dim), print_quantity(max, dim)),
            "min up to max");
}

// ---- machine --------------------------------------------------------------------------------------

MachineKind machine_kind(const std::string& motion) {
    if (motion == "rotary") return MachineKind::rotary;
    return motion == "free-spinning" ? MachineKind::free_spinning : MachineKind::gear_driven;
}

Machine fill_machine(const Values& values) {
    Machine machine;
    machine.name = values.text("name");
    machine.kind = machine_kind(values.text("motion"));
    machine.throw_m = values.number("throw");
    const Values speed = values.object("speed");
    hold_to_order(speed, Dim::rotation);
    machine.speed_min_rad_s = speed.number("min");
    machine.speed_max_rad_s = speed.number("max");
    machine.gear_ratio = values.number("gear_ratio");
    if (values.has("bearing")) {
        const Values bearing = values.object("bearing");
        machine.bearing_torque_nm = bearing.number("torque");
        machine.bearing_drag_nms = bearing.number("drag");
        bearing.done();
    }
    machine.spin_inertia_kgm2 = values.number("spin_inertia");
    const Values pads = values.object("pads");
    hold_to_order(pads, Dim::length);
    machine.pad_min_m = pads.number("min");
    machine.pad_max_m = pads.number("max");
    machine.power_w = values.number("power");
    machine.mass_kg = values.number("mass");
    speed.done();
    pads.done();
    return machine;
}

// ---- pad ------------------------------------------------------------------------------------------

FoamLaw fill_foam(const Values& values) {
    FoamLaw foam;
    foam.modulus_pa = values.number("modulus");
    foam.plateau_pa = values.number("plateau");
    foam.densification_strain = values.number("densification");
    foam.poisson = values.number("poisson");
    values.done();
    const double plateau_strain = foam.plateau_pa / foam.modulus_pa;
    if (plateau_strain >= foam.densification_strain)
        values.place().at("plateau").refuse(
            fmt::format("{}, which the foam first reaches at a strain of {:.3g}",
                        print_quantity(foam.plateau_pa, Dim::pressure), plateau_strain),
            fmt::format("below modulus x densification = {}",
                        print_quantity(foam.modulus_pa * foam.densification_strain, Dim::pressure)));
    return foam;
}

RimShape fill_rim(const Values& values) {
    RimShape rim;
    const std::string shape = values.text("shape");
    rim.kind = shape == "rounded"   ? RimKind::rounded
               : shape == "conical" ? RimKind::conical
               : shape == "even"    ? RimKind::even
                                    : RimKind::square;
    if (rim.kind == RimKind::rounded || rim.kind == RimKind::conical)
        rim.width_m = values.number("width"), rim.height_m = values.number("height");
    values.done();
    return rim;
}

/// A diameter is part of a pad's id, so it has to be a whole number of millimetres, and there only once.
void hold_to_id(double diameter_m, const Values& size, const std::vector<Pad>& before) {
    const Place place = size.place().at("diameter");
    const double diameter_mm = diameter_m / mm;
    if (std::abs(diameter_mm - std::round(diameter_mm)) > 1e-6)
        place.refuse(print_quantity(diameter_m, Dim::length), "a whole number of millimetres");
    if (std::ranges::any_of(before,
                            [&](const Pad& pad) { return std::abs(2 * pad.radius_m - diameter_m) < 1e-9; }))
        place.refuse(fmt::format("{} a second time", print_quantity(diameter_m, Dim::length)),
                     "each diameter once");
}

std::vector<Pad> fill_pads(const Values& values) {
    Pad pad;
    pad.name = values.text("name");
    pad.material = values.text("material");
    pad.foam = fill_foam(values.object("foam"));
    pad.loss_factor = values.number("loss_factor");
    pad.friction = values.number("friction");
    pad.cut_factor = values.number("cut_factor");
    pad.capacity_m = values.number("capacity");
    pad.area_density_kg_m2 = values.number("area_density");
    pad.rim = values.has("rim") ? fill_rim(values.object("rim")) : RimShape{RimKind::square};
    values.has("provenance"); // for people
    std::vector<Pad> pads;
    for (const Values& size : values.objects("sizes")) {
        const double diameter_m = size.number("diameter");
        hold_to_id(diameter_m, size, pads);
        pad.radius_m = diameter_m / 2;
        pad.thickness_m = size.number("thickness");
        pad.plate_radius_m = size.number("plate", diameter_m) / 2;
        if (pad.plate_radius_m > pad.radius_m)
            size.place().at("plate").refuse(
                print_quantity(2 * pad.plate_radius_m, Dim::length),
                fmt::format("no wider than the pad, {}", print_quantity(diameter_m, Dim::length)));
        if (pad.rim.width_m > pad.radius_m)
            values.place().at("rim").at("width").refuse(
                print_quantity(pad.rim.width_m, Dim::length),
                fmt::format("within the pad's radius, {}", print_quantity(pad.radius_m, Dim::length)));
        size.done();
        pads.push_back(pad);
    }
    return pads;
}

// ---- liquid, paint, substrate ---------------------------------------------------------------------

Liquid fill_liquid(const Values& values) {
    Liquid liquid;
    liquid.name = values.text("name");
    liquid.paper = values.text("type") == "paper";
    const Values abrasive = values.object("abrasive");
    liquid.abrasive_start_m = abrasive.number("start");
    liquid.abrasive_end_m = abrasive.number("end", liquid.abrasive_start_m);
    abrasive.done();
    if (liquid.abrasive_end_m > liquid.abrasive_start_m)
        abrasive.place().at("end").refuse(
            fmt::format("{}, coarser than the start", print_quantity(liquid.abrasive_end_m, Dim::length)),
            fmt::format("up to start, {}", print_quantity(liquid.abrasive_start_m, Dim::length)));
    liquid.breakdown_j_m2 = values.number("breakdown");
    liquid.working_time_s = values.number("working_time");
    liquid.cut_per_size_pa_m = values.number("cut_per_size");
    liquid.friction_factor = values.number("friction_factor");
    liquid.water_kg_m2 = values.number("water", 0);
    liquid.pressure_exponent = values.number("pressure_exponent", 1);
    liquid.speed_exponent = values.number("speed_exponent", 1);
    liquid.pressure_exponent_sd = values.number("pressure_exponent_sd", liquid.pressure_exponent_sd);
    liquid.speed_exponent_sd = values.number("speed_exponent_sd", liquid.speed_exponent_sd);
    values.has("provenance"); // for people
    return liquid;
}

Paint fill_paint(const Values& values) {
    Paint paint;
    paint.name = values.text("name");
    paint.clear_m = values.number("clear");
    paint.base_m = values.number("base");
    paint.primer_m = values.number("primer");
    paint.ecoat_m = values.number("ecoat");
    const Values thinning = values.object("thinning");
    paint.thinning = thinning.number("share");
    paint.thinning_length_m = thinning.number("length");
    thinning.done();
    paint.softness = values.number("softness");
    paint.softness_sd = values.number("softness_sd");
    paint.spread = values.number("spread");
    if (values.has("softening")) {
        const Values softening = values.object("softening");
        paint.softening = {softening.number("from"), softening.number("doubling")};
        softening.done();
    }
    return paint;
}

Substrate fill_substrate(const Values& values) {
    Substrate substrate;
    substrate.name = values.text("name");
    substrate.thickness_m = values.number("thickness");
    substrate.density_kg_m3 = values.number("density");
    substrate.heat_capacity_j_kgk = values.number("heat_capacity");
    substrate.conductivity_w_mk = values.number("conductivity");
    substrate.polymer = values.flag("polymer");
    return substrate;
}

// ---- panel ----------------------------------------------------------------------------------------

/// @param loop_name for the sides with no name of their own; empty: they stay without
Loop fill_loop(const Values& values, const std::string& loop_name) {
    Loop loop;
    for (const Values& corner : values.objects("corners")) {
        loop.push_back({corner.point("at"), corner.number("radius"), corner.text("edge", loop_name)});
        corner.done();
    }
    return loop;
}

Loop fill_outline(const Values& values) {
    Loop loop;
    for (const Values& corner : values.objects("outline")) {
        const std::string unnamed = fmt::format("edge {}", loop.size() + 1);
        loop.push_back({corner.point("at"), corner.number("radius"), corner.text("edge", unnamed)});
        corner.done();
    }
    return loop;
}

/// A crown's radius is 0 for flat; one of a few millimetres is a mistake of unit.
double crown_radius(const Values& crown, const std::string& key) {
    constexpr double tightest_m = 0.1;
    const double radius_m = crown.number(key);
    if (radius_m != 0 && std::abs(radius_m) < tightest_m)
        crown.place().at(key).refuse(
            print_quantity(radius_m, Dim::length),
            fmt::format("0 for flat, or {} or more either way", print_quantity(tightest_m, Dim::length)));
    return radius_m;
}

BodyLine fill_body_line(const Values& values) {
    BodyLine line;
    line.name = values.text("name");
    line.points = values.points("points");
    line.height_m = values.number("height");
    line.crest_radius_m = values.number("crest_radius");
    line.flank_m = values.number("flank");
    line.end_fade_m = values.number("end_fade");
    values.done();
    return line;
}

Recess fill_recess(const Values& values) {
    Recess recess;
    recess.name = values.text("name");
    recess.loop = fill_loop(values, recess.name);
    recess.depth_m = values.number("depth");
    recess.wall_m = values.number("wall");
    values.done();
    return recess;
}

std::vector<std::string> edge_names(const Features& features) {
    std::vector<std::string> names;
    const auto add = [&names](const Loop& loop) {
        for (const Corner& corner : loop)
            if (!corner.edge.empty() && std::ranges::find(names, corner.edge) == names.end())
                names.push_back(corner.edge);
    };
    add(features.outline);
    for (const Loop& hole : features.holes) add(hole);
    return names;
}

RolledEdge fill_rolled_edge(const Values& values, const std::vector<std::string>& edges) {
    RolledEdge rolled;
    rolled.edge = values.text("edge");
    rolled.radius_m = values.number("radius");
    rolled.turn_rad = values.number("turn");
    values.done();
    if (std::ranges::find(edges, rolled.edge) == edges.end())
        values.place().at("edge").refuse(fmt::format("no edge \"{}\"", rolled.edge),
                                         suggestion(rolled.edge, edges, "edges"));
    return rolled;
}

Features fill_features(const Values& values) {
    Features features;
    features.outline = fill_outline(values);
    for (const Values& hole : values.objects("holes")) {
        features.holes.push_back(fill_loop(hole, hole.text("name")));
        hole.done();
    }
    if (values.has("crown")) {
        const Values crown = values.object("crown");
        features.radius_u_m = crown_radius(crown, "u");
        features.radius_v_m = crown_radius(crown, "v");
        crown.done();
    }
    for (const Values& line : values.objects("body_lines"))
        features.body_lines.push_back(fill_body_line(line));
    for (const Values& recess : values.objects("recesses")) features.recesses.push_back(fill_recess(recess));
    const std::vector<std::string> edges = edge_names(features);
    for (const Values& rolled : values.objects("rolled_edges"))
        features.rolled_edges.push_back(fill_rolled_edge(rolled, edges));
    return features;
}

using FindAttached = std::function<AttachedFile(const std::string& written)>;

/// A file that a panel names, which has to exist.
AttachedFile shape_file(const Values& values, const FindAttached& find) {
    AttachedFile file = find(values.text("file"));
    if (!file.there)
        values.place().at("file").refuse(fmt::format("no file \"{}\"", file.path.string()),
                                         "a file, by its path from this file's folder");
    return file;
}

PanelSpec fill_panel(const Values& values, const FindAttached& find) {
    PanelSpec spec;
    spec.name = values.text("name");
    spec.substrate = reference_in(values, "substrate");
    if (values.has("height_map")) {
        const Values map = values.object("height_map");
        AttachedFile file = shape_file(map, find);
        spec.shape = HeightMap{std::move(file.path), map.number("pixel"), map.number("full_scale"),
                               std::move(file.bytes)};
        map.done();
    } else if (values.has("mesh")) {
        const Values mesh = values.object("mesh");
        AttachedFile file = shape_file(mesh, find);
        spec.shape = Mesh{std::move(file.path), mesh.number("unit"), std::move(file.bytes)};
        mesh.done();
    } else {
        spec.shape = fill_features(values);
    }
    return spec;
}

// ---- technique ------------------------------------------------------------------------------------

Pattern pattern_of(const std::string& word) {
    if (word == "raster") return Pattern::raster;
    if (word == "strips") return Pattern::strips;
    return word == "spiral" ? Pattern::spiral : Pattern::line;
}

/// One length for all edges, or an object with some edges' own and the others' under "all".
void fill_by_edge(const json& value, double& everywhere_m, std::map<std::string, double>& by_edge_m) {
    if (value.is_number()) {
        everywhere_m = value.get<double>();
        return;
    }
    for (const auto& [edge, length] : value.items()) {
        if (edge == "all") everywhere_m = length.get<double>();
        else by_edge_m[edge] = length.get<double>();
    }
}

double hand_stiffness(const json& value) {
    if (value == "level") return 0;
    if (value == "locked") return std::numeric_limits<double>::infinity();
    return value.get<double>();
}

HandVariation fill_hand(const Values& values) {
    HandVariation hand;
    hand.force = values.number("force");
    hand.arm_speed = values.number("arm_speed");
    hand.tilt_rad = values.number("tilt");
    hand.spacing_m = values.number("spacing");
    hand.correlation_s = values.number("correlation");
    values.done();
    return hand;
}

void fill_where(const Values& values, Technique& technique) {
    if (values.has("section")) {
        const Values section = values.object("section");
        if (section.has("centre")) technique.section_centre = section.point("centre");
        technique.section_size = section.point("size");
        section.done();
    }
    if (values.has("line")) {
        const Values line = values.object("line");
        technique.line_from = line.point("from");
        technique.line_to = line.point("to");
        line.done();
        if (norm(technique.line_to - technique.line_from) == 0)
            line.place().refuse("a line that ends where it starts", "two different points");
    }
}

StripsAlong fill_strips(const Values& values) {
    StripsAlong strips;
    strips.along = values.text("along");
    strips.at_m = values.raw("at").get<std::vector<double>>();
    const std::string side = values.text("side");
    if (side == "inside") strips.side = StripSide::inside;
    if (side == "outside") strips.side = StripSide::outside;
    strips.clear_of_m = values.number("clear_of");
    values.done();
    return strips;
}

Technique fill_technique(const Values& values) {
    Technique technique;
    technique.name = values.text("name");
    technique.note = values.text("note");
    technique.machine = reference_in(values, "machine");
    technique.pad = reference_in(values, "pad");
    technique.liquid = reference_in(values, "liquid");
    technique.pattern = pattern_of(values.text("pattern"));
    technique.force_n = values.number("force");
    technique.speed_rad_s = values.number("speed");
    technique.arm_speed_m_s = values.number("arm_speed");
    technique.arm_acceleration_m_s2 = values.number("arm_acceleration");
    technique.overlap = values.number("overlap", technique.overlap);
    technique.passes = values.whole("passes");
    technique.crossed = values.flag("crossed", technique.crossed);
    fill_by_edge(values.raw("hold_back"), technique.hold_back_m, technique.hold_back_edge_m);
    fill_by_edge(values.raw("tape"), technique.tape_m, technique.tape_edge_m);
    technique.tilt_rad = values.number("tilt");
    technique.tilt_toward_rad = values.number("tilt_toward");
    technique.hand_stiffness_nm_rad = hand_stiffness(values.raw("hand_stiffness"));
    fill_where(values, technique);
    for (const Values& strips : values.objects("strips")) technique.strips.push_back(fill_strips(strips));
    technique.charge_every_m = values.number("charge_every", technique.charge_every_m);
    if (values.has("recharge_passes")) technique.recharge_passes = values.whole("recharge_passes");
    if (values.has("hand")) technique.hand = fill_hand(values.object("hand"));
    return technique;
}

// ---- defects --------------------------------------------------------------------------------------

template <class All> auto named(const All& all, const std::string& word) {
    return *std::ranges::find_if(all, [&](const auto& one) { return name_of(one) == word; });
}

MarkPopulation fill_marks(const Values& values) {
    Described words;
    words.kind = named(all_mark_kinds, values.text("kind"));
    words.visible = named(all_visible, values.text("visible"));
    words.fingernail = values.flag("fingernail");
    MarkPopulation marks;
    try {
        marks = population_of(words);
    } catch (const InputError& error) {
        values.place().at("fingernail").refuse(error.found(), error.allowed());
    }
    marks.depth_um = values.number("depth", marks.depth_um * 1e-6) * 1e6;
    marks.depth_sd = values.number("depth_sd", marks.depth_sd);
    marks.width_m = values.number("width", marks.width_m);
    if (made_of_lines(marks.kind)) {
        const double metres = values.number("length_per_area", marks.length_per_area());
        marks.length_m = values.number("length", marks.length_m);
        marks.per_m2 = metres / marks.length_m;
    } else {
        marks.per_m2 = values.number("per_area", marks.per_m2);
    }
    if (values.has("direction")) marks.direction_rad = values.number("direction");
    if (values.has("region")) marks.region = values.points("region");
    values.done();
    return marks;
}

Defects fill_defects(const Values& values) {
    Defects defects;
    defects.name = values.text("name");
    for (const Values& marks : values.objects("marks")) defects.marks.push_back(fill_marks(marks));
    return defects;
}

} // namespace

Machine read_machine(const json& document, const std::string& file) {
    return read_document(PresetKind::machine, document, file, fill_machine);
}
std::vector<Pad> read_pads(const json& document, const std::string& file) {
    return read_document(PresetKind::pad, document, file, fill_pads);
}
Liquid read_liquid(const json& document, const std::string& file) {
    return read_document(PresetKind::liquid, document, file, fill_liquid);
}
Paint read_paint(const json& document, const std::string& file) {
    return read_document(PresetKind::paint, document, file, fill_paint);
}
Substrate read_substrate(const json& document, const std::string& file) {
    return read_document(PresetKind::substrate, document, file, fill_substrate);
}
PanelSpec read_panel(const json& document, const std::string& file) {
    return read_panel(document, file,
                      [&](const std::string& written) { return attached_to_file(file, written); });
}
PanelSpec read_panel(const json& document, const std::string& file, const FindAttached& find) {
    return read_document(PresetKind::panel, document, file,
                         [&](const Values& values) { return fill_panel(values, find); });
}
Technique read_technique(const json& document, const std::string& file) {
    return read_document(PresetKind::technique, document, file, fill_technique);
}
Defects read_defects(const json& document, const std::string& file) {
    return read_document(PresetKind::defects, document, file, fill_defects);
}

} // namespace sparecoat::library
