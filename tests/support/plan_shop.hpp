#pragma once
// A shop of three steps with small panels of its own, and plans for them.
#include "plan/plan.hpp"
#include "support/files.hpp"
#include "support/places.hpp"
#include "support/three_steps.hpp"
#include <fmt/format.h>
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

namespace sparecoat::test {
using namespace cli; // as in worlds.hpp
using nlohmann::json;

inline const Library& shop_presets() {
    static const Library library(source_at("presets"));
    return library;
}

/// A shop of three steps and panels of its own, small so that a plan takes no time.
class Shop {
public:
    Shop() {
        write("kit.json", three_steps_kit());
        panel("lid", "steel", 520, 440);
        panel("flap", "steel", 460, 420);
        panel("cover", "plastic", 460, 420);
        write("chips.json",
              R"({"kind": "defects", "name": "Chips", "marks": [{"kind": "stone chips",
                "visible": "plain"}]})");
    }
    std::string path(const std::string& file) const { return (folder_.path / file).string(); }
    void write(const std::string& file, const std::string& text) const {
        write_text(folder_.path / file, text);
    }
    void panel(const std::string& name, const char* substrate, int width_mm, int height_mm) const {
        const auto corner = [](int u, int v, const char* edge) {
            return json{{"at", {fmt::format("{} mm", u), fmt::format("{} mm", v)}},
                        {"radius", "10 mm"},
                        {"edge", edge}};
        };
        write(name + ".json", json{{"kind", "panel"},
                                   {"name", name},
                                   {"substrate", substrate},
                                   {"outline",
                                    {corner(0, 0, "bottom"), corner(width_mm, 0, "right"),
                                     corner(width_mm, height_mm, "top"), corner(0, height_mm, "left")}}}
                                  .dump());
    }

    SectionRecord record(const std::vector<RecordedPanel>& panels) const {
        SectionRecord out;
        out.name = "a minibus", out.kit = path("kit.json"), out.panels = panels;
        return out;
    }
    RecordedPanel entry(const std::string& panel, const std::string& defects,
                        const std::string& paint = "typical") const {
        RecordedPanel out;
        out.panel = path(panel + ".json"), out.paint = paint, out.defects = defects, out.clean = true;
        return out;
    }

private:
    ScratchFolder folder_;
};

/// What the tests of one process worked out already.
inline WorkedSets& worked_sets() {
    static WorkedSets kept;
    return kept;
}

inline PlanTerms quick() {
    PlanTerms terms;
    terms.pairs = 4;
    return terms;
}

inline VehiclePlan plan_of(const SectionRecord& record, const PlanTerms& terms = quick(), int threads = 0,
                           std::vector<PanelTask> tasks = {}) {
    tasks.resize(record.panels.size());
    return plan_vehicle(shop_presets(), record, tasks, terms, threads, {}, &worked_sets());
}

inline const char* const finishing = "da-15+soft-foam-150+finishing-polish";
inline const char* const polish = "da-15+medium-foam-150+polish";
inline const char* const compound = "da-15+microfibre-cutting-150+cutting-compound";

} // namespace sparecoat::test
