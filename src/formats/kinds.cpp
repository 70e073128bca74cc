#include "formats/kinds.hpp"
#include "finish/described.hpp"
#include "formats/form.hpp"
#include "formats/nearest.hpp"
#include "units/error.hpp"
#include <array>
#include <cmath>
#include <fmt/format.h>
#include <nlohmann/json.hpp>
#include <optional>
#include <stdexcept>
#include <utility>

namespace sparecoat::formats {

using namespace form;

namespace {

struct KindNames {
    PresetKind kind;
    std::string_view name, folder;
};
constexpr std::array kinds{
    KindNames{PresetKind::machine, "machine", "machines"},
    KindNames{PresetKind::pad, "pad", "pads"},
    KindNames{PresetKind::liquid, "liquid", "liquids"},
    KindNames{PresetKind::paint, "paint", "paints"},
    KindNames{PresetKind::substrate, "substrate", "substrates"},
    KindNames{PresetKind::panel, "panel", "panels"},
    KindNames{PresetKind::technique, "technique", "techniques"},
    KindNames{PresetKind::lesson, "lesson", "lessons"},
    KindNames{PresetKind::defects, "defects", "defects"},
    KindNames{PresetKind::kit, "kit", "kits"},
    KindNames{PresetKind::record, "record", "records"},
    KindNames{PresetKind::shop, "shop", "shops"},
    KindNames{PresetKind::sweep, "sweep", "sweeps"},
};

const KindNames& names(PresetKind kind) { return kinds[static_cast<std::size_t>(kind)]; }

/// The keys of a kind after those that every kind has.
FormPtr preset(PresetKind kind, std::vector<Field> own, std::vector<std::string> exactly_one = {}) {
    std::vector<Field> fields{
        optional("$schema", text("path or address"), nullptr,
                 "for editors that complete and check by schema; not used"),
        needed("kind", choice({std::string(name_of(kind))}), "what the file describes"),
        needed("name", text("text"), "for lists and reports"),
        optional("note", text("text"), nullptr, "where the values come from, what to watch"),
    };
    fields.insert(fields.end(), own.begin(), own.end());
    return object(std::move(fields), std::move(exactly_one));
}

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
                     }),
                     1),
                "one entry for each size it is made in"),
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

constexpr const char* panel_limit = "10 m";
constexpr const char* panel_limit_below = "-10 m";

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

