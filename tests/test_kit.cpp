// What a shop owns, and the steps that it can do with it.
#include "formats/reader.hpp"
#include "library/kit.hpp"
#include "library/presets.hpp"
#include "support/files.hpp"
#include "support/places.hpp"
#include "support/refusal.hpp"
#include "support/worlds.hpp"
#include <algorithm>
#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>
#include <set>

namespace test_kit {
using namespace sparecoat::cli;
using namespace sparecoat::test;
using Catch::Matchers::Contains;
using nlohmann::json;

namespace {

Library presets() { return Library(source_at("presets")); }

json small_kit() {
    return json::parse(R"({
        "kind": "kit", "name": "Two machines", "machines": [
            {"machine": "da-15", "speed": "4500/min", "force": "45 N", "arm_speed": "40 mm/s"},
            {"machine": "da-mini-12", "speed": "4500/min", "force": "15 N", "arm_speed": "30 mm/s",
                "passes": 6}],
        "pads": ["medium-foam-150", "medium-foam-75"], "liquids": ["polish", "p2000"]})");
}

std::vector<KitStep> steps(const json& kit) { return steps_of(presets(), read_kit(kit, "kit.json")); }

std::vector<std::string> ids(const std::vector<KitStep>& steps) {
    std::vector<std::string> out;
    for (const KitStep& step : steps) out.push_back(step.id);
    return out;
}

InputError refused(const json& kit) {
    return refusal([&] { steps(kit); });
}

} // namespace

TEST_CASE("a kit's steps are every pairing that fits, by machines, then pads, then liquids") {
    const std::vector<KitStep> found = steps(small_kit());
    CHECK(ids(found) ==
          std::vector<std::string>{"da-15+medium-foam-150+polish", "da-15+medium-foam-150+p2000",
                                   "da-mini-12+medium-foam-75+polish", "da-mini-12+medium-foam-75+p2000"});
    CHECK(found[0].words == "polish on medium foam 150 mm (free-spinning orbital, 15 mm throw)");
    CHECK(found[2].pad_radius_m == Approx(0.0375));
}

TEST_CASE("a kit's step is worked as the shop usually works its machine, by a steady hand") {
    const Technique technique = steps(small_kit())[2].technique;
    CHECK(technique.machine == "da-mini-12");
    CHECK(technique.force_n == 15);
    CHECK(technique.arm_speed_m_s == Approx(0.03));
    CHECK(technique.speed_rad_s == Approx(4500 * per_min));
    CHECK(technique.passes == 6);
    CHECK(technique.crossed);
    CHECK(technique.overlap == 0.5);
    CHECK(technique.pattern == Pattern::raster);
    CHECK(technique.hand.force == 0);
    CHECK_FALSE(technique.section_centre);
}

TEST_CASE("a machine may stand in a kit more than once, worked otherwise with other pads and liquids") {
    const std::vector<KitStep> found = steps_of(presets(), "workshop");
    CHECK(found.size() == 8);
    const Technique soft = step_named(found, "da-15+soft-foam-150+finishing-polish").technique;
    const Technique medium = step_named(found, "da-15+medium-foam-150+polish").technique;
    CHECK(soft.force_n < medium.force_n);
    CHECK(std::ranges::count_if(found, [](const KitStep& s) { return s.id.starts_with("rotary-1000+"); }) ==
          1);
    CHECK(refusal([&] { step_named(found, "da-15+medium-foam-150+polsh"); })
              .allowed()
              .starts_with("did you mean 'da-15+medium-foam-150+polish'"));
}

TEST_CASE("a kit that does not go together is refused at its own line") {
    json kit = small_kit();
    kit["machines"][0]["speed"] = "6000/min";
    CHECK(refused(kit).place() == "/machines/0/speed");
    kit = small_kit();
    kit["pads"].push_back("wool-150");
    kit["machines"][0]["pads"] = {"medium-foam-150"};
    CHECK(refused(kit).place() == "/pads/2");
    CHECK_THAT(refused(kit).found(),
               Contains("wool-150") && Contains("which no machine of the kit is used with"));
    kit = small_kit();
    kit["machines"][0]["pads"] = {"medium-foam-75"};
    CHECK(refused(kit).place() == "/machines/0/pads/0");
    kit["machines"][0]["pads"] = {"medium-foam-15"};
    CHECK_THAT(refused(kit).allowed(), Contains("medium-foam-150"));
    kit = small_kit();
    kit["machines"].push_back(kit["machines"][0]);
    CHECK(refused(kit).place() == "/machines/2");
    kit = small_kit();
    kit["machines"][0]["liquids"] = kit["machines"][1]["liquids"] = {"polish"};
    CHECK(refused(kit).place() == "/liquids/1");
    kit["machines"][0]["liquids"] = {"p200"};
    CHECK(refused(kit).place() == "/machines/0/liquids/0");
    kit = small_kit();
    kit["liquids"][1] = "polsh";
    CHECK(refused(kit).file() == "kit.json");
    CHECK(refused(kit).place() == "/liquids/1");
    CHECK_THAT(refused(kit).allowed(), Contains("'polish'"));
    kit = small_kit();
    kit["liquids"] = {"polish", "polish"};
    CHECK(refused(kit).place() == "/liquids/1");
}

TEST_CASE("a kit may name files of its own, from its folder, and steps keep the names that it gives") {
    const ScratchFolder folder;
    std::filesystem::create_directories(folder.path / "mine");
    write_text(folder.path / "mine/thin.json", bytes_of(source_at("presets/liquids/polish.json")));
    json kit = small_kit();
    kit["liquids"] = {"mine/thin.json"};
    write_text(folder.path / "kit.json", kit.dump());
    const std::vector<KitStep> found = steps_of(presets(), (folder.path / "kit.json").string());
    CHECK(found.front().id == "da-15+medium-foam-150+mine/thin.json");
    CHECK(found.front().technique.liquid == (folder.path / "mine/thin.json").string());
}

TEST_CASE("a gauge's usual loss is as sure as its readings make it") {
    json kit = small_kit();
    CHECK_FALSE(read_kit(kit, "kit.json").gauge);
    kit["gauge"] = {{"repeatability", "2 um"}, {"readings", 8}};
    // Two means of eight readings each: 2 sqrt(1/8 + 1/8) = 1.
    CHECK(read_kit(kit, "kit.json").gauge->loss_sd_um() == Approx(1.0));
}

} // namespace test_kit
