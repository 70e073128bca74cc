#include "library/sweep_design.hpp"
#include "decide/stats/designs.hpp"
#include "formats/read_document.hpp"
#include <array>
#include <cmath>
#include <fmt/format.h>
#include <set>

namespace sparecoat::library {

using nlohmann::json;

namespace {

constexpr std::array all_designs{DesignKind::grid, DesignKind::latin_hypercube, DesignKind::sobol,
                                 DesignKind::saltelli};

/// Names go into columns as they are.
void hold_name(const std::string& name, const Place& place) {
    if (name.find_first_of(",\"\n\r") != std::string::npos)
        place.refuse(shown(name), "text without commas, quotes and line feeds");
}

SweepFactor fill_factor(const Values& values) {
    SweepFactor factor;
    factor.of = preset_kind(values.text("of"));
    factor.at = values.text("at");
    if (factor.at.front() != '/')
        values.place().at("at").refuse(shown(factor.at),
                                       "a JSON pointer, which begins with \"/\": \"/force\"");
    factor.name = values.text("name", factor.at.substr(factor.at.rfind('/') + 1));
    hold_name(factor.name, values.place().at(values.has("name") ? "name" : "at"));
    if (values.has("from")) {
        factor.from = values.raw("from");
        if (!values.has("to"))
            values.place().refuse("no key 'to'", "'to' beside 'from', the other end of the range");
        factor.to = values.raw("to");
    }
    factor.logarithmic = values.text("scale") == "log";
    factor.levels = static_cast<std::size_t>(values.whole("levels"));
    if (values.has("values")) factor.values = values.raw("values").get<std::vector<json>>();
    values.done();
    return factor;
}

void fill_points(const Values& values, SweepDesign& sweep) {
    const std::string word = values.text("kind");
    sweep.kind = *std::ranges::find_if(all_designs, [&](DesignKind kind) { return name_of(kind) == word; });
    if (values.has("points")) sweep.points = static_cast<std::size_t>(values.whole("points"));
    if (values.has("seed")) sweep.point_seed = static_cast<std::uint64_t>(values.whole("seed"));
    values.done();
}

void hold_factors(const SweepDesign& sweep, const Place& place) {
    std::set<std::string> names;
    for (std::size_t k = 0; k < sweep.factors.size(); ++k)
        if (!names.insert(sweep.factors[k].name).second)
            place.at(k).refuse(fmt::format("a second factor named \"{}\"", sweep.factors[k].name),
                               "each name once");
    const std::size_t coordinates = sweep.factors.size() * (sweep.kind == DesignKind::saltelli ? 2 : 1);
    const bool by_sobol = sweep.kind == DesignKind::sobol || sweep.kind == DesignKind::saltelli;
    if (by_sobol && coordinates > most_sobol_dims)
        place.refuse(
            fmt::format("{} factors", sweep.factors.size()),
            fmt::format("at most {}", most_sobol_dims / (sweep.kind == DesignKind::saltelli ? 2 : 1)));
}

SweepDesign fill_sweep(const Values& values) {
    SweepDesign sweep;
    sweep.file = values.place().file;
    sweep.name = values.text("name");
    sweep.note = values.text("note");
    sweep.panel = reference_in(values, "panel");
    sweep.technique = reference_in(values, "technique");
    sweep.defects = reference_in(values, "defects");
    for (const json& paint : values.raw("paints")) {
        const auto reference = paint.get<std::string>();
        sweep.paints.push_back(is_path(reference) ? beside(sweep.file, reference).string() : reference);
    }
    sweep.grid_m = values.number("grid");
    sweep.air_c = values.number("air");
    sweep.reserve_um = values.number("reserve") * 1e6;
    sweep.cut_sd = std::log1p(values.number("cut_sd")); // 30 % either way is ln 1.3
    sweep.hands = static_cast<std::size_t>(values.whole("hands"));
    sweep.seed = static_cast<std::uint64_t>(values.whole("seed"));
    fill_points(values.object("design"), sweep);
    for (const Values& factor : values.objects("factors")) sweep.factors.push_back(fill_factor(factor));
    hold_factors(sweep, values.place().at("factors"));
    return sweep;
}

} // namespace

std::string_view name_of(DesignKind kind) {
    switch (kind) {
    case DesignKind::grid: return "grid";
    case DesignKind::latin_hypercube: return "latin hypercube";
    case DesignKind::sobol: return "sobol";
    case DesignKind::saltelli: return "saltelli";
    }
    return "";
}

SweepDesign read_sweep(const json& document, const std::string& file) {
    return read_document(PresetKind::sweep, document, file, fill_sweep);
}

} // namespace sparecoat::library