FormPtr technique_form() {
    const FormPtr hold_back = quantity(Dim::length, "-300 mm", "1 m");
    const FormPtr tape = quantity(Dim::length, "0 mm", "500 mm");
    const FormPtr stiffness = quantity(Dim::rotary_stiffness, "0 N m/rad", "10000 N m/rad");
    const FormPtr relative_sd = quantity(Dim::none, "0 %", "100 %");
    return preset(
        PresetKind::technique,
        {
            needed("machine", text("name or path"), "of the machine"),
            needed("pad", text("name or path"), "of the pad, with its size: \"firm-foam-150\""),
            needed("liquid", text("name or path"), "of the liquid or paper"),
            optional("pattern", choice({"raster", "spiral", "line"}), "raster", "of the arm"),
            needed("force", quantity(Dim::force, "1 N", "500 N"),
                   "on the pad, with the machine's weight as it bears"),
            needed("speed", quantity(Dim::rotation, "100/min", "20000/min"),
                   "of the driven shaft, within the machine's range"),
            needed("arm_speed", quantity(Dim::speed, "1 mm/s", "2 m/s"),
                   "of the pad's centre along its lines"),
            optional("arm_acceleration", quantity(Dim::acceleration, "0.05 m/s²", "50 m/s²"), "1 m/s²",
                     "at turn-rounds"),
            optional("overlap", quantity(Dim::none, "0 %", "95 %"), "50 %",
                     "of the pad's width that the next line covers again"),
            optional("passes", whole(1, 1000), 4,
                     "section passes, each covering the section once; for a line, runs along it"),
            optional("crossed", flag(), true, "alternate passes at right angles"),
            optional(
                "hold_back",
                either({hold_back,
                        map(hold_back,
                            "names of edges, body lines, rolls or rims, and \"all\" for the other edges,")}),
                "0 mm", "how far the pad's rim stays inside the edges; negative hangs over"),
            optional(
                "tape",
                either({tape,
                        map(tape,
                            "names of edges, body lines, rolls or rims, and \"all\" for the other edges,")}),
                "0 mm",
                "width of the masking tape along the edges: the pad may run over it, the paint under it is "
                "kept"),
            optional("tilt", quantity(Dim::angle, "0 deg", "30 deg"), "0 deg", "of the head"),
            optional("tilt_toward", quantity(Dim::angle, "-360 deg", "360 deg"), "0 deg",
                     "where it presses harder: 0 is +u, 90 deg is +v"),
            optional("hand_stiffness", either({choice({"level", "locked"}), stiffness}), "30 N m/rad",
                     "of the hold on the head: level lets it settle, locked imposes the tilt"),
            optional("section",
                     object({
                         optional("centre", point(panel_limit_below, panel_limit), nullptr,
                                  "of the one section to work; without it the whole panel, in sections of "
                                  "about the size given"),
                         optional("size", point("10 mm", panel_limit),
                                  nlohmann::json::array({"500 mm", "500 mm"}), "along u and v"),
                     }),
                     nullptr,
                     "part of the panel that is worked in one go; without it the whole panel in sections of "
                     "about 500 mm")
                .only_where("pattern", {"raster", "spiral"}),
            needed("line",
                   object({
                       needed("from", point(panel_limit_below, panel_limit), "where the pad's centre starts"),
                       needed("to", point(panel_limit_below, panel_limit), "where it ends"),
                   }),
                   "to run along")
                .only_where("pattern", {"line"}),
            optional("recharge_passes", whole(0, 1000), 0,
                     "fresh liquid and a cleaned pad after so many passes; 0 is never"),
            optional(
                "hand",
                object({
                    optional("force", relative_sd, 0, "relative"),
                    optional("arm_speed", relative_sd, 0, "relative"),
                    optional("tilt", quantity(Dim::angle, "0 deg", "10 deg"), "0 deg", "of each direction"),
                    optional("spacing", quantity(Dim::length, "0 mm", "100 mm"), "0 mm",
                             "of a line's sideways place"),
                    optional("correlation", quantity(Dim::time, "50 ms", "60 s"), "1.5 s",
                             "how long a drift lasts"),
                }),
                nullptr, "how unsteady it is: standard deviations; without it, not at all"),
        });
}

FormPtr lesson_side_form() {
    return object({
        needed("panel", text("name or path"), "of the panel"),
        optional("paint", text("name or path"), "typical", "of the paint"),
        optional("air", quantity(Dim::temperature, "0 °C", "50 °C"), "20 °C", "the workshop's temperature"),
        needed("technique", text("name or path"), "of the technique"),
        optional("change", map(any("a value of that key"), "keys of a technique"), nullptr,
                 "what is done otherwise; each key stands for the technique's own, as a whole"),
        optional("seed", whole(0, 1'000'000), 1, "of the hand's variation"),
    });
}

