// Forms of what is worked with and on: machines, pads, liquids, paints, substrates, panels.
#include "finish/described.hpp"
#include "formats/kind_forms.hpp"
#include "formats/kinds.hpp"
#include <nlohmann/json.hpp>

namespace sparecoat::formats {

using namespace form;

namespace {

/// Where a preset's fitted values come from. Nothing in it is used; it is there to be read.
Field provenance() {
    const FormPtr any_number = number("", -1e12, 1e12);
    return optional("provenance",
                    object({
                        needed("measurements", text("file name"), "that the values were fitted to"),
                        needed("sha256", text("64 hexadecimal digits"), "of that file"),
                        optional("day", text("date"), nullptr, "of the fit, as it was given"),
                        needed("rows", whole(1, 1000), "measurements in it"),
                        needed("from", text("name"), "of the preset that the rest was taken over from"),
                        needed("fitted",
                               list(object({
                                        needed("what", text("text"), "which value, and its unit"),
                                        needed("value", any_number, "as fitted"),
                                        needed("low", any_number, "5th percentile"),
                                        needed("high", any_number, "95th percentile"),
                                    }),
                                    1),
                               "values that the measurements gave"),
                        optional("held",
                                 list(object({
                                          needed("what", text("text"), "which value"),
                                          needed("why", text("text"), "it was not fitted"),
                                      }),
                                      1),
                                 nullptr, "values that stayed the preset's"),
                        needed("chi_square", number("", 0, 1e12), "of the fit"),
                        needed("degrees", whole(0, 1000), "of freedom"),
                    }),
                    nullptr, "where fitted values come from; written by `fit`, not used");
}

} // namespace

FormPtr machine_form() {
    const std::vector<std::string> orbital{"free-spinning", "gear-driven"};
    return preset(
        PresetKind::machine,
        {
            needed("motion", choice({"rotary", "free-spinning", "gear-driven"}), "how the pad is driven"),
            needed("throw", quantity(Dim::length, "1 mm", "50 mm"), "diameter of the orbit")
                .only_where("motion", orbital),
            needed("speed",
                   object({
                       needed("min", quantity(Dim::rotation, "100/min", "20000/min"), "slowest setting"),
                       needed("max", quantity(Dim::rotation, "100/min", "20000/min"), "fastest setting"),
                   }),
                   "of the driven shaft: the spindle of a rotary, the orbit of the others"),
            needed("gear_ratio", number("", -1, 1), "pad turns per orbit; negative turns against the orbit")
                .only_where("motion", {"gear-driven"}),
            needed("bearing",
                   object({
                       needed("torque", quantity(Dim::torque, "0 N m", "5 N m"),
                              "what it passes to the pad at no slip"),
                       needed("drag", quantity(Dim::torque_per_rate, "0 N m s/rad", "0.01 N m s/rad"),
                              "and more per rate of slip"),
                   }),
                   "between the orbiting shaft and the pad's plate")
                .only_where("motion", {"free-spinning"}),
            needed("spin_inertia", quantity(Dim::inertia, "0.01 kg cm²", "1000 kg cm²"),
                   "of the backing plate about its own axis")
                .only_where("motion", {"free-spinning"}),
            needed("pads",
                   object({
                       needed("min", quantity(Dim::length, "20 mm", "300 mm"), "smallest"),
                       needed("max", quantity(Dim::length, "20 mm", "300 mm"), "largest"),
                   }),
                   "pad diameters that fit"),
            needed("power", quantity(Dim::power, "10 W", "5 kW"), "rated input"),
            needed("mass", quantity(Dim::mass, "100 g", "20 kg"), "of the machine"),
        });
}

FormPtr pad_form() {
    return preset(
        PresetKind::pad,
        {
            needed("material", text("text"), "of the working layer: \"wool\", \"firm foam\""),
            needed(
                "sizes",
                list(object({
                         needed("diameter", quantity(Dim::length, "20 mm", "300 mm"),
                                "of the working face, whole millimetres"),
                         needed("thickness", quantity(Dim::length, "1 mm", "100 mm"), "of the working layer"),
                         optional("plate", quantity(Dim::length, "10 mm", "300 mm"), nullptr,
                                  "diameter of the backing plate; as wide as the pad where left out"),
                     }),
                     1),
                "one entry for each size it is made in"),
            optional(
                "rim",
                object({
                    needed("shape", choice({"square", "rounded", "conical", "even"}),
                           "cut straight down; a quarter of an ellipse; a straight slope; or, as no real pad "
                           "does, pressing evenly out to the rim"),
                    needed("width", quantity(Dim::length, "0.1 mm", "50 mm"),
                           "of what is taken off the face, inwards from the rim")
                        .only_where("shape", {"rounded", "conical"}),
                    needed("height", quantity(Dim::length, "0.1 mm", "50 mm"),
                           "of the rim over the plane of the face")
                        .only_where("shape", {"rounded", "conical"}),
                }),
                nullptr, "how the face ends; square where left out"),
            needed("foam",
                   object({
                       needed("modulus", quantity(Dim::pressure, "1 kPa", "10 MPa"),
                              "slope of the stress-strain curve at no strain"),
                       needed("plateau", quantity(Dim::pressure, "0.1 kPa", "1 MPa"),
                              "stress at which the cells fold"),
                       needed("densification", quantity(Dim::none, "0.2", "0.95"),
                              "strain at which the cell walls meet"),
                       needed("poisson", quantity(Dim::none, "0", "0.49"), "Poisson's ratio in compression"),
                   }),
                   "compression law of the working layer"),
            needed("loss_factor", quantity(Dim::none, "0", "1.5"),
                   "energy lost per cycle / (2 pi x peak energy stored)"),
            needed("friction", quantity(Dim::none, "0.01", "1.5"), "coefficient on a wet film"),
            needed("cut_factor", quantity(Dim::none, "0.01", "20"), "multiplies the liquid's cut"),
            needed("capacity", quantity(Dim::length, "0.1 µm", "1 mm"),
                   "film removed per pad area at which an uncleaned pad cuts half as fast"),
            needed("area_density", quantity(Dim::area_density, "0.05 kg/m²", "20 kg/m²"),
                   "of pad and backing cloth, for its inertia"),
            provenance(),
        });
}

FormPtr liquid_form() {
    return preset(
        PresetKind::liquid,
        {
            needed("type", choice({"liquid", "paper"}), "a liquid, or a coated paper"),
            needed("abrasive",
                   object({
                       needed("start", quantity(Dim::length, "10 nm", "200 µm"), "fresh"),
                       optional("end", quantity(Dim::length, "10 nm", "200 µm"), nullptr,
                                "broken down; as `start` where left out"),
                   }),
                   "median grain size"),
            needed("breakdown", quantity(Dim::energy_area, "100 J/m²", "100000 kJ/m²"),
                   "friction work per pad area that takes the size 63 % of the way from start to end")
                .only_where("type", {"liquid"}),
            needed("working_time", quantity(Dim::time, "5 s", "2 h"), "dries out after this")
                .only_where("type", {"liquid"}),
            needed("cut_per_size", number("1/(Pa m)", 1e-9, 1e-2),
                   "Preston coefficient per metre of grain size, on typical paint"),
            optional("pressure_exponent", quantity(Dim::none, "0.3", "1.5"), 1.0,
                     "of removal: 1 is Preston's law, at 2.5 kPa all cut alike"),
            optional("speed_exponent", quantity(Dim::none, "0.3", "1.5"), 1.0,
                     "of removal: 1 is Preston's law, at 3 m/s all cut alike"),
            optional("pressure_exponent_sd", quantity(Dim::none, "0", "0.5"), 0.15,
                     "standard deviation of that exponent"),
            optional("speed_exponent_sd", quantity(Dim::none, "0", "0.5"), 0.15,
                     "standard deviation of that exponent"),
            optional("water", quantity(Dim::area_density, "0 g/m²", "20 kg/m²"), "0 g/m²",
                     "in a charge, per area of the pad's face: what evaporates and cools the panel"),
            optional("friction_factor", quantity(Dim::none, "0.1", "10"), 1.0,
                     "multiplies the pad's friction"),
            provenance(),
        });
}

FormPtr paint_form() {
    const FormPtr layer = quantity(Dim::length, "0 µm", "2 mm");
    return preset(
        PresetKind::paint,
        {
            needed("clear", quantity(Dim::length, "1 µm", "2 mm"), "clear coat, far from edges"),
            needed("base", layer, "base coat"),
            needed("primer", layer, "primer"),
            needed("ecoat", layer, "electro-coat"),
            needed("thinning",
                   object({
                       needed("share", quantity(Dim::none, "0 %", "95 %"),
                              "of every layer missing right at the edge"),
                       needed("length", quantity(Dim::length, "0.1 mm", "200 mm"),
                              "distance over which that falls to 37 %"),
                   }),
                   "towards sharp edges and crests"),
            needed("softness", quantity(Dim::none, "0.05", "20"), "multiplies the cut; 1 is typical paint"),
            optional("softness_sd", quantity(Dim::none, "1 %", "100 %"), "25 %",
                     "how far one vehicle's may lie from it, before any test section: standard deviation of "
                     "its logarithm"),
            optional("spread", quantity(Dim::none, "1 %", "60 %"), "10 %",
                     "standard deviation of a panel's film against these layers, before any gauge reading"),
            optional("softening",
                     object({
                         needed("from", quantity(Dim::temperature, "0 °C", "200 °C"),
                                "below it warmth changes nothing"),
                         needed("doubling", quantity(Dim::temperature_difference, "1 K", "1000 K"),
                                "above it the cut doubles every so many kelvin, up to four times"),
                     }),
                     {{"from", "60 °C"}, {"doubling", "20 K"}}, "how the film cuts faster where it is warm"),
        });
}

FormPtr substrate_form() {
    return preset(
        PresetKind::substrate,
        {
            needed("thickness", quantity(Dim::length, "0.2 mm", "20 mm"), "of the sheet"),
            needed("density", quantity(Dim::density, "500 kg/m³", "20000 kg/m³"), "of its material"),
            needed("heat_capacity", quantity(Dim::heat_capacity, "100 J/(kg K)", "5000 J/(kg K)"),
                   "of its material"),
            needed("conductivity", quantity(Dim::conductivity, "0.05 W/(m K)", "500 W/(m K)"),
                   "of its material"),
            needed("polymer", flag(), "a plastic, which has to be solved through its thickness"),
        });
}

namespace {

/// Corners of a loop. A side with no name of its own takes the loop's, or "edge 1", "edge 2" in the outline.
FormPtr corners(const std::string& unnamed) {
    return list(
        object({
            needed("at", point(panel_limit_below, panel_limit), "where the sides meet, before rounding"),
            optional("radius", quantity(Dim::length, "0 mm", "5 m"), "0 mm", "of the rounded corner"),
            optional("edge", text("name"), nullptr,
                     "of the side that runs from here to the next corner; " + unnamed),
        }),
        3);
}

} // namespace

FormPtr panel_form() {
    const FormPtr line = list(point(panel_limit_below, panel_limit), 2);
    const FormPtr crown_radius = quantity(Dim::length, "-10000 m", "10000 m");
    return preset(
        PresetKind::panel,
        {
            needed("substrate", text("name or path"), "of the sheet"),
            optional("outline", corners("else edge 1, edge 2, ..."), nullptr,
                     "corners of the panel in order"),
            optional("holes",
                     list(object({
                              optional("name", text("name"), nullptr, "of the hole"),
                              needed("corners", corners("else the hole's name"), "in order"),
                          }),
                          1),
                     nullptr, "cut-outs")
                .only_with("outline"),
            optional("crown",
                     object({
                         optional("u", crown_radius, 0, "along u"),
                         optional("v", crown_radius, 0, "along v"),
                     }),
                     nullptr, "radii of curvature; 0 is flat, negative is hollow")
                .only_with("outline"),
            optional(
                "body_lines",
                list(object({
                         needed("name", text("name"), "of the line"),
                         needed("points", line, "along its crest"),
                         needed("height", quantity(Dim::length, "0.1 mm", "100 mm"),
                                "of the crest over the panel"),
                         needed("crest_radius", quantity(Dim::length, "0.2 mm", "1 m"), "of its rounded top"),
                         optional("flank", quantity(Dim::length, "1 mm", "1 m"), "40 mm",
                                  "from crest to foot, on each side"),
                         optional("end_fade", quantity(Dim::length, "0 mm", "2 m"), "0 mm",
                                  "over which it dies out at both ends"),
                     }),
                     1),
                nullptr, "pressed crests")
                .only_with("outline"),
            optional("recesses",
                     list(object({
                              needed("name", text("name"), "of the recess"),
                              needed("corners", corners("else the recess's name"), "in order"),
                              needed("depth", quantity(Dim::length, "0.1 mm", "200 mm"),
                                     "of its floor below the panel"),
                              optional("wall", quantity(Dim::length, "1 mm", "500 mm"), "10 mm",
                                       "width over which it falls to its floor"),
                          }),
                          1),
                     nullptr, "dished-in areas")
                .only_with("outline"),
            optional("rolled_edges",
                     list(object({
                              needed("edge", text("name"), "of a side of the outline or of a hole"),
                              needed("radius", quantity(Dim::length, "0.5 mm", "1 m"), "of the roll"),
                              optional("turn", quantity(Dim::angle, "1 deg", "90 deg"), "40 deg",
                                       "how far the sheet turns away at the edge"),
                          }),
                          1),
                     nullptr, "sides where the sheet rolls away from the pad")
                .only_with("outline"),
            optional("height_map",
                     object({
                         needed("file", text("path"),
                                "of a 16-bit grey PNG, from this file's folder; black is no panel"),
                         needed("pixel", quantity(Dim::length, "0.05 mm", "50 mm"), "side of a pixel"),
                         needed("full_scale", quantity(Dim::length, "0.01 mm", "5 m"), "height of white"),
                     }),
                     nullptr, "shape from an image"),
            optional("mesh",
                     object({
                         needed("file", text("path"), "of an OBJ or STL file, from this file's folder"),
                         optional("unit", quantity(Dim::length, "1 µm", "10 m"), "1 mm",
                                  "what a coordinate of 1 means"),
                     }),
                     nullptr, "shape from a triangle mesh"),
        },
        {"outline", "height_map", "mesh"});
}

} // namespace sparecoat::formats
