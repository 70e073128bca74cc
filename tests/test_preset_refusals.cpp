// Presets: what is refused in a file, how they are looked for, how tables and structs hold together.
#include "support/preset_documents.hpp"
#include <catch2/catch.hpp>

namespace test_preset_refusals {
using namespace sparecoat::cli;
using namespace sparecoat::test;
using nlohmann::json;
using sparecoat::test::refusal;
namespace fs = std::filesystem;
using Catch::Matchers::Contains;
using namespace sparecoat::test::preset_documents;

// ---- bad input --------------------------------------------------------------------------------------

TEST_CASE("defects are read in words, and a number takes the place of the words' own") {
    const Defects defects = read_defects(full_document(PresetKind::defects), "all.json");
    REQUIRE(defects.marks.size() == 2);
    const MarkPopulation& swirls = defects.marks[0];
    CHECK(swirls.kind == MarkKind::swirls);
    CHECK(swirls.depth_um == Approx(0.4));
    CHECK(swirls.depth_sd == Approx(0.35));
    CHECK(swirls.width_m == Approx(3e-6));
    CHECK(swirls.length_m == Approx(0.03));
    CHECK(swirls.length_per_area() == Approx(600));
    CHECK(*swirls.direction_rad == Approx(pi / 2));
    REQUIRE(swirls.region.size() == 3);
    CHECK(swirls.region[2].y == Approx(0.2));
    const MarkPopulation& spots = defects.marks[1];
    const MarkPopulation by_words = population_of({MarkKind::water_spots, Visible::glaring, false});
    CHECK(spots.per_m2 == 70);
    CHECK(spots.depth_um == Approx(by_words.depth_um));
    CHECK(spots.width_m == by_words.width_m);
    CHECK_FALSE(spots.direction_rad);

    json longer = full_document(PresetKind::defects); // the same metres of fewer, longer lines
    longer["/marks/0/length"_json_pointer] = "60 mm";
    const MarkPopulation fewer = read_defects(longer, "all.json").marks[0];
    CHECK(fewer.per_m2 == Approx(swirls.per_m2 / 2));
    CHECK(fewer.length_per_area() == Approx(600));
}

// Long because it is a table of bad values, a row each.
TEST_CASE("a bad value is refused with its place, what was found and what is allowed") {
    struct Row {
        PresetKind kind;
        const char* patch; ///< JSON Patch (RFC 6902) that spoils the document
        const char *place, *found, *allowed;
    };
    const auto kind_of = [](const Row& row) { return row.kind; };
    const std::vector<Row> rows{
        {PresetKind::pad, R"([{"op":"replace","path":"/kind","value":"machine"}])", "/kind", "\"machine\"",
         "\"kind\": \"pad\""},
        {PresetKind::pad, R"([{"op":"remove","path":"/kind"}])", "", "no key 'kind'", "\"kind\": \"pad\""},
        {PresetKind::pad, R"([{"op":"add","path":"/sizes/0/thicknes","value":"25 mm"}])", "/sizes/0/thicknes",
         "unknown key 'thicknes'", "did you mean 'thickness'? known keys: diameter, thickness"},
        {PresetKind::pad, R"([{"op":"add","path":"/a~1b~0c","value":1}])", "/a~1b~0c", "unknown key 'a/b~c'",
         "known keys: "},
        {PresetKind::pad, R"([{"op":"remove","path":"/foam/modulus"}])", "/foam", "no key 'modulus'",
         "1 kPa to 10 MPa"},
        {PresetKind::pad, R"([{"op":"replace","path":"/foam","value":3}])", "/foam", "3",
         "an object with the keys modulus, plateau"},
        {PresetKind::pad, R"([{"op":"replace","path":"/sizes","value":[]}])", "/sizes", "a list of 0",
         "a list of 1 or more"},
        {PresetKind::pad, R"([{"op":"replace","path":"/sizes/1/thickness","value":"15"}])",
         "/sizes/1/thickness", "\"15\" without a unit",
         "1 mm to 100 mm, as text with one of nm, µm, mm, cm, m, mil, in, or as a number in m"},
        {PresetKind::pad, R"([{"op":"replace","path":"/sizes/1/thickness","value":"15 kPa"}])",
         "/sizes/1/thickness", "\"15 kPa\", a pressure, not a length", "1 mm to 100 mm"},
        {PresetKind::pad, R"([{"op":"replace","path":"/sizes/1/thickness","value":"1 m"}])",
         "/sizes/1/thickness", "\"1 m\"", "1 mm to 100 mm"},
        {PresetKind::pad, R"([{"op":"replace","path":"/sizes/1/thickness","value":25}])",
         "/sizes/1/thickness", "25 (25 m)", "1 mm to 100 mm"},
        {PresetKind::pad, R"([{"op":"replace","path":"/friction","value":"nan"}])", "/friction",
         "\"nan\", which does not start with a number", "0.01 to 1.5"},
        {PresetKind::pad, R"([{"op":"replace","path":"/friction","value":null}])", "/friction", "null",
         "0.01 to 1.5"},
        {PresetKind::pad, R"([{"op":"replace","path":"/foam/plateau","value":"0 kPa"}])", "/foam/plateau",
         "\"0 kPa\"", "0.1 kPa to 1 MPa"},
        {PresetKind::pad, R"([{"op":"replace","path":"/foam/plateau","value":"70 kPa"}])", "/foam/plateau",
         "70 kPa", "60 kPa"},
        {PresetKind::pad, R"([{"op":"replace","path":"/sizes/1/diameter","value":"50 mm"}])",
         "/sizes/1/diameter", "50 mm a second time", "each diameter once"},
        {PresetKind::pad, R"([{"op":"replace","path":"/sizes/1/diameter","value":"75.5 mm"}])",
         "/sizes/1/diameter", "75.5 mm", "whole number"},
        {PresetKind::machine, R"([{"op":"replace","path":"/motion","value":"rotry"}])", "/motion",
         "\"rotry\"", "did you mean 'rotary'?"},
        {PresetKind::machine, R"([{"op":"replace","path":"/motion","value":"rotary"}])", "/throw",
         "'throw' where 'motion' is \"rotary\"",
         "only where 'motion' is \"free-spinning\" or \"gear-driven\""},
        {PresetKind::machine, R"([{"op":"add","path":"/gear_ratio","value":-0.1}])", "/gear_ratio",
         "'gear_ratio' where 'motion' is \"free-spinning\"", "only where 'motion' is \"gear-driven\""},
        {PresetKind::machine, R"([{"op":"replace","path":"/speed/min","value":"5000/min"}])", "/speed",
         "min 5000/min above max 4800/min", "min up to max"},
        {PresetKind::machine, R"([{"op":"replace","path":"/pads/min","value":"180 mm"}])", "/pads",
         "min 180 mm above max 150 mm", "min up to max"},
        {PresetKind::liquid, R"([{"op":"replace","path":"/abrasive/end","value":"3 um"}])", "/abrasive/end",
         "3 µm, coarser than the start", "up to start, 1.6 µm"},
        {PresetKind::liquid, R"([{"op":"remove","path":"/breakdown"}])", "", "no key 'breakdown'", "kJ/m²"},
        {PresetKind::liquid, R"([{"op":"replace","path":"/type","value":"paper"}])", "/breakdown",
         "'breakdown' where 'type' is \"paper\"", "\"liquid\""},
        {PresetKind::liquid, R"([{"op":"replace","path":"/cut_per_size","value":"4e-6"}])", "/cut_per_size",
         "\"4e-6\"", "a number, 1e-09 to 0.01 1/(Pa m)"},
        {PresetKind::paint, R"([{"op":"replace","path":"/thinning/share","value":"120 %"}])",
         "/thinning/share", "\"120 %\"", "0 % to 95 %"},
        {PresetKind::substrate, R"([{"op":"replace","path":"/polymer","value":"no"}])", "/polymer", "\"no\"",
         "true or false"},
        {PresetKind::substrate, R"([{"op":"replace","path":"/name","value":""}])", "/name", "\"\"",
         "text that is not empty"},
        {PresetKind::panel, R"([{"op":"remove","path":"/outline/3"},{"op":"remove","path":"/outline/2"}])",
         "/outline", "a list of 2", "a list of 3 or more"},
        {PresetKind::panel, R"([{"op":"replace","path":"/outline/0/at","value":[1]}])", "/outline/0/at",
         "[1]", "a point [u, v]"},
        {PresetKind::panel, R"([{"op":"replace","path":"/outline/0/at/1","value":"1 km"}])",
         "/outline/0/at/1", "unknown unit \"km\"", "-10 m to 10 m"},
        {PresetKind::panel, R"([{"op":"replace","path":"/crown/u","value":"6 mm"}])", "/crown/u", "6 mm",
         "0 for flat, or 100 mm or more"},
        {PresetKind::panel, R"([{"op":"replace","path":"/rolled_edges/0/edge","value":"botom"}])",
         "/rolled_edges/0/edge", "no edge \"botom\"", "did you mean 'bottom'?"},
        {PresetKind::technique, R"([{"op":"replace","path":"/passes","value":2.5}])", "/passes", "2.5",
         "a whole number, 1 to 1000"},
        {PresetKind::technique, R"([{"op":"replace","path":"/passes","value":0}])", "/passes", "0",
         "a whole number, 1 to 1000"},
        {PresetKind::technique, R"([{"op":"replace","path":"/hold_back/wheel arch","value":"-5"}])",
         "/hold_back/wheel arch", "\"-5\" without a unit", "-300 mm to 1 m"},
        {PresetKind::technique, R"([{"op":"replace","path":"/hold_back","value":true}])", "/hold_back",
         "true", "or an object of names of edges, body lines, rolls or rims"},
        {PresetKind::technique, R"([{"op":"replace","path":"/pattern","value":"line"}])", "/section",
         "'section' where 'pattern' is \"line\"", "\"raster\" or \"spiral\""},
        {PresetKind::technique,
         R"([{"op":"replace","path":"/pattern","value":"line"},{"op":"remove","path":"/section"}])", "",
         "no key 'line'", "from, to"},
        {PresetKind::technique,
         R"([{"op":"replace","path":"/pattern","value":"line"}, {"op":"remove","path":"/section"},
             {"op":"add","path":"/line","value":{"from":[0,0],"to":[0,"0 mm"]}}])",
         "/line", "a line that ends where it starts", "two different points"},
        {PresetKind::defects,
         R"([{"op":"replace","path":"/marks/0/kind","value":"haze"},
             {"op":"replace","path":"/marks/0/fingernail","value":true}])",
         "/marks/0/fingernail", "haze that catches a fingernail", "scratches"},
        {PresetKind::defects, R"([{"op":"add","path":"/marks/0/per_area","value":3}])", "/marks/0/per_area",
         "'per_area' where 'kind' is \"wash swirls\"", "\"stone chips\""},
        {PresetKind::defects, R"([{"op":"replace","path":"/marks/1/visible","value":"dazzling"}])",
         "/marks/1/visible", "\"dazzling\"", "faint, plain, glaring"},
        {PresetKind::technique, R"([{"op":"replace","path":"/hand/force","value":"8 N"}])", "/hand/force",
         "\"8 N\", a force, not a pure number", "0 % to 100 %"},
    };
    for (const Row& row : rows) {
        INFO(row.patch);
        const json spoilt = full_document(kind_of(row)).patch(json::parse(row.patch));
        const InputError error = refusal([&] { read_any(row.kind, spoilt, "folder/test.json"); });
        CHECK(error.file() == "folder/test.json");
        CHECK(error.place() == row.place);
        CHECK_THAT(error.found(), Contains(row.found));
        CHECK_THAT(error.allowed(), Contains(row.allowed));
    }
}