FormPtr lesson_form() {
    return preset(
        PresetKind::lesson,
        {
            needed("about", choice({"clear left", "stalled time", "peak temperature"}),
                   "the figure in which the mistake is the worse of the two"),
            optional("grid", quantity(Dim::length, "1 mm", "4 mm"), "2 mm", "cell size of both runs"),
            needed("mistake", lesson_side_form(), "how it is done wrong"),
            needed("remedy", lesson_side_form(), "and how right"),
            optional("places", map(point(panel_limit_below, panel_limit), "names of spots"), nullptr,
                     "spots that captions, cameras and moments speak of"),
            needed(
                "steps",
                list(
                    object({
                        needed("show", choice({"mistake", "remedy", "both"}),
                               "whose panel; both stand beside each other"),
                        optional("moment",
                                 text("start, end, hottest, a time, \"first stalled pad\", "
                                      "\"longest stalled pad\" or \"nearest <spot>\""),
                                 "end",
                                 "of the run; first and longest go with any event, nearest is when the pad "
                                 "first comes by"),
                        optional("map",
                                 choice({"film_lost", "clear_left", "pressure_now", "speed_now",
                                         "contact_time", "friction_work", "temperature", "peak_temperature"}),
                                 "film_lost", "that the panel wears"),
                        optional("camera",
                                 object({
                                     optional("from",
                                              choice({"corner", "front", "left", "right", "top", "bottom"}),
                                              "corner", "the side it looks from"),
                                     optional("nearer", number("", 1, 20), 1,
                                              "times as near as the whole panel needs"),
                                     optional("at", text("name of a spot"), nullptr,
                                              "else it looks at the pad, or the worst spot"),
                                 }),
                                 nullptr, "how the panel is seen"),
                        needed("caption", text("text with {placeholders}"), "what is to be learned from it"),
                    }),
                    1),
                "one after the other"),
        });
}

/// Words of an enumeration that name_of knows, as far as they are wanted.
template <class All, class Wanted> std::vector<std::string> words_of(const All& all, Wanted wanted) {
    std::vector<std::string> words;
    for (const auto& one : all)
        if (wanted(one)) words.emplace_back(name_of(one));
    return words;
}

FormPtr defects_form() {
    const auto any_kind = [](MarkKind) { return true; };
    const auto spots = [](MarkKind kind) { return !made_of_lines(kind); };
    const std::vector<std::string> line_kinds = words_of(all_mark_kinds, made_of_lines);
    return preset(
        PresetKind::defects,
        {
            needed("marks",
                   list(object({
                            needed("kind", choice(words_of(all_mark_kinds, any_kind)), "of mark"),
                            needed("visible", choice(words_of(all_visible, [](Visible) { return true; })),
                                   "under the lamp"),
                            optional("fingernail", flag(), false, "whether a nail drawn across catches"),
                            optional("depth", quantity(Dim::length, "10 nm", "1 mm"), nullptr,
                                     "median; else by the words above"),
                            optional("depth_sd", quantity(Dim::none, "5 %", "150 %"), nullptr,
                                     "standard deviation of its logarithm; else by the words"),
                            optional("width", quantity(Dim::length, "0.1 µm", "500 mm"), nullptr,
                                     "across a line, or a spot's diameter; else by the words"),
                            optional("length", quantity(Dim::length, "1 mm", "5 m"), nullptr,
                                     "of a line; else by the words")
                                .only_where("kind", line_kinds),
                            optional("length_per_area", number("1/m", 1e-3, 1e7), nullptr,
                                     "metres of line on a square metre; else by the words")
                                .only_where("kind", line_kinds),
                            optional("per_area", number("1/m²", 1e-3, 1e7), nullptr,
                                     "spots on a square metre; else by the words")
                                .only_where("kind", words_of(all_mark_kinds, spots)),
                            optional("direction", quantity(Dim::angle, "-360 deg", "360 deg"), nullptr,
                                     "that the lines keep to: 0 is along u, 90 deg along v; without it every "
                                     "way alike")
                                .only_where("kind", line_kinds),
                            optional("region", list(point(panel_limit_below, panel_limit), 3), nullptr,
                                     "corners of the area that they are in; without it the whole panel"),
                        }),
                        1),
                   "one entry for each population of marks"),
        });
}

