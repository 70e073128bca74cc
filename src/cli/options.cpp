#include "cli/options.hpp"
#include "cli/usage.hpp"
#include "units/error.hpp"
#include "units/quantity.hpp"
#include <CLI/CLI.hpp>
#include <limits>

namespace sparecoat::cli {
namespace {

double air_temperature(const std::string& text) {
    const char* const allowed = "a temperature from 0 to 50 °C, such as \"28 C\"";
    try {
        const double air_c = parse_quantity(text, Dim::temperature);
        if (air_c >= 0 && air_c <= 50) return air_c;
    } catch (const std::invalid_argument& error) {
        throw InputError("", "--air", error.what(), allowed);
    }
    throw InputError("", "--air", "\"" + text + "\"", allowed);
}

} // namespace

void CommonOptions::add_to(CLI::App& command) {
    command.add_option("--grid", grid, "cell size, 1 mm to 4 mm")->type_name("LENGTH")->capture_default_str();
    command.add_option("--unit", unit, "film thickness in um or mil")
        ->type_name("um|mil")
        ->capture_default_str();
}

void CommonOptions::check() {
    grid_m = grid_spacing(grid);
    demand_one_of("--unit", unit, {"um", "mil"});
    film_unit = unit == "mil" ? FilmUnit::mil : FilmUnit::um;
}

void ThreadsOption::add_to(CLI::App& command) {
    command.add_option("--threads", threads, "threads to use, 0: all; the result is the same")
        ->type_name("NUMBER")
        ->capture_default_str();
}

int ThreadsOption::count() const { return static_cast<int>(whole_number("--threads", threads, 1024)); }

void WorkOptions::add_to(CLI::App& command) {
    command
        .add_option("--panel", panel,
                    "panel preset, a panel JSON, OBJ or STL file, or a plate such as \"1200x800 mm\"")
        ->type_name("PANEL")
        ->required();
    command.add_option("--technique", technique, "technique preset or file")
        ->type_name("TECHNIQUE")
        ->required();
    command.add_option("--paint", paint, "paint preset or file")->type_name("PAINT")->capture_default_str();
    command
        .add_option(
            "--readings", readings,
            "gauge readings of this panel, with or without places, instead of the paint's nominal film")
        ->type_name("CSV");
    command.add_option("--air", air, "the workshop's temperature, and the panel's before work")
        ->type_name("TEMPERATURE")
        ->capture_default_str();
    command.add_option("--path", path, "recorded arm path instead of the technique's own")->type_name("CSV");
    command.add_option("--seed", seed, "seed of the hand's variation")
        ->type_name("NUMBER")
        ->capture_default_str();
}

RunRequest WorkOptions::request(double grid_m) const {
    if (path) demand_some("--path", *path, "a path recorded as CSV");
    if (readings) demand_some("--readings", *readings, "gauge readings as CSV");
    RunRequest out;
    out.panel = panel, out.technique = technique, out.paint = paint;
    if (path) out.path_csv = *path;
    if (readings) out.readings = load_gauge_csv(*readings);
    out.grid_m = grid_m;
    out.air_c = air_temperature(air);
    out.seed = whole_number("--seed", seed, std::numeric_limits<std::uint64_t>::max());
    return out;
}

double decimal(const std::string& option, const std::string& value, double low, double high,
               const char* allowed) {
    try {
        const double number = parse_quantity(value, Dim::none);
        if (number >= low && number <= high) return number;
    } catch (const std::invalid_argument&) {}
    throw InputError("", option, "\"" + value + "\"", allowed);
}

double film_um(const std::string& option, const std::string& value, double low_um, double high_um,
               const char* allowed) {
    try {
        const double um = parse_quantity(value, Dim::length) * 1e6;
        if (um >= low_um && um <= high_um) return um;
    } catch (const std::invalid_argument& error) {
        throw InputError("", option, error.what(), allowed);
    }
    throw InputError("", option, "\"" + value + "\"", allowed);
}

} // namespace sparecoat::cli