TEST_CASE("text that is not JSON is refused by line and column") {
    struct Row {
        const char *text, *place, *found;
    };
    const std::vector<Row> rows{
        {"{\n  \"kind\": \"pad\",\n  \"name\": }", "line 3, column 11",
         "text that is not JSON (unexpected '}'"},
        {"{\"a\": 1,}", "line 1, column 9", "text that is not JSON (unexpected '}'"},
        {"", "line 1, column 1", "unexpected end of input"},
        {"{\"a\": NaN}", "line 1, column 7", "invalid literal"},
        {"{\n\"a\": 1e999}", "line 2, column 10", "the number 1e999, too large to be kept"},
        {"{\"a\": 1} 2", "line 1, column 10", "text that is not JSON"},
    };
    for (const Row& row : rows) {
        INFO(row.text);
        const InputError error = refusal([&] { parse_json(row.text, "bad.json"); });
        CHECK(error.file() == "bad.json");
        CHECK(error.place() == row.place);
        CHECK_THAT(error.found(), Contains(row.found));
    }
}

TEST_CASE("a key given twice is refused, not overwritten") {
    const InputError error =
        refusal([] { parse_json(R"({"list": [0, {"foam": {"a": 1, "a": 2}}]})", "twice.json"); });
    CHECK(error.place() == "/list/1/foam/a");
    CHECK(error.found() == "the key 'a' a second time");
    CHECK_NOTHROW(parse_json(R"([{"a": 1}, {"a": 2}, {"b": {"a": 3}}])", "fine.json"));
}