FormPtr kit_form() {
    return preset(
        PresetKind::kit,
        {
            needed(
                "machines",
                list(object({
                         needed("machine", text("name or path"), "of the machine"),
                         needed("speed", quantity(Dim::rotation, "100/min", "20000/min"),
                                "usual, of the driven shaft, within the machine's range"),
                         needed("force", quantity(Dim::force, "1 N", "500 N"), "usual, on the pad"),
                         needed("arm_speed", quantity(Dim::speed, "1 mm/s", "2 m/s"),
                                "usual, of the pad's centre along its lines"),
                         optional("passes", whole(1, 100), 4, "section passes that make one set, crossed"),
                         optional("pads", list(text("name or path"), 1), nullptr,
                                  "of the kit's pads, those that it is used with; without it all that fit"),
                         optional("liquids", list(text("name or path"), 1), nullptr,
                                  "of the kit's liquids, those that go on these pads; without it all"),
                     }),
                     1),
                "and how the shop usually works each; one machine may stand here more than once, with other "
                "pads or liquids"),
            needed("pads", list(text("name or path"), 1), "with their size: \"firm-foam-150\""),
            needed("liquids", list(text("name or path"), 1), "liquids and papers"),
            optional("gauge",
                     object({
                         optional("repeatability", quantity(Dim::length, "0.01 µm", "50 µm"), "1 µm",
                                  "standard deviation of one reading on one spot"),
                         optional("readings", whole(1, 1000), 5,
                                  "usually taken on a test section, before and after"),
                     }),
                     nullptr, "film gauge; without it none is at hand"),
        });
}

FormPtr record_form() {
    const FormPtr film = quantity(Dim::length, "5 µm", "2000 µm");
    const FormPtr number_of_readings = whole(1, 1000);
    return preset(
        PresetKind::record,
        {
            needed("kit", text("name or path"), "of the shop's kit"),
            optional(
                "target",
                object({
                    optional("share", quantity(Dim::none, "10 %", "99.9 %"), "95 %",
                             "of the marks to be cleared, chips apart"),
                    optional("finish", either({choice({"good", "full"}), quantity(Dim::none, "0.05", "50")}),
                             "good",
                             "of the steps' own marks: what a polish leaves, what a finishing polish leaves, "
                             "or the most haze"),
                    optional("chance", quantity(Dim::none, "50 %", "99.9 %"), "80 %", "of reaching both"),
                    optional("reserve", quantity(Dim::length, "0 µm", "200 µm"), "15 µm",
                             "clear coat that has to stay"),
                    optional("keep_chance", quantity(Dim::none, "50 %", "99.99 %"), "95 %", "of its staying"),
                }),
                nullptr, "what is wanted; without it as each key's own"),
            needed(
                "panels",
                list(
                    object({
                        needed("panel", text("name or path"), "of the panel"),
                        optional("paint", text("name or path"), "typical", "of the paint"),
                        optional("defects", text("name or path"), "moderate", "that it was found with"),
                        optional("readings", text("path"), nullptr,
                                 "of its gauge readings as CSV, from this file's folder"),
                        optional("clean", flag(), false, "washed and decontaminated; no advice before that"),
                        optional("note", text("text"), nullptr, "anything"),
                        optional(
                            "squares",
                            list(object({
                                     needed("at", point(panel_limit_below, panel_limit), "its middle"),
                                     optional("size", point("20 mm", "4 m"),
                                              nlohmann::json::array({"400 mm", "400 mm"}), "along u and v"),
                                     optional("note", text("text"), nullptr, "anything"),
                                     optional(
                                         "tries",
                                         list(
                                             object({
                                                 needed("step", text("a step of the kit"),
                                                        "machine+pad+liquid, as the kit names them"),
                                                 optional("sets", whole(1, 20), 1, "of it"),
                                                 optional("seen", text("text"), nullptr,
                                                          "share cleared under the lamp, against how it was "
                                                          "untouched: \"90 %\", or a word"),
                                                 optional(
                                                     "gauge",
                                                     object({
                                                         needed("before", film,
                                                                "mean on the untouched square, of the total "
                                                                "or of the clear coat"),
                                                         optional("n_before", number_of_readings, 1,
                                                                  "readings behind it"),
                                                         needed("after", film,
                                                                "mean now, on the same marked spots"),
                                                         optional("n_after", number_of_readings, 1,
                                                                  "readings behind it"),
                                                         optional(
                                                             "repeatability",
                                                             quantity(Dim::length, "0.01 µm", "50 µm"),
                                                             "1 µm",
                                                             "standard deviation of one reading on one spot"),
                                                     }),
                                                     nullptr, "what the film gauge read"),
                                                 optional("note", text("text"), nullptr, "anything"),
                                             }),
                                             1),
                                         nullptr, "what was done there, one after the other"),
                                 }),
                                 1),
                            nullptr, "taped test sections"),
                    }),
                    1),
                "of one vehicle, each once"),
        });
}

