// Forms of how it is worked and what is found: techniques, lessons, defects, kits, records, shops, sweeps.
#include "finish/described.hpp"
#include "formats/kind_forms.hpp"
#include "formats/kinds.hpp"
#include <nlohmann/json.hpp>

namespace sparecoat::formats {

using namespace form;

namespace {

FormPtr strips_form() {
    return object({
        needed("along", text("name of an edge, body line, roll or rim, \"edges\" or \"lines\""),
               "what the strips run beside; \"edges\" and \"lines\" are all of the panel's"),
        needed("at", list(quantity(Dim::length, "0 mm", "1 m"), 1),
               "distances of the pad's centre from it; 0 only for lines: on the crest itself"),
        optional("side", choice({"both", "inside", "outside"}), "both",
                 "of closed rims; an edge is worked from the panel's side"),
        optional("clear_of", quantity(Dim::length, "0 mm", "1 m"), "0 mm",
                 "how far the pad's centre keeps from every other edge and line"),
    });
}

} // namespace

/// Long because it is a table: a key a line.
FormPtr technique_form() {
    const std::vector<std::string> laid_in_passes{"raster", "spiral", "line"};
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
            optional("pattern", choice({"raster", "spiral", "line", "strips"}), "raster", "of the arm"),
            needed("force", quantity(Dim::force, "1 N", "500 N"),
                   "on the pad, with the machine's weight as it bears"),
            needed("speed", quantity(Dim::rotation, "100/min", "20000/min"),
                   "of the driven shaft, within the machine's range"),
            needed("arm_speed", quantity(Dim::speed, "1 mm/s", "2 m/s"),
                   "of the pad's centre along its lines"),
            optional("arm_acceleration", quantity(Dim::acceleration, "0.05 m/s²", "50 m/s²"), "1 m/s²",
                     "at turn-rounds"),
            optional("overlap", quantity(Dim::none, "0 %", "95 %"), "50 %",
                     "of the pad's width that the next line covers again")
                .only_where("pattern", laid_in_passes),
            optional("passes", whole(1, 1000), 4,
                     "section passes, each covering the section once; for a line or a piece of strip, runs "
                     "along it, there and back in turn"),
            optional("crossed", flag(), true, "alternate passes at right angles")
                .only_where("pattern", laid_in_passes),
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
            needed("strips", list(strips_form(), 1),
                   "to work along edges, body lines and rims, with a pad too small for sections")
                .only_where("pattern", {"strips"}),
            optional("charge_every", quantity(Dim::length, "20 mm", "100 m"), "600 mm",
                     "length of strip after which fresh liquid and a clean pad come; a longer piece is cut "
                     "into equal ones")
                .only_where("pattern", {"strips"}),
            optional("recharge_passes", whole(0, 1000), 0,
                     "fresh liquid and a cleaned pad after so many passes; 0 is never")
                .only_where("pattern", laid_in_passes),
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

namespace {

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

} // namespace

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

namespace {

/// Words of an enumeration that name_of knows, as far as they are wanted.
template <class All, class Wanted> std::vector<std::string> words_of(const All& all, Wanted wanted) {
    std::vector<std::string> words;
    for (const auto& one : all)
        if (wanted(one)) words.emplace_back(name_of(one));
    return words;
}

} // namespace

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

/// Long because it is a table: a key a line.
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

} // namespace sparecoat::formats