TEST_CASE("JSON is read as the library itself reads it") {
    const std::string text =
        R"({"a": [1, -2, 3.5e2, true, null, "\u00b5m"],
        "b": {"c": {}, "d": [[], [[1]]]}, "e": 18446744073709551615})";
    CHECK(parse_json(text, "x.json") == json::parse(text));
}

TEST_CASE("a file that is not there, no file or nested without end is refused") {
    const ScratchFolder folder;
    CHECK(refusal([&] { load_json(folder / "none.json"); }).found() == "no such file");
    CHECK(refusal([&] { load_json(folder.path); }).found() == "something that is not a plain file");
    write_text(folder / "deep.json", std::string(100000, '['));
    CHECK(refusal([&] { load_json(folder / "deep.json"); }).found() == "values nested more than 64 deep");
    write_text(folder / "large.json", std::string((4U << 20U) + 1, ' '));
    CHECK_THAT(refusal([&] { load_json(folder / "large.json"); }).found(),
               Contains("a file of 4194305 bytes"));
}

TEST_CASE("a long value is cut in a message, between characters") {
    const std::string cut = shown(json(std::string("x") + [] {
        std::string many;
        for (int i = 0; i < 100; ++i) many += "µ";
        return many;
    }()));
    CHECK(cut.size() <= 63);
    CHECK_NOTHROW(json(cut).dump()); // throws on broken UTF-8
    CHECK_THAT(cut, Catch::Matchers::EndsWith("µ..."));
}

