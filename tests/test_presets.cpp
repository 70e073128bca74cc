// Presets: how they are described, those that come with the program, what they read to.
#include "support/preset_documents.hpp"
#include <catch2/catch.hpp>

namespace test_presets {
using namespace sparecoat::cli;
using namespace sparecoat::test;
using nlohmann::json;
using sparecoat::test::hold_to_schema;
using sparecoat::test::refusal;
namespace fs = std::filesystem;
using Catch::Matchers::Contains;
using namespace sparecoat::test::preset_documents;

// ---- one description, four uses ---------------------------------------------------------------------

TEST_CASE("reader and schema take and refuse the same documents, whatever is changed in them") {
    int tried = 0, refused = 0;
    // within_range false: the change may have put text out of range, which a schema's pattern cannot see.
    const auto compare = [&](PresetKind kind, const json& document, const std::string& change,
                             bool within_range = true) {
        const bool by_reader = accepted([&] { read_form(form_of(kind), document, {"test.json", ""}); });
        const bool by_schema = accepted([&] { hold_to_schema(kind, document, "test.json"); });
        ++tried;
        refused += by_reader ? 0 : 1;
        if (by_reader != by_schema && (within_range || by_reader))
            FAIL_CHECK(name_of(kind) << ": " << change << ": reader " << (by_reader ? "takes" : "refuses")
                                     << ", schema " << (by_schema ? "takes" : "refuses"));
    };
    const std::vector<json> intruders{nullptr,
                                      true,
                                      -1e9,
                                      1e9,
                                      0,
                                      3,
                                      0.5,
                                      "",
                                      "15",
                                      "15 furlongs",
                                      "1 mm",
                                      "rotary",
                                      "line",
                                      "level",
                                      json::array(),
                                      json::object(),
                                      json::array({1, 2}),
                                      json{{"all", "1 mm"}}};
    for (const auto& [kind, document] : full_documents()) {
        compare(kind, document, "unchanged");
        for_each_place(document, [&, kind = kind](json& copy, const json::json_pointer& place) {
            erase(copy, place);
            compare(kind, copy, place.to_string() + " taken out");
        });
        for (const json& intruder : intruders) {
            const bool text = intruder.is_string();
            for_each_place(document, [&, kind = kind](json& copy, const json::json_pointer& place) {
                copy[place] = intruder;
                compare(kind, copy, place.to_string() + " = " + intruder.dump(), !text);
            });
        }
        for_each_place(document, [&, kind = kind](json& copy, const json::json_pointer& place) {
            if (!copy[place].is_object()) return;
            copy[place]["surprise"] = 1;
            compare(kind, copy, place.to_string() + " with a strange key");
        });
        for (const char* key : {"throw", "gear_ratio", "bearing", "breakdown", "working_time", "line",
                                "section", "mesh", "outline"}) {
            json copy = document;
            copy[key] = "1 mm";
            compare(kind, copy, std::string(key) + " added", false);
        }
    }
    json panel = full_document(PresetKind::panel);
    panel["mesh"] = {{"file", "plate.obj"}};
    compare(PresetKind::panel, panel, "an outline and a mesh");
    panel.erase("outline");
    compare(PresetKind::panel, panel, "a mesh with an outline's features");
    for (const char* feature : {"holes", "crown", "body_lines", "recesses", "rolled_edges"})
        panel.erase(feature);
    compare(PresetKind::panel, panel, "a mesh alone");
    // So that the comparison cannot go quiet.
    CHECK(tried > 2000);
    CHECK(refused > tried / 2);
    CHECK(refused < tried);
}

TEST_CASE("limits are those of the form, and come out as written in the unit asked for") {
    const auto check = [](const char* pointer, double unit, double low, double high) {
        INFO(pointer);
        const Limits limits = limits_of(PresetKind::technique, pointer).in(unit);
        CHECK(limits.low == low);
        CHECK(limits.high == high);
    };
    check("/force", 1, 1, 500);
    check("/speed", per_min, 100, 20000);
    check("/arm_speed", mm, 1, 2000);
    check("/overlap", 0.01, 0, 95);
    check("/passes", 1, 1, 1000);
    check("/tilt", deg, 0, 30);
    check("/tilt_toward", deg, -360, 360);
    check("/hold_back", mm, -300, 1000); // a length, or one for each edge
    check("/tape", mm, 0, 500);
    check("/hand/force", 0.01, 0, 100);
    check("/hand/tilt", deg, 0, 10);
    check("/hand/spacing", mm, 0, 100);
    check("/section/centre", mm, -10000, 10000);
    CHECK_THROWS_AS(limits_of(PresetKind::technique, "/crossed"), std::logic_error);
    CHECK_THROWS_AS(limits_of(PresetKind::technique, "/hand/force/more"), std::logic_error);
}

// ---- the presets that come with the program ---------------------------------------------------------

TEST_CASE("every preset reads, has a note and can be asked for by its id") {
    for (PresetKind kind : all_preset_kinds()) {
        INFO(folder_of(kind));
        const std::vector<Listing> listings = presets().list(kind);
        // Records and a shop's own words are a shop's: none come with the program.
        CHECK(listings.empty() == (kind == PresetKind::record || kind == PresetKind::shop));
        for (const Listing& listing : listings) {
            INFO(folder_of(kind) << " " << listing.id);
            CHECK(!listing.name.empty());
            CHECK(!listing.note.empty());
            CHECK(!listing.summary.empty());
            CHECK_NOTHROW(presets().file_of(kind, listing.id));
        }
    }
}

TEST_CASE("every preset keeps to the published schema of its kind") {
    for (PresetKind kind : all_preset_kinds()) {
        for (const Listing& listing : presets().list(kind)) {
            INFO(folder_of(kind) << " " << listing.id);
            const fs::path file = presets().file_of(kind, listing.id);
            CHECK_NOTHROW(hold_to_schema(kind, json::parse(bytes_of(file)), file.string()));
        }
    }
}

TEST_CASE("every technique goes with its machine, pad and liquid, and every panel with its substrate") {
    for (const Listing& listing : nonempty(presets().list(PresetKind::technique))) {
        INFO(listing.id);
        CHECK_NOTHROW(resolve(presets(), listing.id));
    }
    for (const Listing& listing : nonempty(presets().list(PresetKind::panel))) {
        INFO(listing.id);
        CHECK_NOTHROW(presets().substrate(presets().panel(listing.id).substrate));
    }
}

TEST_CASE("the presets have what the trade has") {
    const auto ids = [](PresetKind kind) {
        std::set<std::string> all;
        for (const Listing& listing : presets().list(kind)) all.insert(listing.id);
        return all;
    };
    const auto has = [](const std::set<std::string>& all, const std::set<std::string>& wanted) {
        return std::ranges::includes(all, wanted);
    };
    CHECK(has(ids(PresetKind::machine), {"rotary-1000", "da-8", "da-12", "da-15", "da-21", "gear-8",
                                         "rotary-mini", "da-mini-12", "da-mini-3"}));
    for (const char* pad : {"wool", "microfibre-cutting", "firm-foam", "medium-foam", "soft-foam"})
        for (const char* size : {"-75", "-125", "-150"})
            CHECK(has(ids(PresetKind::pad), {std::string(pad) + size}));
    for (const char* pad :
         {"microfibre-cutting", "firm-foam", "medium-foam", "soft-foam"}) // spots and strips
        CHECK(has(ids(PresetKind::pad), {std::string(pad) + "-50"}));
    CHECK(has(ids(PresetKind::liquid), {"cutting-compound", "medium-polish", "polish", "finishing-polish",
                                        "p1500", "p2000", "p2500", "p3000"}));
    CHECK(has(ids(PresetKind::paint), {"soft", "typical", "hard", "thick-repaint", "old-thin"}));
    CHECK(has(ids(PresetKind::substrate), {"steel", "aluminium", "plastic"}));
    CHECK(has(ids(PresetKind::defects), {"light", "moderate", "severe"}));
    CHECK(has(ids(PresetKind::kit), {"workshop"}));
    CHECK(ids(PresetKind::technique).size() >= 8);
    const Technique mistake = presets().technique("edge-overrun");
    CHECK(mistake.hold_back_m == Approx(-presets().pad(mistake.pad).radius_m)); // the centre on the edge
    CHECK(mistake.tilt_rad > 0);
}

// ---- values into structs ----------------------------------------------------------------------------

TEST_CASE("a machine reads to SI") {
    const Machine machine = presets().machine("da-15");
    CHECK(machine.kind == MachineKind::free_spinning);
    CHECK(machine.throw_m == 0.015);
    CHECK(machine.speed_min_rad_s == Approx(2000 * per_min));
    CHECK(machine.speed_max_rad_s == Approx(4800 * per_min));
    CHECK(machine.bearing_torque_nm == 0.1);
    CHECK(machine.bearing_drag_nms == 1e-5);
    CHECK(machine.spin_inertia_kgm2 == Approx(2.5e-4));
    CHECK(machine.pad_min_m == 0.125);
    CHECK(machine.pad_max_m == 0.15);
    CHECK(machine.power_w == 900);
    CHECK(machine.mass_kg == 2.6);

    const Machine geared = presets().machine("gear-8");
    CHECK(geared.kind == MachineKind::gear_driven);
    CHECK(geared.gear_ratio == -0.09);
    CHECK(geared.bearing_torque_nm == 0);

    const Machine rotary = presets().machine("rotary-1000");
    CHECK(rotary.kind == MachineKind::rotary);
    CHECK(rotary.throw_m == 0);
    CHECK(rotary.spin_inertia_kgm2 == 0);
}

TEST_CASE("a pad reads to SI, one for each of its sizes") {
    const Pad pad = presets().pad("firm-foam-150");
    CHECK(pad.name == "Firm foam 150 mm");
    CHECK(pad.material == "firm foam");
    CHECK(pad.radius_m == 0.075);
    CHECK(pad.thickness_m == 0.025);
    CHECK(pad.foam.modulus_pa == 75e3);
    CHECK(pad.foam.plateau_pa == 7e3);
    CHECK(pad.foam.densification_strain == 0.8);
    CHECK(pad.foam.poisson == 0.2);
    CHECK(pad.loss_factor == 0.4);
    CHECK(pad.friction == 0.36);
    CHECK(pad.cut_factor == 1.1);
    CHECK(pad.capacity_m == Approx(70e-6));
    CHECK(pad.area_density_kg_m2 == 1.4);
    CHECK(presets().pad("firm-foam-75").thickness_m == 0.02);
    CHECK(read_pads(preset(PresetKind::pad, "wool"), "wool.json").size() == 3);
}

TEST_CASE("a liquid and a paper read to SI") {
    const Liquid polish = presets().liquid("polish");
    CHECK_FALSE(polish.paper);
    CHECK(polish.abrasive_start_m == Approx(1.6e-6));
    CHECK(polish.abrasive_end_m == Approx(0.8e-6));
    CHECK(polish.breakdown_j_m2 == 400e3);
    CHECK(polish.working_time_s == 330);
    CHECK(polish.cut_per_size_pa_m > 0);
    CHECK(polish.friction_factor == 1);

    const Liquid paper = presets().liquid("p2000");
    CHECK(paper.paper);
    CHECK(paper.abrasive_start_m == Approx(10.3e-6));
    CHECK(paper.abrasive_end_m == paper.abrasive_start_m); // left out: it does not break down
    CHECK(paper.breakdown_j_m2 == 0);
    CHECK(paper.working_time_s == 0);
    CHECK(paper.friction_factor == 1.2);
}

TEST_CASE("a paint and a substrate read to SI") {
    const Paint paint = presets().paint("old-thin");
    CHECK(paint.clear_m == 22e-6);
    CHECK(paint.base_m == 14e-6);
    CHECK(paint.primer_m == 25e-6);
    CHECK(paint.ecoat_m == 18e-6);
    CHECK(paint.thinning == 0.35);
    CHECK(paint.thinning_length_m == 0.006);
    CHECK(paint.softness == 0.8);
    CHECK(paint.softness_sd == 0.35);
    CHECK(paint.spread == 0.1);          // what holds where a file says nothing
    CHECK(paint.softening.from_c == 60); // what a paint without the key gets
    CHECK(paint.softening.doubling_k == 20);

    const Substrate plastic = presets().substrate("plastic");
    CHECK(plastic.thickness_m == 0.003);
    CHECK(plastic.density_kg_m3 == 1000);
    CHECK(plastic.heat_capacity_j_kgk == 1750);
    CHECK(plastic.conductivity_w_mk == 0.22);
    CHECK(plastic.polymer);
    CHECK_FALSE(presets().substrate("steel").polymer);
}

TEST_CASE("a panel's features read to SI, with names for the edges that have none") {
    const PanelSpec spec = read_panel(full_document(PresetKind::panel), "plate.json");
    CHECK(spec.name == "Plate");
    CHECK(spec.substrate == "steel");
    const auto& features = std::get<Features>(spec.shape);
    REQUIRE(features.outline.size() == 4);
    CHECK(features.outline[0].radius_m == 0.03);
    CHECK(features.outline[0].edge == "bottom");
    CHECK(features.outline[1].edge == "edge 2");
    CHECK(features.outline[1].radius_m == 0);
    CHECK(features.outline[2].at.x == 0.6);
    CHECK(features.outline[2].at.y == 0.5);
    REQUIRE(features.holes.size() == 1);
    CHECK(features.holes[0][0].edge == "window");
    CHECK(features.holes[0][1].edge == "sill");
    CHECK(features.radius_u_m == 6);
    CHECK(features.radius_v_m == -2.5);
    REQUIRE(features.body_lines.size() == 1);
    CHECK(features.body_lines[0].name == "waist");
    CHECK(features.body_lines[0].points[1].y == 0.12);
    CHECK(features.body_lines[0].height_m == 0.006);
    CHECK(features.body_lines[0].crest_radius_m == 0.008);
    CHECK(features.body_lines[0].flank_m == 0.045);
    CHECK(features.body_lines[0].end_fade_m == 0.06);
    REQUIRE(features.recesses.size() == 1);
    CHECK(features.recesses[0].name == "handle");
    CHECK(features.recesses[0].loop[2].radius_m == 0.009);
    CHECK(features.recesses[0].depth_m == 0.012);
    CHECK(features.recesses[0].wall_m == 0.015);
    REQUIRE(features.rolled_edges.size() == 1);
    CHECK(features.rolled_edges[0].edge == "edge 2");
    CHECK(features.rolled_edges[0].radius_m == 0.02);
    CHECK(features.rolled_edges[0].turn_rad == Approx(40 * deg));
}

TEST_CASE("a panel's image or mesh is looked for beside the panel's file") {
    const ScratchFolder folder;
    write_text(folder / "shapes/door.png", "not looked into here");
    write_text(folder / "shapes/door.obj", "not looked into here");
    const std::string file = (folder / "door.json").string();
    json document{{"kind", "panel"}, {"name", "Door"}, {"substrate", "steel"}};

    document["height_map"] = {{"file", "shapes/door.png"}, {"pixel", "1 mm"}, {"full_scale", "65 mm"}};
    const auto map = std::get<HeightMap>(read_panel(document, file).shape);
    CHECK(map.png == folder / "shapes/door.png");
    CHECK(map.pixel_m == 0.001);
    CHECK(map.full_scale_m == 0.065);

    document["mesh"] = {{"file", "shapes/door.obj"}};
    const InputError both = refusal([&] { read_panel(document, file); });
    CHECK(both.found() == "the keys 'height_map' and 'mesh' together");
    CHECK(both.allowed() == "exactly one of 'outline', 'height_map', 'mesh'");

    document.erase("height_map");
    const auto mesh = std::get<Mesh>(read_panel(document, file).shape);
    CHECK(mesh.file == folder / "shapes/door.obj");
    CHECK(mesh.unit_m == 0.001);

    document["mesh"]["file"] = "shapes/none.obj";
    CHECK(refusal([&] { read_panel(document, file); }).place() == "/mesh/file");
    document.erase("mesh");
    CHECK(refusal([&] { read_panel(document, file); }).found() == "none of these keys");
}

TEST_CASE("a technique reads to SI") {
    const Technique technique = read_technique(full_document(PresetKind::technique), "all.json");
    CHECK(technique.pattern == Pattern::spiral);
    CHECK(technique.force_n == 45);
    CHECK(technique.speed_rad_s == Approx(4500 * per_min));
    CHECK(technique.arm_speed_m_s == 0.04);
    CHECK(technique.arm_acceleration_m_s2 == 2);
    CHECK(technique.overlap == 0.4);
    CHECK(technique.passes == 6);
    CHECK_FALSE(technique.crossed);
    CHECK(technique.hold_back_m == 0.005);
    CHECK(technique.hold_back_edge_m == std::map<std::string, double>{{"wheel arch", -0.075}});
    CHECK(technique.tape_m == 0.003);
    CHECK(technique.tape_edge_m == std::map<std::string, double>{{"wheel arch", 0.012}});
    CHECK(technique.tilt_rad == Approx(3 * deg));
    CHECK(technique.tilt_toward_rad == Approx(90 * deg));
    CHECK(technique.hand_stiffness_nm_rad == Approx(1 / deg));
    REQUIRE(technique.section_centre.has_value());
    CHECK(technique.section_centre->y == 0.25);
    CHECK(technique.section_size.y == 0.4);
    CHECK(technique.recharge_passes == 2);
    CHECK(technique.hand.force == 0.08);
    CHECK(technique.hand.arm_speed == 0.1);
    CHECK(technique.hand.tilt_rad == Approx(0.5 * deg));
    CHECK(technique.hand.spacing_m == 0.005);
    CHECK(technique.hand.correlation_s == 2);
}

TEST_CASE("a hand is level, locked or of a stiffness") {
    json document = full_document(PresetKind::technique);
    document["hand_stiffness"] = "level";
    CHECK(read_technique(document, "t.json").hand_stiffness_nm_rad == 0);
    document["hand_stiffness"] = "locked";
    CHECK(std::isinf(read_technique(document, "t.json").hand_stiffness_nm_rad));
    document["hand_stiffness"] = 12;
    CHECK(read_technique(document, "t.json").hand_stiffness_nm_rad == 12);
    document["hand_stiffness"] = "loose";
    const InputError error = refusal([&] { read_technique(document, "t.json"); });
    CHECK(error.place() == "/hand_stiffness");
    CHECK_THAT(error.allowed(), Contains("\"level\", \"locked\"") && Contains("N m/rad"));
}

TEST_CASE("what a technique leaves out is what the program takes for granted") {
    const json document{{"kind", "technique"},    {"name", "T"},           {"machine", "da-15"},
                        {"pad", "firm-foam-150"}, {"liquid", "polish"},    {"force", 45},
                        {"speed", "4500/min"},    {"arm_speed", "40 mm/s"}};
    const Technique read = read_technique(document, "t.json");
    const Technique plain;
    CHECK(read.pattern == plain.pattern);
    CHECK(read.arm_acceleration_m_s2 == plain.arm_acceleration_m_s2);
    CHECK(read.overlap == plain.overlap);
    CHECK(read.passes == plain.passes);
    CHECK(read.crossed == plain.crossed);
    CHECK(read.hold_back_m == plain.hold_back_m);
    CHECK(read.hold_back_edge_m.empty());
    CHECK(read.tape_m == 0);
    CHECK(read.tape_edge_m.empty());
    CHECK(read.tilt_rad == plain.tilt_rad);
    CHECK(read.tilt_toward_rad == plain.tilt_toward_rad);
    CHECK(read.hand_stiffness_nm_rad == plain.hand_stiffness_nm_rad);
    CHECK(!read.section_centre.has_value());
    CHECK(read.recharge_passes == plain.recharge_passes);
    CHECK(read.hand.force == 0);
    CHECK(read.hand.correlation_s == plain.hand.correlation_s);
}

} // namespace test_presets