FormPtr shop_form() {
    return preset(PresetKind::shop,
                  {
                      optional("lines", list(text("text"), 1), nullptr,
                               "under the name: address, telephone and the like"),
                      optional("logo", text("path"), nullptr, "of a PNG, from this file's folder"),
                  });
}

FormPtr sweep_form() {
    const std::vector<std::string> counted{"latin hypercube", "sobol", "saltelli"};
    const FormPtr value = any("a value of that place, as its preset would have it");
    return preset(
        PresetKind::sweep,
        {
            needed("panel", text("name or path"), "of the panel"),
            optional("paints", list(text("name or path"), 1), nlohmann::json::array({"typical"}),
                     "of the paints; every point is run on each"),
            optional("defects", text("name or path"), "moderate", "that the panel was found with"),
            needed("technique", text("name or path"),
                   "of the technique, for whatever no factor says otherwise"),
            optional("grid", quantity(Dim::length, "1 mm", "4 mm"), "4 mm", "cell size"),
            optional("air", quantity(Dim::temperature, "0 °C", "50 °C"), "20 °C",
                     "the workshop's temperature"),
            optional("hands", whole(1, 10'000), 1,
                     "draws of the technique's hand variation; every point is run with each, the same for "
                     "all points"),
            optional("seed", whole(0, 1'000'000'000), 1,
                     "of the first hand; the others take the numbers after it"),
            optional("reserve", quantity(Dim::length, "0 µm", "200 µm"), "15 µm",
                     "clear coat that has to stay"),
            optional("cut_sd", quantity(Dim::none, "0 %", "200 %"), "30 %",
                     "how far the cut may lie from the presets, one standard deviation"),
            needed(
                "design",
                object({
                    needed("kind", choice({"grid", "latin hypercube", "sobol", "saltelli"}),
                           "how the points are laid"),
                    needed("points", whole(2, 10'000'000),
                           "how many; saltelli runs each of them as often as there are factors and two times "
                           "more")
                        .only_where("kind", counted),
                    optional("seed", whole(0, 1'000'000'000), 1,
                             "of the points; with sobol and saltelli that of a digital shift, and 0 for none")
                        .only_where("kind", counted),
                }),
                "the points at which the factors are tried"),
            needed("factors",
                   list(object(
                            {
                                optional("name", text("text without commas, quotes and line feeds"), nullptr,
                                         "in columns and charts; else the last part of `at`"),
                                needed("of",
                                       choice({"technique", "machine", "pad", "liquid", "paint", "panel",
                                               "substrate", "defects"}),
                                       "whose value it is; machine, pad and liquid are those of the "
                                       "technique, substrate is the panel's"),
                                needed("at", text("JSON pointer (RFC 6901)"),
                                       "to a value that the preset's file has: \"/force\""),
                                optional("from", value, nullptr, "one end of its range").only_with("to"),
                                optional("to", value, nullptr, "the other").only_with("from"),
                                optional("scale", choice({"linear", "log"}), "linear",
                                         "on which a range is even"),
                                optional("levels", whole(1, 10'000), 5,
                                         "in a grid: a range's equal parts, whose middles are tried"),
                                optional("values", list(value, 1), nullptr,
                                         "instead of a range: equally likely ones"),
                            },
                            {"from", "values"}),
                        1),
                   "what is varied"),
        });
}

FormPtr make_form(PresetKind kind) {
    switch (kind) {
    case PresetKind::machine: return machine_form();
    case PresetKind::pad: return pad_form();
    case PresetKind::liquid: return liquid_form();
    case PresetKind::paint: return paint_form();
    case PresetKind::substrate: return substrate_form();
    case PresetKind::panel: return panel_form();
    case PresetKind::technique: return technique_form();
    case PresetKind::lesson: return lesson_form();
    case PresetKind::defects: return defects_form();
    case PresetKind::kit: return kit_form();
    case PresetKind::record: return record_form();
    case PresetKind::shop: return shop_form();
    case PresetKind::sweep: return sweep_form();
    }
    throw std::logic_error("no such kind of preset");
}

const ObjectForm& object_form(PresetKind kind) { return std::get<ObjectForm>(form_of(kind).is); }

} // namespace

std::vector<PresetKind> all_preset_kinds() {
    std::vector<PresetKind> all;
    for (const KindNames& k : kinds) all.push_back(k.kind);
    return all;
}

std::string_view name_of(PresetKind kind) { return names(kind).name; }
std::string_view folder_of(PresetKind kind) { return names(kind).folder; }

PresetKind preset_kind(std::string_view name) {
    std::vector<std::string> known;
    for (const KindNames& k : kinds) {
        if (name == k.name || name == k.folder) return k.kind;
        known.emplace_back(k.folder);
    }
    throw InputError("", "", fmt::format("no kind of preset \"{}\"", name), suggestion(name, known, "kinds"));
}

const Form& form_of(PresetKind kind) {
    static const std::vector<FormPtr> forms = [] {
        std::vector<FormPtr> made;
        for (PresetKind k : all_preset_kinds()) made.push_back(make_form(k));
        return made;
    }();
    return *forms[static_cast<std::size_t>(kind)];
}

namespace {

/// The limits of a form, or of the first way of several that has any.
std::optional<Limits> limits_in(const Form& form) {
    if (const auto* quantity = std::get_if<QuantityForm>(&form.is))
        return Limits{quantity->min_si, quantity->max_si};
    if (const auto* number = std::get_if<NumberForm>(&form.is)) return Limits{number->min, number->max};
    if (const auto* whole = std::get_if<WholeForm>(&form.is))
        return Limits{static_cast<double>(whole->min), static_cast<double>(whole->max)};
    if (const auto* point = std::get_if<PointForm>(&form.is))
        return Limits{point->coordinate.min_si, point->coordinate.max_si};
    if (const auto* either = std::get_if<EitherForm>(&form.is))
        for (const FormPtr& way : either->ways)
            if (const auto limits = limits_in(*way)) return limits;
    return std::nullopt;
}

} // namespace

Limits Limits::in(double unit_si) const {
    const auto rounded = [unit_si](double si) { return std::round(si / unit_si * 1e6) / 1e6; };
    return {rounded(low), rounded(high)};
}

Limits limits_of(PresetKind kind, std::string_view pointer) {
    const Form* form = &form_of(kind);
    for (std::string_view rest = pointer; form && !rest.empty();) {
        rest.remove_prefix(1); // its slash
        const std::string key(rest.substr(0, rest.find('/')));
        rest.remove_prefix(key.size());
        const auto* object = std::get_if<ObjectForm>(&form->is);
        const Field* field = object ? object->find(key) : nullptr;
        form = field ? field->form.get() : nullptr;
    }
    const std::optional<Limits> limits = form ? limits_in(*form) : std::nullopt;
    if (!limits) throw std::logic_error(fmt::format("no number at {} of a {}", pointer, name_of(kind)));
    return *limits;
}

std::string schema_text(PresetKind kind) {
    return schema_of(object_form(kind), fmt::format("Sparecoat {}", name_of(kind)));
}

std::string format_table(PresetKind kind) { return markdown_of(object_form(kind)); }

} // namespace sparecoat::formats