// ---- the library ------------------------------------------------------------------------------------

TEST_CASE("a name that does not exist brings the nearest and the list") {
    const InputError machine = refusal([] { presets().machine("da15"); });
    CHECK(machine.found() == "no machine \"da15\"");
    CHECK_THAT(machine.allowed(),
               Contains("did you mean 'da-15'?") && Contains("known machines: da-8, da-12, da-15, da-21,"));
    const InputError pad = refusal([] { presets().pad("frm-foam-150"); });
    CHECK_THAT(pad.allowed(),
               Contains("did you mean 'firm-foam-150'?") && Contains("wool-75, wool-125, wool-150"));
    CHECK(refusal([] { presets().pad("firm-foam"); }).allowed() ==
          "firm-foam-50, firm-foam-75, firm-foam-125, firm-foam-150");
    CHECK(refusal([] { presets().pad("firm-foam-80"); }).found() == "no size of 80 mm");
    CHECK_THAT(refusal([] { presets().paint("../paints/none"); }).allowed(), Contains("known paints: hard"));
    CHECK_THAT(refusal([] { preset_kind("machne"); }).allowed(), Contains("did you mean 'machines'?"));
}

TEST_CASE("a path leads to a file anywhere") {
    const ScratchFolder folder;
    json pad = preset(PresetKind::pad, "wool");
    write_text(folder / "mine.json", pad.dump());
    CHECK(presets().pad((folder / "mine.json").string() + "#125").radius_m == 0.0625);
    CHECK_THAT(refusal([&] { presets().pad((folder / "mine.json").string()); }).allowed(),
               Contains("mine.json#75"));
    pad["sizes"].erase(2);
    pad["sizes"].erase(1);
    write_text(folder / "mine.json", pad.dump());
    CHECK(presets().pad((folder / "mine.json").string()).radius_m == 0.0375);
}

TEST_CASE("a technique's paths are taken from its own folder") {
    const ScratchFolder folder;
    json technique = preset(PresetKind::technique, "polish-da-15");
    json liquid = preset(PresetKind::liquid, "polish");
    liquid["name"] = "Own polish";
    technique["liquid"] = "liquids/own.json";
    write_text(folder / "liquids/own.json", liquid.dump());
    write_text(folder / "own.json", technique.dump());
    CHECK(resolve(presets(), (folder / "own.json").string()).liquid.name == "Own polish");
}

TEST_CASE("a mesh may be given as a panel by its path, an image may not") {
    const ScratchFolder folder;
    write_text(folder / "Plate.STL", "not looked into here");
    const PanelSpec spec = presets().panel((folder / "Plate.STL").string());
    CHECK(spec.name == "Plate");
    CHECK(spec.substrate == "steel");
    CHECK(std::get<Mesh>(spec.shape).unit_m == 0.001);
    CHECK(refusal([&] { presets().panel((folder / "none.obj").string()); }).found() == "no such file");
    CHECK_THAT(refusal([&] { presets().panel((folder / "plate.png").string()); }).allowed(),
               Contains("\"height_map\"") && Contains("\"full_scale\""));
}

TEST_CASE("a list is sorted, with numbers in their order and pads once for each size") {
    std::vector<std::string> ids;
    for (const Listing& listing : presets().list(PresetKind::machine)) ids.push_back(listing.id);
    CHECK(ids == std::vector<std::string>{"da-8", "da-12", "da-15", "da-21", "da-mini-3", "da-mini-12",
                                          "gear-8", "rotary-1000", "rotary-mini"});
    const auto pads = presets().list(PresetKind::pad);
    CHECK(pads.size() == 19);
    CHECK(pads.front().id == "firm-foam-50");
    CHECK(pads.front().name == "Firm foam 50 mm");
}

TEST_CASE("the environment says where the presets are") {
    const ScratchFolder folder;
    write_text(folder / "paints/own.json", preset(PresetKind::paint, "hard").dump());
    const Environment set("SPARECOAT_PRESETS", folder.path.string());
    CHECK(Library::standard().list(PresetKind::paint).front().id == "own");
    CHECK(refusal([] { Library::standard().list(PresetKind::pad); }).found() == "no such folder");
    const Environment wrong("SPARECOAT_PRESETS", (folder / "none").string());
    CHECK_THAT(refusal([] { Library::standard(); }).allowed(), Contains("SPARECOAT_PRESETS"));
}

// ---- a technique with what it names -------------------------------------------------------------------

TEST_CASE("a technique is held to its machine") {
    const ScratchFolder folder;
    const std::string file = (folder / "t.json").string();
    const auto refused_with = [&](const char* key, const char* value) {
        json technique = preset(PresetKind::technique, "polish-da-15");
        technique[key] = value;
        write_text(file, technique.dump());
        const InputError error = refusal([&] { resolve(presets(), file); });
        CHECK(error.file() == file);
        return error;
    };
    const InputError pad = refused_with("pad", "medium-foam-75");
    CHECK(pad.place() == "/pad");
    CHECK(pad.found() == "\"medium-foam-75\", of 75 mm");
    CHECK(pad.allowed() == "a pad of 125 mm to 150 mm, which the machine da-15 takes");

    const InputError speed = refused_with("speed", "6000/min");
    CHECK(speed.place() == "/speed");
    CHECK(speed.found() == "6000/min");
    CHECK(speed.allowed() == "2000/min to 4800/min, the range of the machine da-15");

    const InputError unknown = refused_with("machine", "da-16");
    CHECK(unknown.place() == "/machine");
    CHECK(unknown.found() == "no machine \"da-16\"");
    CHECK_THAT(unknown.allowed(), Contains("did you mean 'da-12' or 'da-15'?"));
    CHECK(refused_with("liquid", "liquids/none.json").place() == "/liquid");

    json technique = preset(PresetKind::technique, "polish-da-15");
    technique["speed"] = "80 Hz"; // 4800/min, the machine's fastest, in another unit
    write_text(file, technique.dump());
    CHECK_NOTHROW(resolve(presets(), file));
}

// ---- nearest names --------------------------------------------------------------------------------------

TEST_CASE("the edit distance counts insertions, deletions, replacements and swaps") {
    CHECK(edit_distance("", "") == 0);
    CHECK(edit_distance("", "abc") == 3);
    CHECK(edit_distance("kitten", "sitting") == 3); // the textbook pair: two replacements, one insertion
    CHECK(edit_distance("wool", "wolo") == 1);
    CHECK(edit_distance("ca", "abc") == 3); // 2 if a swapped pair might be edited again
    CHECK(edit_distance("foam", "form") == edit_distance("form", "foam"));
}

TEST_CASE("nothing is suggested that is not near") {
    const std::vector<std::string> known{"speed", "force", "arm_speed"};
    CHECK(nearest_names("sped", known) == std::vector<std::string>{"speed"});
    CHECK(nearest_names("Force", known) == std::vector<std::string>{"force"});
    CHECK(nearest_names("arm", known) == std::vector<std::string>{"arm_speed"});
    CHECK(nearest_names("colour", known).empty());
    CHECK(nearest_names("", known).empty());
    CHECK(nearest_names(std::string(100000, 'x'), known).empty());
    CHECK(suggestion("colour", known, "known keys") == "known keys: speed, force, arm_speed");
}

// ---- tables against structs -----------------------------------------------------------------------------

TEST_CASE("a key that the form has and the program does not read is found out") {
    const FormPtr form = form::object(
        {form::needed("a", form::whole(0, 9), "read"), form::needed("b", form::whole(0, 9), "forgotten")});
    const json object{{"a", 1}, {"b", 2}};
    const Values values(std::get<ObjectForm>(form->is), object, {"f.json", ""});
    CHECK(values.whole("a") == 1);
    CHECK_THROWS_AS(values.done(), std::logic_error);
    CHECK(values.whole("b") == 2);
    CHECK_NOTHROW(values.done());
    CHECK_THROWS_AS(values.number("c"), std::logic_error);
}

} // namespace test_preset_refusals
