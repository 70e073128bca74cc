// The program as a person runs it: what it prints, what it writes, how it ends.
#include "run/run_job.hpp"
#include "support/files.hpp"
#include "support/nonempty.hpp"
#include "support/places.hpp"
#include "support/process.hpp"
#include "support/worlds.hpp"
#include "units/quantity.hpp"
#include <algorithm>
#include <array>
#include <catch2/catch.hpp>
#include <chrono>
#include <cmath>
#include <csignal>
#include <cstdio>
#include <cstring>
#include <filesystem>
#include <fmt/format.h>
#include <iterator>
#include <map>
#include <memory>
#include <nlohmann/json.hpp>
#include <png.h>
#include <regex>
#include <set>
#include <sstream>
#include <thread>
#include <unistd.h>

#define VALIJSON_USE_EXCEPTIONS 1 // NOLINT(cppcoreguidelines-macro-usage)
#include <valijson/adapters/nlohmann_json_adapter.hpp>
#include <valijson/schema.hpp>
#include <valijson/schema_parser.hpp>
#include <valijson/validation_results.hpp>
#include <valijson/validator.hpp>

namespace fs = std::filesystem;
using Catch::Matchers::Contains;
using Catch::Matchers::StartsWith;
using namespace sparecoat::cli;
using namespace sparecoat::test;
using nlohmann::json;

namespace {

const fs::path source_dir = source_at("");

/// Every file below a folder with its bytes, and every folder, hidden or not.
std::map<std::string, std::string> tree(const fs::path& folder) {
    std::map<std::string, std::string> entries;
    for (const auto& entry : fs::recursive_directory_iterator(folder)) {
        const std::string name = fs::relative(entry.path(), folder).string();
        entries[name] = entry.is_directory() ? "a folder" : bytes_of(entry.path());
    }
    return entries;
}

/// Names alone where trees differ: their bytes would flood the report.
std::vector<std::string> differences(const std::map<std::string, std::string>& a,
                                     const std::map<std::string, std::string>& b) {
    std::vector<std::string> names;
    for (const auto& [name, bytes] : a)
        if (const auto other = b.find(name); other == b.end() || other->second != bytes)
            names.push_back(name);
    for (const auto& [name, bytes] : b)
        if (!a.contains(name)) names.push_back(name);
    return names;
}

const std::vector<std::string> same;

// ---- running the program

/// A folder to work in, gone with the test; what the program prints lies beside it.
class Desk {
public:
    Desk() { fs::create_directories(path()); }

    fs::path path() const { return root_ / "desk"; }
    fs::path operator/(const std::string& name) const { return path() / name; }
    void write(const std::string& name, const std::string& text) const { write_text(path() / name, text); }
    json read(const std::string& name) const { return json::parse(bytes_of(path() / name)); }

    /// Starts the program in this folder.
    pid_t start(std::vector<std::string> args) const {
        return start_program(built_program(), std::move(args), {path(), root_ / "out", root_ / "err"});
    }
    Ended wait(pid_t pid) const {
        const int code = wait_for(pid);
        return {code, bytes_of(root_ / "out"), bytes_of(root_ / "err")};
    }
    Ended run(std::vector<std::string> args) const { return wait(start(std::move(args))); }

    /// Runs the program with no file allowed to grow over so many KiB, as a full disk would have it.
    Ended run_with_little_room(int kib, std::vector<std::string> args) const {
        // The shell's signal for it is ignored, so that the write fails instead of killing the program.
        std::vector<std::string> all = {
            "-c", fmt::format("trap '' XFSZ; ulimit -f {}; exec \"$0\" \"$@\"", 2 * kib), built_program()};
        all.insert(all.end(), args.begin(), args.end());
        return run_program("/bin/sh", all, path());
    }

private:
    ScratchFolder root_;
};

// ---- inputs

/// A quick wipe over a whole panel; changes take the place of its keys, null takes one away.
std::string quick_technique(const json& changes = json::object()) {
    json technique = {
        {"kind", "technique"},
        {"name", "Quick wipe"},
        {"machine", "da-15"},
        {"pad", "medium-foam-150"},
        {"liquid", "polish"},
        {"force", "45 N"},
        {"speed", "4500/min"},
        {"arm_speed", "200 mm/s"},
        {"passes", 1},
        {"hand", {{"force", "8 %"}, {"arm_speed", "10 %"}, {"tilt", "0.5 deg"}, {"spacing", "5 mm"}}}};
    technique.merge_patch(changes);
    return technique.dump();
}

/// A plain plate as a panel file.
json plate_file(double width_mm, double height_mm) {
    const auto corner = [](double u_mm, double v_mm, const char* edge) {
        return json{{"at", {fmt::format("{} mm", u_mm), fmt::format("{} mm", v_mm)}}, {"edge", edge}};
    };
    return {{"kind", "panel"},
            {"name", "Plate"},
            {"substrate", "steel"},
            {"outline",
             {corner(0, 0, "bottom"), corner(width_mm, 0, "right"), corner(width_mm, height_mm, "top"),
              corner(0, height_mm, "left")}}};
}

/// A sheet 400 x 300 mm with a crown of 3 m radius, as triangles. In mm.
struct CapMesh {
    static constexpr int columns = 20, rows = 15;
    static constexpr double step_mm = 20;

    static std::array<double, 3> point(int i, int j) {
        const double x = step_mm * i, y = step_mm * j;
        return {x, y, -(std::pow(x - 200, 2) + std::pow(y - 150, 2)) / (2 * 3000)};
    }
    static std::vector<std::array<std::array<double, 3>, 3>> triangles() {
        std::vector<std::array<std::array<double, 3>, 3>> out;
        for (int j = 0; j < rows; ++j)
            for (int i = 0; i < columns; ++i) {
                out.push_back({point(i, j), point(i + 1, j), point(i + 1, j + 1)});
                out.push_back({point(i, j), point(i + 1, j + 1), point(i, j + 1)});
            }
        return out;
    }
    static std::string obj() {
        std::string text = "o sheet\n";
        int n = 0;
        for (const auto& t : triangles()) {
            for (const auto& p : t) text += fmt::format("v {} {} {}\n", p[0], p[1], p[2]);
            text += fmt::format("f {} {} {}\n", n + 1, n + 2, n + 3);
            n += 3;
        }
        return text;
    }
    static std::string stl() {
        std::string text = "solid sheet\n";
        for (const auto& t : triangles()) {
            text += "facet normal 0 0 1\nouter loop\n";
            for (const auto& p : t) text += fmt::format("vertex {} {} {}\n", p[0], p[1], p[2]);
            text += "endloop\nendfacet\n";
        }
        return text + "endsolid sheet\n";
    }
};

/// The same sheet as a picture of 2 mm pixels, 5 pixels of nothing round it; a grey step is 1 µm.
void write_sheet_png(const fs::path& path) {
    constexpr int width = 210, height = 160, margin = 5;
    const std::unique_ptr<std::FILE, int (*)(std::FILE*)> file(std::fopen(path.c_str(), "wb"), &std::fclose);
    png_structp png = png_create_write_struct(PNG_LIBPNG_VER_STRING, nullptr, nullptr, nullptr);
    png_infop info = png_create_info_struct(png);
    png_init_io(png, file.get());
    png_set_IHDR(png, info, width, height, 16, PNG_COLOR_TYPE_GRAY, PNG_INTERLACE_NONE,
                 PNG_COMPRESSION_TYPE_DEFAULT, PNG_FILTER_TYPE_DEFAULT);
    png_write_info(png, info);
    for (int j = 0; j < height; ++j) {
        std::vector<png_byte> row;
        for (int i = 0; i < width; ++i) {
            const bool panel = i >= margin && i < width - margin && j >= margin && j < height - margin;
            const double x = 2 * (i - width / 2), y = 2 * (j - height / 2);
            const int grey = panel ? 30000 - static_cast<int>(1000 * (x * x + y * y) / (2 * 3000)) : 0;
            row.push_back(static_cast<png_byte>(grey >> 8));
            row.push_back(static_cast<png_byte>(grey & 255));
        }
        png_write_row(png, row.data());
    }
    png_write_end(png, nullptr);
    png_destroy_write_struct(&png, &info);
}

/// A hand's recording: straight along u at 50 mm/s, a row every 0.1 s, 6 s long.
std::string recording(const std::string& more_columns = "", const std::string& more_values = "") {
    std::string text = "t_s,x_mm,y_mm" + more_columns + "\n";
    for (int k = 0; k <= 60; ++k)
        text += fmt::format("{},{},250{}\n", 12 + 0.1 * k, 150 + 5 * k, more_values);
    return text;
}

// ---- what a run leaves

std::vector<std::string> deviations(const json& document, const fs::path& schema_path) {
    using Adapter = valijson::adapters::NlohmannJsonAdapter;
    const json text = json::parse(bytes_of(schema_path));
    valijson::Schema schema;
    // A schema may lean on another one beside it.
    valijson::SchemaParser(valijson::SchemaParser::kDraft7)
        .populateSchema(
            Adapter(text), schema,
            [](const std::string& uri) -> const json* {
                return new json(json::parse(bytes_of(source_dir / "docs" / "schema" / uri)));
            },
            [](const json* fetched) { delete fetched; });
    valijson::ValidationResults results;
    valijson::Validator().validate(schema, Adapter(document), &results);
    std::vector<std::string> out;
    valijson::ValidationResults::Error error;
    while (results.popError(error)) {
        std::string place;
        for (const std::string& part : error.context) place += part;
        out.push_back(place + ": " + error.description);
    }
    return out;
}

const fs::path summary_schema = source_dir / "docs" / "schema" / "summary.schema.json";
const fs::path risk_schema = source_dir / "docs" / "schema" / "risk.schema.json";
const fs::path advice_schema = source_dir / "docs" / "schema" / "advice.schema.json";
const fs::path plan_schema = source_dir / "docs" / "schema" / "plan.schema.json";
const fs::path visit_plan_schema = source_dir / "docs" / "schema" / "visit-plan.schema.json";
const fs::path fit_schema = source_dir / "docs" / "schema" / "fit.schema.json";
const fs::path evenness_schema = source_dir / "docs" / "schema" / "evenness.schema.json";
const fs::path sweep_schema = source_dir / "docs" / "schema" / "sweep-report.schema.json";
const fs::path comparison_schema = source_dir / "docs" / "schema" / "comparison.schema.json";
const fs::path compare_schema = source_dir / "docs" / "schema" / "compare.schema.json";

/// A float32 array as NumPy writes it.
struct Array {
    std::size_t rows = 0, columns = 0;
    std::vector<float> values;

    explicit Array(const fs::path& npy) {
        const std::string bytes = bytes_of(npy);
        REQUIRE(bytes.substr(0, 6) == "\x93NUMPY");
        const std::size_t start =
            10 + static_cast<unsigned char>(bytes[8]) + 256u * static_cast<unsigned char>(bytes[9]);
        std::smatch shape;
        const std::string header = bytes.substr(10, start - 10);
        REQUIRE(std::regex_search(header, shape, std::regex(R"('<f4'.*\((\d+), (\d+)\))")));
        rows = std::stoul(shape[1]), columns = std::stoul(shape[2]);
        values.resize(rows * columns);
        REQUIRE(bytes.size() == start + 4 * values.size());
        std::memcpy(values.data(), bytes.data() + start,
                    4 * values.size()); // the tests run on little-endian machines
    }
    double at(std::size_t cell) const { return static_cast<double>(values[cell]); }
};

std::size_t cell_of(const json& grid, const json& place) {
    const auto along = [&](const char* axis) {
        const double cells = (place[axis].get<double>() - grid["first_cell"][axis].get<double>()) /
                             grid["spacing_mm"].get<double>();
        REQUIRE(std::abs(cells - std::round(cells)) < 1e-6); // places are cell centres
        return static_cast<std::size_t>(std::lround(cells));
    };
    return along("y_mm") * grid["cells_u"].get<std::size_t>() + along("x_mm");
}

/// Holds factors in a summary to those of the exported fields.
void check_factors(const json& factors, double removed_um, const fs::path& folder, std::size_t cell) {
    const double time = Array(folder / "contact_time_s.npy").at(cell);
    const double pressure_time = Array(folder / "pressure_time_pa_s.npy").at(cell);
    const double friction_path = Array(folder / "friction_path_pa_m.npy").at(cell);
    const double removed = Array(folder / "film_lost_um.npy").at(cell);
    const double cold = Array(folder / "film_lost_cold_um.npy").at(cell);
    // The fields are written as they are, so only the decimal text in between can differ, and it does not.
    constexpr double rounding = 1e-12;
    CHECK(removed_um == Approx(removed).epsilon(rounding));
    CHECK(factors["time_s"].get<double>() == Approx(time).epsilon(rounding));
    CHECK(factors["pressure_pa"].get<double>() == Approx(pressure_time / time).epsilon(rounding));
    CHECK(factors["speed_m_s"].get<double>() == Approx(friction_path / pressure_time).epsilon(rounding));
    CHECK(factors["cut_per_pa"].get<double>() == Approx(cold * 1e-6 / friction_path).epsilon(rounding));
    CHECK(factors["heat"].get<double>() == Approx(removed / cold).epsilon(rounding));
    const double product_um = factors["time_s"].get<double>() * factors["pressure_pa"].get<double>() *
                              factors["speed_m_s"].get<double>() * factors["cut_per_pa"].get<double>() *
                              factors["heat"].get<double>() * 1e6;
    CHECK(product_um == Approx(removed_um).epsilon(1e-5)); // as promised
    CHECK(factors["product_um"].get<double>() == Approx(product_um).epsilon(rounding));
}

void check_spot(const json& spot, const json& open, const json& grid, const fs::path& folder) {
    const std::size_t cell = cell_of(grid, spot);
    const double removed_um = spot["removed_um"], before_um = spot["clear_before_um"];
    check_factors(spot["factors"], removed_um, folder, cell);
    CHECK(before_um == Array(folder / "clear_before_um.npy").at(cell));
    CHECK(spot["clear_left_um"].get<double>() == Approx(before_um - removed_um).margin(1e-9));
    CHECK(spot["through_clear"].get<bool>() == (removed_um >= before_um));
    CHECK(spot["share_of_clear"].get<double>() == Approx(removed_um / before_um).epsilon(1e-12));

    const json& split = spot["against_open_panel"];
    double product = split["film"].get<double>();
    for (const auto& [name, factor] : {std::pair{"time", "time_s"},
                                       {"pressure", "pressure_pa"},
                                       {"speed", "speed_m_s"},
                                       {"cut", "cut_per_pa"},
                                       {"heat", "heat"}}) {
        const double ratio = spot["factors"][factor].get<double>() / open["factors"][factor].get<double>();
        CHECK(split[name].get<double>() == Approx(ratio).epsilon(1e-12));
        product *= split[name].get<double>();
    }
    const double open_share = open["median_um"].get<double>() / open["clear_before_um"].get<double>();
    CHECK(split["all"].get<double>() == Approx(product).epsilon(1e-12));
    CHECK(split["all"].get<double>() == Approx(removed_um / before_um / open_share).epsilon(1e-9));
}

/// Every cell's five factors, worked out from the exported fields, multiply to its loss.
void check_every_cell(const json& summary, const fs::path& folder) {
    const Array time(folder / "contact_time_s.npy"), pressure_time(folder / "pressure_time_pa_s.npy"),
        friction_path(folder / "friction_path_pa_m.npy"), removed(folder / "film_lost_um.npy"),
        cold(folder / "film_lost_cold_um.npy");
    REQUIRE(removed.rows == summary["grid"]["cells_v"].get<std::size_t>());
    REQUIRE(removed.columns == summary["grid"]["cells_u"].get<std::size_t>());
    double worst = 0, volume_mm3 = 0;
    const double cell_mm2 = std::pow(summary["grid"]["spacing_mm"].get<double>(), 2);
    for (std::size_t k = 0; k < removed.values.size(); ++k) {
        volume_mm3 += removed.at(k) * 1e-3 * cell_mm2;
        if (removed.at(k) <= 0) continue;
        const double pressure_pa = pressure_time.at(k) / time.at(k);
        const double speed_m_s = friction_path.at(k) / pressure_time.at(k);
        const double cut_per_pa = cold.at(k) * 1e-6 / friction_path.at(k), heat = removed.at(k) / cold.at(k);
        const double product_um = time.at(k) * pressure_pa * speed_m_s * cut_per_pa * heat * 1e6;
        if (!(std::abs(product_um / removed.at(k) - 1) <= worst))
            worst = std::abs(product_um / removed.at(k) - 1);
    }
    CHECK(worst < 1e-5); // as promised
    CHECK(summary["removed"]["volume_mm3"].get<double>() == Approx(volume_mm3).epsilon(1e-9));
    // As promised: two sums of the same volume, over cells in float32 and over steps in double.
    CHECK(summary["removed"]["volume_by_work_mm3"].get<double>() == Approx(volume_mm3).epsilon(0.005));
}

const std::set<std::string> files_of_a_run = {"clear_before_um.npy",
                                              "clear_left.png",
                                              "clear_left_um.npy",
                                              "clear_sd_um.npy",
                                              "contact_time_s.npy",
                                              "edge_distance_m.npy",
                                              "fields.vti",
                                              "film_lost.png",
                                              "film_lost_um.npy",
                                              "film_lost_cold_um.npy",
                                              "peak_film_c.npy",
                                              "friction_path_pa_m.npy",
                                              "height_m.npy",
                                              "inside.npy",
                                              "path.csv",
                                              "pressure_time_pa_s.npy",
                                              "summary.json",
                                              "trace.csv"};

/// Everything that every output folder keeps to. @return its summary
json checked_run(const fs::path& folder) {
    INFO(folder);
    std::set<std::string> files;
    for (const auto& entry : fs::directory_iterator(folder)) files.insert(entry.path().filename());
    CHECK(files == files_of_a_run);
    for (const char* picture : {"film_lost.png", "clear_left.png"})
        CHECK(bytes_of(folder / picture).substr(0, 8) == "\x89PNG\r\n\x1a\n");

    const json summary = json::parse(bytes_of(folder / "summary.json"));
    CHECK(deviations(summary, summary_schema) == same);
    const json &open = summary["open_panel"], &grid = summary["grid"], &worst = summary["worst"];
    const std::size_t open_cell = cell_of(grid, open["at"]);
    check_factors(open["factors"], open["median_um"], folder, open_cell);
    CHECK(open["clear_before_um"].get<double>() == Array(folder / "clear_before_um.npy").at(open_cell));
    REQUIRE_FALSE(worst.empty());
    for (std::size_t k = 0; k < worst.size(); ++k) {
        INFO("worst spot " << k);
        check_spot(worst[k], open, grid, folder);
        if (k > 0) CHECK(worst[k]["share_of_clear"] <= worst[k - 1]["share_of_clear"]);
    }
    check_every_cell(summary, folder);
    return summary;
}

/// All that a run that goes well may say on stderr, and that only if it takes long.
const std::regex progress_or_nothing(R"((Simulating \.\.\. \d+ %\n)*)");

/// A run into `out`, at 4 mm, that is to go well.
json ran(const Desk& desk, std::vector<std::string> args, const std::string& out = "out") {
    args.insert(args.begin(), {"run", "--grid", "4 mm", "--out", out});
    const Ended ended = desk.run(args);
    INFO(ended.err);
    REQUIRE(ended.code == 0);
    CHECK(std::regex_match(ended.err, progress_or_nothing));
    return checked_run(desk / out);
}

} // namespace

// ---- what it runs on

TEST_CASE("every panel preset runs, and all it writes agrees with itself", "[cli]") {
    const Desk desk;
    desk.write("quick.json", quick_technique());
    for (const char* panel : {"test-plate", "front-wing", "rear-door", "cab-door", "sliding-door", "bonnet",
                              "roof-skin", "bumper-corner"}) {
        const json summary = ran(desk, {"--panel", panel, "--technique", "quick.json"}, panel);
        CHECK(summary["inputs"]["panel"] == panel);
        CHECK(summary["inputs"]["technique"]["id"] == "quick.json");
    }
}

TEST_CASE("a technique preset, a paint preset and the orbit-by-orbit integrator run", "[cli]") {
    const Desk desk;
    desk.write("small.json", plate_file(200, 160).dump());
    const json summary = ran(desk, {"--panel", "small.json", "--technique", "finishing-pass", "--paint",
                                    "old-thin", "--integrator", "resolved"});
    CHECK(summary["inputs"]["integrator"] == "resolved");
    CHECK(summary["inputs"]["paint"] == "old-thin");
    CHECK(summary["inputs"]["technique"]["speed_per_min"].get<double>() > 0);
}

TEST_CASE("a mesh runs as it is or in a panel file, as OBJ or STL, all with the same result", "[cli]") {
    const Desk desk;
    desk.write("quick.json", quick_technique());
    desk.write("sheet.obj", CapMesh::obj());
    desk.write("sheet.stl", CapMesh::stl());
    desk.write("panel.json", json{{"kind", "panel"},
                                  {"name", "sheet"},
                                  {"substrate", "steel"},
                                  {"mesh", {{"file", "sheet.stl"}, {"unit", "1 mm"}}}}
                                 .dump());
    const json by_obj = ran(desk, {"--panel", "sheet.obj", "--technique", "quick.json"}, "by-obj");
    const json by_stl = ran(desk, {"--panel", "./sheet.stl", "--technique", "quick.json"}, "by-stl");
    ran(desk, {"--panel", "panel.json", "--technique", "quick.json"}, "by-file");
    // 400 x 300 mm; the pad's rim keeps inside the edges and so leaves the corners out.
    CHECK(by_obj["removed"]["worked_area_m2"].get<double>() == Approx(0.12).epsilon(0.06));
    // The STL repeats its corners as float text, which may cost the last bits of a height.
    CHECK(by_stl["open_panel"]["median_um"].get<double>() ==
          Approx(by_obj["open_panel"]["median_um"].get<double>()).epsilon(1e-4));
    CHECK(bytes_of(desk / "by-file/film_lost_um.npy") == bytes_of(desk / "by-stl/film_lost_um.npy"));
}

TEST_CASE("a 16-bit height map runs, and takes as much as the mesh of the same sheet", "[cli]") {
    const Desk desk;
    desk.write("quick.json", quick_technique());
    desk.write("sheet.obj", CapMesh::obj());
    write_sheet_png(desk / "sheet.png");
    desk.write("map.json",
               json{{"kind", "panel"},
                    {"name", "sheet"},
                    {"substrate", "aluminium"},
                    {"height_map", {{"file", "sheet.png"}, {"pixel", "2 mm"}, {"full_scale", "65.535 mm"}}}}
                   .dump());
    const json by_map = ran(desk, {"--panel", "map.json", "--technique", "quick.json"}, "by-map");
    const json by_mesh = ran(desk, {"--panel", "sheet.obj", "--technique", "quick.json"}, "by-mesh");
    CHECK(by_map["inputs"]["substrate"] == "aluminium");
    // The traced edge is rounder at the corners and the mesh is faceted; the sheet is the same.
    CHECK(by_map["removed"]["volume_mm3"].get<double>() ==
          Approx(by_mesh["removed"]["volume_mm3"].get<double>()).epsilon(0.03));
}

TEST_CASE("a recorded path runs in the technique's place, with its own force and speed where it has them",
          "[cli]") {
    const Desk desk;
    desk.write("quick.json", quick_technique());
    desk.write("plain.csv", recording());
    desk.write("light.csv", recording(",force_n,rpm", ",22.5,3000"));
    const json plain =
        ran(desk, {"--panel", "test-plate", "--technique", "quick.json", "--path", "plain.csv"}, "plain");
    const json light =
        ran(desk, {"--panel", "test-plate", "--technique", "quick.json", "--path", "light.csv"}, "light");
    CHECK(plain["inputs"]["path_csv"] == "plain.csv");
    CHECK(plain["time_s"].get<double>() == Approx(6).epsilon(1e-9));
    CHECK(plain["time_down_s"].get<double>() == Approx(6).epsilon(1e-9));
    // Half the force at two thirds of the speed: a third of the work, but for the pad's own spin.
    CHECK(light["friction_work_j"].get<double>() ==
          Approx(plain["friction_work_j"].get<double>() / 3).epsilon(0.05));
    std::istringstream trace(bytes_of(desk / "light/trace.csv"));
    std::string header, first;
    std::getline(trace, header);
    std::getline(trace, first);
    CHECK_THAT(header, StartsWith("t_s,dt_s,x_mm,y_mm,down,force_n,"));
    CHECK_THAT(first, StartsWith("0.0000,") && Contains(",1,22.500,"));
}

TEST_CASE("gauge readings take the place of the paint's film, in summary, fields and verdict", "[cli]") {
    const Desk desk;
    desk.write("quick.json", quick_technique({{"passes", 1}}));
    std::string readings = "panel,test-plate\nx_mm,y_mm,total_um\n";
    for (const int y : {100, 200, 300, 400})
        for (const int x : {100, 200, 300, 400})
            readings += fmt::format("{},{},{}\n", x, y, x == 100 && y == 100 ? 71 : 84);
    desk.write("gauge.csv", readings);
    const std::vector<std::string> args = {"--panel",    "test-plate", "--technique",
                                           "quick.json", "--readings", "gauge.csv"};
    const json summary = ran(desk, args, "measured");
    const json& film = summary["film"];
    CHECK(film["readings_csv"] == "gauge.csv");
    CHECK(film["readings"] == 16);
    CHECK(film["offset"].get<double>() ==
          Approx(0.8).margin(0.08)); // 84 of the nominal 105, the offset's sd about 6 %
    REQUIRE(film["flags"].size() >= 1);
    CHECK(film["flags"][0]["kind"] == "thin paint");
    CHECK(film["flags"][0]["lines"] == json::array({3}));
    CHECK(summary["open_panel"]["clear_before_um"].get<double>() == Approx(32).margin(1)); // 40 x 84 / 105
    CHECK(summary["open_panel"]["clear_sd_um"].get<double>() > 0.08 * 31); // the split's share alone

    std::vector<std::string> shown = args;
    shown.insert(shown.begin(), "run");
    const Ended run = desk.run(shown);
    CHECK(run.code == 0);
    CHECK_THAT(run.out, Contains("measured: 16 spots") && Contains("thin paint") && Contains("line 3"));

    desk.write("gauge.csv", "panel,rear-door\n" + readings.substr(readings.find("x_mm")));
    const Ended wrong = desk.run(shown);
    CHECK(wrong.code == 2);
    CHECK_THAT(wrong.err, Contains("gauge.csv: line 1: found readings of the panel \"rear-door\""));
}

TEST_CASE("the path that a run wrote takes the same film when it is run again", "[cli]") {
    const Desk desk;
    desk.write("quick.json", quick_technique({{"passes", 2}, {"recharge_passes", 1}}));
    const json first =
        ran(desk, {"--panel", "front-wing", "--technique", "quick.json", "--seed", "3"}, "first");
    const json again = ran(
        desk, {"--panel", "front-wing", "--technique", "quick.json", "--path", "first/path.csv"}, "again");
    CHECK(again["steps"]["count"] == first["steps"]["count"]); // no sample is lost, none is put in
    CHECK(bytes_of(desk / "again/path.csv") == bytes_of(desk / "first/path.csv"));
    // The file keeps 12 digits, in mm, degrees and 1/min, with the tilt as size and direction, so that the
    // film may differ from the first run's in the last digits of its float32: it is not held to its bytes.
    CHECK(again["time_s"].get<double>() == Approx(first["time_s"].get<double>()).epsilon(1e-10));
    const Array was(desk / "first/film_lost_um.npy"), is(desk / "again/film_lost_um.npy");
    REQUIRE(is.values.size() == was.values.size());
    double most = 0, worst = 0;
    for (std::size_t k = 0; k < was.values.size(); ++k) {
        most = std::max(most, was.at(k));
        worst = std::max(worst, std::abs(was.at(k) - is.at(k)));
    }
    CHECK(worst < 1e-5 * most);
    // From the file on, all is the same: a recording of the recording gives the same bytes.
    ran(desk, {"--panel", "front-wing", "--technique", "quick.json", "--path", "again/path.csv"}, "third");
    CHECK(differences(tree(desk / "third"), tree(desk / "again")) == same);
}

// ---- what it says

TEST_CASE("the verdict and the summary are the same figures", "[cli]") {
    const Desk desk;
    desk.write("quick.json", quick_technique());
    const Ended ended = desk.run(
        {"run", "--panel", "rear-door", "--technique", "quick.json", "--grid", "4 mm", "--out", "out"});
    REQUIRE(ended.code == 0);
    const json summary = desk.read("out/summary.json");
    const json& worst = summary["worst"][0];
    CHECK_THAT(ended.out, Contains(fmt::format("Open panel   {:.2f} µm lost",
                                               summary["open_panel"]["median_um"].get<double>())));
    CHECK_THAT(ended.out,
               Contains(fmt::format("Worst spot   {:.2f} µm lost", worst["removed_um"].get<double>())));
    CHECK_THAT(ended.out, Contains(worst["place"].get<std::string>()));
    const json& split = worst["against_open_panel"];
    CHECK_THAT(
        ended.out,
        Contains(fmt::format(
            "time {:.2f} x pressure {:.2f} x speed {:.2f} x cut {:.2f} x heat {:.2f} x film {:.2f} = {:.2f}",
            split["time"].get<double>(), split["pressure"].get<double>(), split["speed"].get<double>(),
            split["cut"].get<double>(), split["heat"].get<double>(), split["film"].get<double>(),
            split["all"].get<double>())));
    const json& heat = summary["heat"];
    CHECK_THAT(ended.out, Contains(fmt::format(
                              "Heat         peak {:.0f} °C in air of 20 °C: {} (x {:.0f} mm, y {:.0f} mm)",
                              heat["peak_film_c"].get<double>(), heat["place"].get<std::string>(),
                              heat["at"]["x_mm"].get<double>(), heat["at"]["y_mm"].get<double>())));
    CHECK_THAT(ended.out, Contains((desk / "out").string()));
    CHECK_THAT(ended.out, Contains(summary["notice"].get<std::string>()));
    for (const json& caution : nonempty(summary["cautions"]))
        CHECK_THAT(ended.out, Contains(caution.get<std::string>()));
    CHECK(std::count(ended.out.begin(), ended.out.end(), '\n') < 30); // one screen
}

TEST_CASE("the workshop's air is where the panel starts and what it cools to", "[cli]") {
    const Desk desk;
    desk.write("quick.json", quick_technique());
    const auto in_air = [&](const char* air) {
        const Ended ended = desk.run({"run", "--panel", "test-plate", "--technique", "quick.json", "--grid",
                                      "4 mm", "--air", air, "--json"});
        REQUIRE(ended.code == 0);
        return json::parse(ended.out);
    };
    const json cool = in_air("20 C"), warm = in_air("28 °C");
    CHECK(cool["inputs"]["air_c"] == 20);
    CHECK(warm["inputs"]["air_c"] == 28);
    const double rise = cool["heat"]["peak_film_c"].get<double>() - 20;
    CHECK(rise > 1);
    // What is added to the air is the same; where paint softens the pad loads sooner, but not here.
    CHECK(warm["heat"]["peak_film_c"].get<double>() == Approx(28 + rise).epsilon(1e-3));
}

TEST_CASE("--json prints the summary that the folder gets, and nothing else", "[cli]") {
    const Desk desk;
    desk.write("quick.json", quick_technique());
    const std::vector<std::string> args = {"run",        "--panel", "test-plate", "--technique",
                                           "quick.json", "--grid",  "4 mm",       "--json"};
    const Ended alone = desk.run(args);
    CHECK(alone.code == 0);
    CHECK(tree(desk.path()).size() == 1); // without --out nothing is written
    std::vector<std::string> with_folder = args;
    with_folder.insert(with_folder.end(), {"--out", "out"});
    CHECK(desk.run(with_folder).out == alone.out);
    CHECK(bytes_of(desk / "out/summary.json") == alone.out);
}

TEST_CASE("film can be shown in mil, which changes no figure of the summary", "[cli]") {
    const Desk desk;
    desk.write("quick.json", quick_technique());
    const std::vector<std::string> args = {"run",        "--panel", "test-plate", "--technique",
                                           "quick.json", "--grid",  "4 mm"};
    const auto with = [&](const std::string& unit, const std::string& out) {
        std::vector<std::string> all = args;
        all.insert(all.end(), {"--unit", unit, "--out", out});
        return desk.run(all);
    };
    const Ended um = with("um", "um"), mil = with("mil", "mil");
    CHECK_THAT(um.out, Contains(" µm lost") && !Contains(" mil "));
    const double median_um = desk.read("mil/summary.json")["open_panel"]["median_um"];
    CHECK_THAT(mil.out,
               Contains(fmt::format("Open panel   {:.4f} mil lost", median_um / 25.4)) && !Contains("µm"));
    CHECK(bytes_of(desk / "um/summary.json") == bytes_of(desk / "mil/summary.json"));
}

TEST_CASE("a spot worked through its clear coat is called that", "[cli]") {
    const Desk desk;
    desk.write("harsh.json", quick_technique({{"liquid", "p2000"}, {"arm_speed", "40 mm/s"}}));
    desk.write("thin.json", json{{"kind", "paint"},
                                 {"name", "Nearly gone"},
                                 {"clear", "1 um"},
                                 {"base", "15 um"},
                                 {"primer", "30 um"},
                                 {"ecoat", "20 um"},
                                 {"thinning", {{"share", 0.3}, {"length", "6 mm"}}},
                                 {"softness", 1}}
                                .dump());
    desk.write("plate.json", plate_file(300, 240).dump());
    const Ended ended = desk.run({"run", "--panel", "plate.json", "--technique", "harsh.json", "--paint",
                                  "thin.json", "--grid", "4 mm", "--out", "out"});
    REQUIRE(ended.code == 0);
    CHECK_THAT(ended.out, Contains("THROUGH THE CLEAR COAT"));
    const json worst = checked_run(desk / "out")["worst"][0];
    CHECK(worst["through_clear"] == true);
    CHECK(worst["clear_left_um"].get<double>() < 0);
    const Array left(desk / "out/clear_left_um.npy");
    CHECK(std::none_of(left.values.begin(), left.values.end(),
                       [](float v) { return v < 0; })); // the map stops at 0
}

TEST_CASE("list shows every kind, or one, or what a mistyped one may have meant", "[cli]") {
    const Desk desk;
    const Ended all = desk.run({"list"});
    CHECK(all.code == 0);
    for (const char* line : {"machines\n", "pads\n", "liquids\n", "paints\n", "substrates\n", "panels\n",
                             "techniques\n", "kits\n", "  workshop ", "  da-15 ", "  firm-foam-150 ",
                             "  polish ", "  typical ", "  steel ", "  rear-door ", "  edge-overrun "})
        CHECK_THAT(all.out, Contains(line));
    const Ended machines = desk.run({"list", "machines"});
    CHECK(machines.code == 0);
    CHECK_THAT(machines.out, StartsWith("machines\n") && Contains("  da-15 ") && Contains("15 mm throw") &&
                                 !Contains("pads\n"));
    CHECK(desk.run({"list", "machine"}).out == machines.out);
    const Ended wrong = desk.run({"list", "machnes"});
    CHECK(wrong.code == 2);
    CHECK(wrong.out.empty());
    CHECK(wrong.err ==
          "sparecoat: list: found no kind of preset \"machnes\"; allowed: did you mean 'machines'? kinds: "
          "machines, pads, liquids, paints, substrates, panels, techniques, lessons, defects, kits, records, "
          "shops, sweeps\n");
}

TEST_CASE("help and version go to standard output", "[cli]") {
    const Desk desk;
    const Ended help = desk.run({"--help"});
    CHECK(help.code == 0);
    CHECK(help.err.empty());
    CHECK_THAT(help.out,
               Contains("Usage: sparecoat ") && Contains("run ") && Contains("list ") && Contains("demo "));
    const Ended run_help = desk.run({"run", "--help"});
    CHECK(run_help.code == 0);
    for (const char* option : {"--panel", "--technique", "--paint", "--readings", "--air", "--path", "--grid",
                               "--integrator", "--seed", "--out", "--json", "--unit", "--threads"})
        CHECK_THAT(run_help.out, Contains(option));
    const Ended version = desk.run({"--version"});
    CHECK(version.code == 0);
    CHECK(std::regex_match(version.out, std::regex(R"(sparecoat \d+\.\d+\.\d+\n)")));
}

TEST_CASE("the guide to the output names every file and every key", "[cli]") {
    const std::string guide = bytes_of(source_dir / "docs" / "output.md");
    for (const std::string& file : files_of_a_run) CHECK_THAT(guide, Contains("`" + file + "`"));
    std::vector<json> open = {
        json::parse(bytes_of(summary_schema)), json::parse(bytes_of(compare_schema)),
        json::parse(bytes_of(risk_schema)),    json::parse(bytes_of(advice_schema)),
        json::parse(bytes_of(plan_schema)),    json::parse(bytes_of(visit_plan_schema)),
        json::parse(bytes_of(fit_schema)),     json::parse(bytes_of(evenness_schema)),
        json::parse(bytes_of(sweep_schema)),   json::parse(bytes_of(comparison_schema))};
    std::size_t keys = 0;
    while (!open.empty()) {
        const json form = open.back();
        open.pop_back();
        if (form.is_array() || form.is_object())
            for (const json& part : form) open.push_back(part);
        if (!form.is_object() || !form.contains("properties") || !form.contains("additionalProperties"))
            continue;
        for (const auto& [key, value] : form["properties"].items()) {
            ++keys;
            INFO(key);
            CHECK(std::regex_search(guide, std::regex("[`.]" + key + "[`.\\[]")));
        }
    }
    CHECK(keys > 80);
}

// ---- the same again

TEST_CASE("a run gives the same bytes again, with any number of threads", "[cli]") {
    const Desk desk;
    desk.write("quick.json", quick_technique());
    const auto with = [&](const std::string& threads, const std::string& out) {
        ran(desk,
            {"--panel", "bumper-corner", "--technique", "quick.json", "--seed", "5", "--threads", threads},
            out);
        return tree(desk / out);
    };
    const auto one = with("1", "one");
    CHECK(differences(with("1", "again"), one) == same);
    CHECK(differences(with("2", "two"), one) == same);
    CHECK(differences(with("4", "four"), one) == same);
}

TEST_CASE("jobs run side by side give what they give alone", "[cli]") {
    const Desk desk;
    desk.write("quick.json", quick_technique());
    desk.write("tilted.json", quick_technique({{"tilt", "3 deg"}, {"hold_back", "-75 mm"}}));
    std::vector<RunJob> jobs;
    for (const char* technique : {"quick.json", "tilted.json", "quick.json"}) {
        RunRequest request;
        request.panel = jobs.size() < 2 ? "front-wing" : "test-plate";
        request.technique = desk / technique;
        request.grid_m = 4 * mm;
        jobs.push_back(prepare(Library::standard(), request));
    }
    std::vector<std::string> alone;
    for (const RunJob& job : jobs) alone.push_back(summary_of(job, run_jobs({job}, 1).front()).dump());
    CHECK(alone[0] != alone[1]);
    for (const int threads : {1, 2, 4}) {
        const std::vector<Outcome> together = run_jobs(jobs, threads);
        for (std::size_t k = 0; k < jobs.size(); ++k) {
            INFO("job " << k << ", " << threads << " threads");
            CHECK(summary_of(jobs[k], together[k]).dump() == alone[k]);
            CHECK(together[k].result.fields.removed_um ==
                  run_jobs({jobs[k]}, 1).front().result.fields.removed_um);
        }
    }
}

TEST_CASE("the demo shows a mistake beside good work, the same with any number of threads", "[cli]") {
    const Desk desk;
    const auto with = [&](const std::string& threads, const std::string& out) {
        const Ended ended = desk.run({"demo", "--grid", "4 mm", "--threads", threads, "--out", out});
        INFO(ended.err);
        REQUIRE(ended.code == 0);
        CHECK(std::regex_match(ended.err, progress_or_nothing));
        CHECK_THAT(ended.out, Contains((desk / out / "film_lost.png").string()) &&
                                  Contains((desk / out / "clear_left.png").string()));
        return tree(desk / out);
    };
    const auto one = with("1", "one");
    CHECK(differences(with("4", "four"), one) == same);

    const json compare = desk.read("one/summary.json");
    CHECK(deviations(compare, compare_schema) == same);
    REQUIRE(compare["runs"].size() == 2);
    for (const json& run : compare["runs"]) {
        const std::string folder = run["inputs"]["technique"]["id"];
        CHECK(checked_run(desk / "one" / folder) == run);
    }
    // The mistake costs the worst spot far more of its clear coat, and so it does along the edges, where the
    // pad's centre was run.
    const auto edge_share = [&](const std::string& folder) {
        const fs::path run = desk / "one" / folder;
        const Array distance_m(run / "edge_distance_m.npy"), lost(run / "film_lost_um.npy"),
            clear(run / "clear_before_um.npy");
        double sum = 0;
        int cells = 0;
        for (std::size_t k = 0; k < lost.values.size(); ++k) {
            if (distance_m.at(k) < 0 || distance_m.at(k) > 10 * mm || clear.at(k) <= 0) continue;
            sum += lost.at(k) / clear.at(k);
            ++cells;
        }
        return sum / cells;
    };
    const auto worst_share = [&](std::size_t run) {
        return compare["runs"][run]["worst"][0]["share_of_clear"].get<double>();
    };
    CHECK(worst_share(0) > 2 * worst_share(1));
    CHECK(edge_share("edge-overrun") > 5 * edge_share("door-polish"));
}

TEST_CASE("another seed is another hand", "[cli]") {
    const Desk desk;
    desk.write("quick.json", quick_technique());
    for (const char* seed : {"1", "2"})
        ran(desk, {"--panel", "test-plate", "--technique", "quick.json", "--seed", seed}, seed);
    CHECK(bytes_of(desk / "1/film_lost_um.npy") != bytes_of(desk / "2/film_lost_um.npy"));
    CHECK(bytes_of(desk / "1/height_m.npy") == bytes_of(desk / "2/height_m.npy"));
}

// ---- bad input

namespace {

/// A run that is to be refused: code 2, one line on stderr, nothing on stdout, nothing written anywhere.
/// @return the line without the program's name and the line feed
std::string refusal(const Desk& desk, const std::vector<std::string>& args) {
    const auto before = tree(desk.path());
    const Ended ended = desk.run(args);
    INFO(ended.err);
    CHECK(ended.code == 2);
    CHECK(ended.out.empty());
    CHECK(differences(tree(desk.path()), before) == same);
    CHECK(std::count(ended.err.begin(), ended.err.end(), '\n') == 1);
    const std::string name = "sparecoat: ";
    REQUIRE_THAT(ended.err, StartsWith(name));
    const std::string line = ended.err.substr(name.size(), ended.err.size() - name.size() - 1);
    CHECK(std::regex_search(line, std::regex("found .+; allowed: .+")));
    return line;
}

/// The same for a run into a folder under one that does not exist yet.
std::string run_refusal(const Desk& desk, std::vector<std::string> args) {
    args.insert(args.begin(), {"run", "--out", "new/out"});
    return refusal(desk, args);
}

std::string technique_refusal(const Desk& desk, const json& changes,
                              const std::string& panel = "test-plate") {
    desk.write("bad.json", quick_technique(changes));
    return run_refusal(desk, {"--panel", panel, "--technique", "bad.json", "--grid", "4 mm"});
}

std::string panel_refusal(const Desk& desk, const json& panel) {
    desk.write("panel.json", panel.dump());
    desk.write("quick.json", quick_technique());
    return run_refusal(desk, {"--panel", "panel.json", "--technique", "quick.json", "--grid", "4 mm"});
}

std::string path_refusal(const Desk& desk, const std::string& csv) {
    desk.write("path.csv", csv);
    desk.write("quick.json", quick_technique());
    return run_refusal(
        desk, {"--panel", "test-plate", "--technique", "quick.json", "--path", "path.csv", "--grid", "4 mm"});
}

} // namespace

TEST_CASE("a file that is not there is refused by name", "[cli]") {
    const Desk desk;
    desk.write("quick.json", quick_technique());
    CHECK_THAT(run_refusal(desk, {"--panel", "none.json", "--technique", "quick.json"}),
               StartsWith("none.json: found no such file; allowed: a panel file; known panels: "));
    CHECK_THAT(run_refusal(desk, {"--panel", "test-plate", "--technique", "./none.json"}),
               StartsWith("./none.json: found no such file; allowed: a technique file; known techniques: "));
    CHECK_THAT(run_refusal(desk, {"--panel", "none.stl", "--technique", "quick.json"}),
               StartsWith("none.stl: found no such file; allowed: an OBJ or STL mesh"));
    CHECK_THAT(
        run_refusal(desk, {"--panel", "test-plate", "--technique", "quick.json", "--path", "none.csv"}),
        StartsWith("none.csv: found no such file"));
    CHECK_THAT(panel_refusal(desk, {{"kind", "panel"},
                                    {"name", "p"},
                                    {"substrate", "steel"},
                                    {"mesh", {{"file", "none.obj"}, {"unit", "1 mm"}}}}),
               StartsWith("panel.json: /mesh/file: found no file \"none.obj\"; allowed: "));
}

TEST_CASE("an unknown preset is refused with the nearest and all there are", "[cli]") {
    const Desk desk;
    desk.write("quick.json", quick_technique());
    CHECK_THAT(run_refusal(desk, {"--panel", "test-plat", "--technique", "quick.json"}),
               Contains("panels: found no panel \"test-plat\"; allowed: did you mean 'test-plate'? known "
                        "panels: bonnet, bumper-corner, "));
    CHECK_THAT(run_refusal(desk, {"--panel", "test-plate", "--technique", "polish-da15"}),
               Contains("found no technique \"polish-da15\"; allowed: did you mean 'polish-da-15'"));
    CHECK_THAT(
        run_refusal(desk, {"--panel", "test-plate", "--technique", "quick.json", "--paint", "tipical"}),
        Contains("found no paint \"tipical\"; allowed: did you mean 'typical'?"));
    CHECK_THAT(technique_refusal(desk, {{"machine", "da-51"}}),
               StartsWith("bad.json: /machine: found no machine \"da-51\"; allowed: did you mean 'da-15'"));
    json panel = plate_file(300, 200);
    panel["substrate"] = "steal";
    CHECK_THAT(
        panel_refusal(desk, panel),
        StartsWith("panel.json: /substrate: found no substrate \"steal\"; allowed: did you mean 'steel'?"));
}

TEST_CASE("a bad value in a file is refused with its place, what was found and what is allowed", "[cli]") {
    const Desk desk;
    const std::string force =
        "; allowed: 1 N to 500 N, as text with one of N, kN, kgf, lbf, or as a number in N";
    CHECK(technique_refusal(desk, {{"force", true}}) == "bad.json: /force: found true" + force);
    CHECK(technique_refusal(desk, {{"force", "45"}}) ==
          "bad.json: /force: found \"45\" without a unit" + force);
    CHECK(technique_refusal(desk, {{"force", "45 mm"}}) ==
          "bad.json: /force: found \"45 mm\", a length, not a force" + force);
    CHECK(technique_refusal(desk, {{"force", "4500 N"}}) == "bad.json: /force: found \"4500 N\"" + force);
    CHECK_THAT(
        technique_refusal(desk, {{"farce", "45 N"}}),
        StartsWith(
            "bad.json: /farce: found unknown key 'farce'; allowed: did you mean 'force'? known keys: "));
    CHECK_THAT(technique_refusal(desk, {{"force", nullptr}}),
               StartsWith("bad.json: found no key 'force'; allowed: 'force' ("));
    CHECK_THAT(technique_refusal(desk, {{"kind", "pad"}}),
               StartsWith("bad.json: /kind: found \"pad\"; allowed: "));
    CHECK(technique_refusal(desk, {{"speed", "9000/min"}}) ==
          "bad.json: /speed: found 9000/min; allowed: 2000/min to 4800/min, the range of the machine da-15");
    desk.write("bad.json", "{\"kind\": \"technique\",\n \"name\": }");
    CHECK_THAT(run_refusal(desk, {"--panel", "test-plate", "--technique", "bad.json"}),
               StartsWith("bad.json: line 2, column 10: found text that is not JSON"));
}

TEST_CASE("a pad that finds no room, a section or a line off the panel is refused at the technique's key",
          "[cli]") {
    const Desk desk;
    desk.write("small.json", plate_file(120, 100).dump());
    CHECK_THAT(technique_refusal(desk, json::object(), "small.json"),
               StartsWith("bad.json: /hold_back: found no room on the panel \"Plate\" for a pad of 150 mm"));
    const json section = {{"centre", {"3 m", "0.2 m"}}, {"size", {"200 mm", "200 mm"}}};
    CHECK_THAT(technique_refusal(desk, {{"section", section}}),
               StartsWith("bad.json: /section: found a section off the panel \"Test plate\"; allowed: "));
    const json line = {{"from", {"2 m", "0 m"}}, {"to", {"2 m", "1 m"}}};
    CHECK_THAT(technique_refusal(desk, {{"pattern", "line"}, {"line", line}}),
               StartsWith("bad.json: /line: found a line off the panel \"Test plate\"; allowed: "));
    CHECK_THAT(technique_refusal(desk, {{"hold_back", {{"topp", "5 mm"}}}}),
               StartsWith("bad.json: /hold_back/topp: found an edge \"topp\"; allowed: ") &&
                   Contains("bottom, right, top, left"));
}

TEST_CASE("a bad recording is refused by its line", "[cli]") {
    const Desk desk;
    const std::string head = "t_s,x_mm,y_mm\n0,200,200\n0.1,205,200\n";
    CHECK(path_refusal(desk, head + "0.2,nan,200\n") ==
          "path.csv: line 4: found x_mm \"nan\"; allowed: a finite number, such as 12.5");
    CHECK(path_refusal(desk, head + "0.05,210,200\n") ==
          "path.csv: line 4: found time 0.05 s after 0.1 s; allowed: times that increase");
    CHECK(path_refusal(desk, head + "0.9,210,200\n") ==
          "path.csv: line 4: found a gap of 0.8 s before 0.9 s; allowed: rows at most 0.5 s apart");
    CHECK_THAT(path_refusal(desk, "t_s,x_mm,y_mm\n0,2000,2000\n0.1,2005,2000\n"),
               StartsWith("path.csv: line 2: found a path off the panel \"Test plate\""));
    CHECK_THAT(path_refusal(desk, "t_s,x_mm,y_mm,force\n0,200,200,1\n"),
               StartsWith("path.csv: line 1: found a column \"force\""));
    CHECK(path_refusal(desk, "t_s,x_mm,y_mm,force_n\n0,200,200,0\n0.1,205,200,0\n") ==
          "path.csv: found an arm path that takes no film off the panel; allowed: a path that brings the pad "
          "onto the panel "
          "with some force");
}

TEST_CASE("a mesh or picture without a panel in it is refused by name", "[cli]") {
    const Desk desk;
    desk.write("quick.json", quick_technique());
    desk.write("empty.obj", "v 0 0 0\nv 100 0 0\n");
    CHECK_THAT(run_refusal(desk, {"--panel", "empty.obj", "--technique", "quick.json"}),
               StartsWith("empty.obj: found no triangles"));
    desk.write("edges.obj", "o wire\nv 0 0 0\nv 100 0 0\nl 1 2\n");
    CHECK(run_refusal(desk, {"--panel", "edges.obj", "--technique", "quick.json"}) ==
          "edges.obj: found a mesh without triangles; allowed: one open sheet");
    desk.write("empty.stl", "solid\nendsolid\n");
    CHECK_THAT(run_refusal(desk, {"--panel", "empty.stl", "--technique", "quick.json"}),
               StartsWith("empty.stl: found no triangles"));
    desk.write("no.png", "not a picture");
    CHECK_THAT(panel_refusal(
                   desk, {{"kind", "panel"},
                          {"name", "p"},
                          {"substrate", "steel"},
                          {"height_map", {{"file", "no.png"}, {"pixel", "1 mm"}, {"full_scale", "65 mm"}}}}),
               StartsWith("no.png: found no PNG"));
    CHECK_THAT(run_refusal(desk, {"--panel", "no.png", "--technique", "quick.json"}),
               StartsWith("no.png: found a height map without its scale; allowed: a panel file with "));
}

TEST_CASE("a bad option is refused by its name", "[cli]") {
    const Desk desk;
    desk.write("quick.json", quick_technique());
    const auto with = [&](std::vector<std::string> args) {
        args.insert(args.begin(), {"--panel", "test-plate", "--technique", "quick.json"});
        return run_refusal(desk, args);
    };
    const std::string grid = "; allowed: a length from 1 mm to 4 mm, such as \"2 mm\"";
    CHECK(with({"--grid", "5 mm"}) == "--grid: found \"5 mm\"" + grid);
    const std::string air = "; allowed: a temperature from 0 to 50 °C, such as \"28 C\"";
    CHECK(with({"--air", "28"}) == "--air: found \"28\" without a unit" + air);
    CHECK(with({"--air", "28 N"}) == "--air: found \"28 N\", a force, not a temperature" + air);
    CHECK(with({"--air", "90 C"}) == "--air: found \"90 C\"" + air);
    CHECK(with({"--grid", "2"}) == "--grid: found \"2\" without a unit" + grid);
    CHECK(with({"--grid", "2 N"}) == "--grid: found \"2 N\", a force, not a length" + grid);
    CHECK(with({"--grid", "abc"}) == "--grid: found \"abc\", which does not start with a number" + grid);
    CHECK(with({"--integrator", "averagd"}) ==
          "--integrator: found \"averagd\"; allowed: did you mean 'averaged'? one of: averaged, resolved");
    CHECK(with({"--unit", "mm"}) == "--unit: found \"mm\"; allowed: did you mean 'um'? one of: um, mil");
    CHECK(with({"--seed", "-1"}) ==
          "--seed: found \"-1\"; allowed: a whole number from 0 to 18446744073709551615");
    CHECK(with({"--threads", "many"}) == "--threads: found \"many\"; allowed: a whole number from 0 to 1024");
    CHECK(with({"--path", ""}) == "--path: found nothing; allowed: a path recorded as CSV");
    CHECK_THAT(with({"--grd", "2 mm"}),
               StartsWith("run: found unknown option \"--grd\"; allowed: did you mean '--grid'? options: "));
    CHECK_THAT(with({"--grid", "2", "mm"}),
               StartsWith("run: found \"mm\" left over; allowed: ") && Contains("in quotes"));
    CHECK(with({"--seed", "1", "--seed", "2"}) == "run: found --seed 2 times; allowed: each option once");
}

TEST_CASE("what belongs to the lamp is refused without it, and a lamp without defects", "[cli]") {
    const Desk desk;
    const auto with = [&](std::vector<std::string> more) {
        std::vector<std::string> words{"shot",         "--panel", "test-plate", "--technique",
                                       "polish-da-15", "--out",   "lamp.png"};
        words.insert(words.end(), more.begin(), more.end());
        return refusal(desk, words);
    };
    CHECK(with({"--show", "half"}) == "--show: found --map film_lost; allowed: --show with --map lamp");
    CHECK(with({"--defects", "severe"}) ==
          "--defects: found --map film_lost; allowed: --defects with --map lamp");
    CHECK_THAT(with({"--map", "lamp"}),
               StartsWith("--map: found lamp without --defects; allowed: --defects with what"));
    CHECK_THAT(with({"--map", "lamp", "--defects", "rust"}),
               Contains("no defects \"rust\"") && Contains("light, moderate, severe"));
    CHECK_THAT(with({"--map", "lamp", "--defects", "severe", "--show", "now"}),
               StartsWith("--show: found \"now\"; allowed: "));
    CHECK_THAT(with({"--map", "lamp", "--defects", "severe", "--lamp", "1 m, 2 m"}),
               StartsWith("--lamp: found \"1 m, 2 m\"; allowed: u, v and"));
}

TEST_CASE("a missing or unknown command or a missing option is refused with what there is", "[cli]") {
    const Desk desk;
    CHECK(refusal(desk, {}) == "found no command; allowed: one of the commands: run, risk, compare, section, "
                               "shot, view, lesson, evenness, fit, "
                               "job, sweep, list, demo; "
                               "\"sparecoat --help\" explains them");
    CHECK_THAT(refusal(desk, {"rnu"}),
               StartsWith("found no command \"rnu\"; allowed: did you mean 'run'? one of the commands: "));
    CHECK_THAT(refusal(desk, {"--vers"}),
               StartsWith("found unknown option \"--vers\"; allowed: did you mean '--version'?"));
    CHECK_THAT(refusal(desk, {"run", "--technique", "polish-da-15"}),
               StartsWith("run: found no --panel; allowed: --panel with a panel preset"));
    CHECK_THAT(refusal(desk, {"run", "--panel", "test-plate"}),
               StartsWith("run: found no --technique; allowed: --technique with a "));
    CHECK_THAT(refusal(desk, {"list", "machines", "pads"}),
               StartsWith("list: found \"pads\" left over; allowed: "));
    CHECK_THAT(refusal(desk, {"demo", "--outt", "x"}),
               StartsWith("demo: found unknown option \"--outt\"; allowed: did you mean '--out'?"));
}

TEST_CASE("an output folder that may not be replaced or cannot be made is refused before the work", "[cli]") {
    const Desk desk;
    desk.write("quick.json", quick_technique());
    fs::create_directory(desk / "theirs");
    desk.write("theirs/notes.txt", "keep me");
    desk.write("file", "a file");
    const auto into = [&](const std::string& out) {
        return refusal(desk, {"run", "--panel", "test-plate", "--technique", "quick.json", "--grid", "4 mm",
                              "--out", out});
    };
    const std::string allowed = "; allowed: a new folder, an empty one, or an earlier output of this program";
    CHECK(into("theirs") == (desk / "theirs").string() + ": found a folder with other files in it" + allowed);
    CHECK(into("file") == (desk / "file").string() + ": found a file of that name" + allowed);
    CHECK(into(".") == desk.path().string() + ": found the current folder or one above it" + allowed);
    CHECK_THAT(into("file/out"), StartsWith((desk / "file/out").string() + ": found ") &&
                                     Contains("; allowed: a place where a folder can be made"));
    CHECK(into("") == "--out: found nothing; allowed: a folder to write to");
    CHECK_THAT(refusal(desk, {"demo", "--out", "theirs"}), Contains("a folder with other files in it"));
}

// ---- failing half-way

TEST_CASE("a run that is refused or cannot write leaves an earlier output as it was", "[cli]") {
    const Desk desk;
    desk.write("quick.json", quick_technique());
    ran(desk, {"--panel", "test-plate", "--technique", "quick.json"});
    desk.write("bad.json", quick_technique({{"force", "heavy"}}));
    const auto before = tree(desk.path());
    CHECK(desk.run({"run", "--panel", "test-plate", "--technique", "bad.json", "--out", "out"}).code == 2);
    CHECK(differences(tree(desk.path()), before) == same);

    // The arrays fit in 200 KiB a file, the fields in one file do not: the folder is half written by then.
    const Ended full =
        desk.run_with_little_room(200, {"run", "--panel", "test-plate", "--technique", "quick.json", "--grid",
                                        "4 mm", "--seed", "2", "--out", "out"});
    CHECK(full.code == 2);
    CHECK_THAT(full.err, Contains("fields.vti: found ") && Contains("; allowed: a file that can be written"));
    CHECK(differences(tree(desk.path()), before) == same);
}

TEST_CASE("a later run takes the place of an earlier output", "[cli]") {
    const Desk desk;
    desk.write("quick.json", quick_technique());
    ran(desk, {"--panel", "test-plate", "--technique", "quick.json"});
    const json second = ran(desk, {"--panel", "test-plate", "--technique", "quick.json", "--seed", "2"});
    CHECK(second["inputs"]["seed"] == 2);
    CHECK(tree(desk.path()).size() ==
          2 + files_of_a_run.size()); // the technique and the folder; nothing hidden
}

TEST_CASE("Ctrl-C and a polite kill end a run at once and leave what was there, and nothing hidden",
          "[cli]") {
    const Desk desk;
    fs::create_directory(desk / "out");
    desk.write("out/summary.json", R"({"kind": "sparecoat-run"})");
    const auto before = tree(desk.path());
    for (const int signal : {SIGINT, SIGTERM}) {
        for (const char* out : {"out", "new/folder/out"}) {
            // Orbit by orbit over a whole roof: minutes of work.
            const pid_t pid = desk.start({"run", "--panel", "roof-skin", "--technique", "polish-da-15",
                                          "--integrator", "resolved", "--grid", "4 mm", "--out", out});
            const auto begun = std::chrono::steady_clock::now();
            while (tree(desk.path()) == before &&
                   std::chrono::steady_clock::now() - begun < std::chrono::seconds(20))
                std::this_thread::sleep_for(std::chrono::milliseconds(5));
            CHECK(tree(desk.path()) != before); // the hidden folder is there
            std::this_thread::sleep_for(std::chrono::milliseconds(150));
            REQUIRE(::kill(pid, signal) == 0);
            const Ended ended = desk.wait(pid);
            CHECK(ended.code == 128 + signal);
            CHECK(ended.out.empty());
            CHECK_THAT(ended.err, Contains("sparecoat: stopped; nothing was written\n"));
            CHECK(differences(tree(desk.path()), before) == same);
        }
    }
}

TEST_CASE("runs stop when they are told to, from whichever job", "[cli]") {
    const Desk desk;
    desk.write("quick.json", quick_technique());
    RunRequest request;
    request.panel = "test-plate";
    request.technique = desk / "quick.json";
    request.grid_m = 4 * mm;
    const std::vector<RunJob> jobs(3, prepare(Library::standard(), request));
    int told = 0;
    const auto stop_at_once = [&](const std::vector<double>& shares) {
        CHECK(shares.size() == jobs.size());
        ++told;
        return false;
    };
    CHECK_THROWS_AS(run_jobs(jobs, 1, stop_at_once), Stopped);
    CHECK(told >= 1);
    double last = 0;
    const auto watch = [&](const std::vector<double>& shares) {
        double sum = 0;
        for (const double share : shares) sum += share;
        CHECK(sum >= last); // it only ever moves on
        last = sum;
        return true;
    };
    CHECK(run_jobs(jobs, 1, watch).size() == jobs.size());
    CHECK(last > 2);
}

// ---- techniques compared ----------------------------------------------------------------------------

TEST_CASE("a comparison is written as a document that keeps to its schema, with a report, and replaces an "
          "earlier one",
          "[cli][compare]") {
    const Desk desk;
    desk.write("plate.json", plate_file(300, 250).dump());
    desk.write("quick.json", quick_technique());
    desk.write("cut.json", quick_technique({{"name", "Cut"}, {"liquid", "cutting-compound"}}));
    const auto with = [&](const char* threads, const char* out) {
        return desk.run({"compare", "quick.json", "cut.json", "--panel", "plate.json", "--replicates", "5",
                         "--threads", threads, "--json", "--out", out});
    };
    const Ended ended = with("1", "both");
    REQUIRE(ended.code == 0);
    const json document = json::parse(ended.out);
    CHECK(deviations(document, comparison_schema) == same);
    CHECK(document == desk.read("both/compare.json"));
    CHECK(document["measures"][0]["techniques"][1]["draws"].size() == 5);
    std::set<std::string> files;
    for (const auto& entry : fs::directory_iterator(desk / "both")) files.insert(entry.path().filename());
    CHECK(files == std::set<std::string>{"compare.csv", "compare.json", "difference-B.png", "film_lost-A.png",
                                         "film_lost-B.png", "film_lost.png", "measures.svg", "report.html",
                                         "report.pdf"});
    const auto first = tree(desk / "both");
    REQUIRE(with("3", "both").code == 0);
    CHECK(differences(tree(desk / "both"), first) == same);
}

TEST_CASE("a comparison prints a table with intervals, a sentence and the cautions", "[cli][compare]") {
    const Desk desk;
    desk.write("plate.json", plate_file(300, 250).dump());
    desk.write("quick.json", quick_technique());
    desk.write("cut.json", quick_technique({{"name", "Cut"}, {"liquid", "cutting-compound"}}));
    const Ended ended =
        desk.run({"compare", "quick.json", "cut.json", "--panel", "plate.json", "--replicates", "5"});
    REQUIRE(ended.code == 0);
    CHECK(std::regex_search(
        ended.out,
        std::regex(R"(film lost, open panel, µm +\d+\.\d\d \(\d+\.\d\d to \d+\.\d\d\) +\d+\.\d\d)")));
    CHECK_THAT(ended.out,
               Contains("more than noise") && Contains("Against A, B takes") && Contains("eye protection"));
    CHECK_THAT(ended.out, Contains("  liquid    Polish   Cutting compound\n"));
}

TEST_CASE("what cannot be compared is refused in words", "[cli][compare]") {
    const Desk desk;
    const auto refused = [&](std::vector<std::string> args) {
        args.insert(args.begin(), "compare");
        args.insert(args.end(), {"--panel", "test-plate"});
        const Ended ended = desk.run(args);
        CHECK(ended.code == 2);
        return ended.err;
    };
    CHECK_THAT(refused({"heavy-cut"}), Contains("found one; allowed: 2 to 4 techniques, each once"));
    CHECK_THAT(refused({"heavy-cut", "heavy-cut"}), Contains("\"heavy-cut\" twice"));
    CHECK_THAT(refused({"heavy-cut", "gear-cut", "polish-da-15", "polish-da-21", "finishing-pass"}),
               Contains("found 5"));
    CHECK_THAT(refused({"heavy-cut", "polish-da-51"}), Contains("polish-da-15"));
    CHECK_THAT(refused({}), Contains("no technique"));
    CHECK_THAT(refused({"heavy-cut", "gear-cut", "--replicates", "3"}),
               Contains("a whole number from 4 to 400"));
    CHECK_THAT(refused({"heavy-cut", "gear-cut", "--page", "a3"}), Contains("a4"));
    CHECK_THAT(refused({"heavy-cut", "gear-cut", "--defects", "sevre"}), Contains("severe"));
}

// ---- the chance of burning through ------------------------------------------------------------------

TEST_CASE("risk names the wing's arch edge first, says why, and finds the change that helps", "[cli][risk]") {
    const Desk desk;
    const std::string readings = source_dir / "presets" / "demo" / "readings-front-wing.csv";
    const Ended ended =
        desk.run({"risk", "--panel", "front-wing", "--technique", "edge-overrun", "--readings", readings,
                  "--grid", "4 mm", "--draws", "16", "--spots", "1", "--json", "--out", "wing"});
    REQUIRE(ended.code == 0);
    const json report = json::parse(ended.out);
    CHECK(deviations(report, risk_schema) == same);
    CHECK(report == desk.read("wing/risk.json"));
    std::set<std::string> files;
    for (const auto& entry : fs::directory_iterator(desk / "wing")) files.insert(entry.path().filename());
    CHECK(files == std::set<std::string>{"chance.npy", "chance.png", "chance_error.npy",
                                         "clear_before_um.npy", "clear_left.png", "clear_sd_um.npy",
                                         "fields.vti", "mean_removed_um.npy", "risk.json"});

    REQUIRE(report["spots"].size() > 1);
    const json& spot = report["spots"][0];
    CHECK_THAT(spot["place"].get<std::string>(), Contains("the wheel arch edge"));
    CHECK(spot["chance"].get<double>() > 0.05);
    for (std::size_t k = 1; k < report["spots"].size(); ++k)
        CHECK(report["spots"][k]["chance"] <= report["spots"][k - 1]["chance"]);
    // The split multiplies out, and to what the losses themselves say.
    const json& split = spot["against_open_panel"];
    double product = 1;
    for (const char* factor : {"time", "pressure", "speed", "cut", "heat", "film"})
        product *= split[factor].get<double>();
    CHECK(product == Approx(split["all"].get<double>()).epsilon(1e-12));
    CHECK(product > 2);
    // What a map's cell holds is what is printed of it.
    const Array chance(desk / "wing" / "chance.npy");
    double most = 0;
    for (const float value : chance.values)
        if (std::isfinite(value)) most = std::max(most, static_cast<double>(value));
    CHECK(most == Approx(spot["chance"].get<double>()));

    const json& remedies = spot["remedies"];
    REQUIRE(remedies.size() >= 6);
    CHECK(remedies[0]["chance"].get<double>() < 0.01);
    std::set<std::string> kinds;
    for (const json& remedy : remedies) kinds.insert(remedy["kind"]);
    CHECK(kinds == std::set<std::string>{"hold back", "tape", "flatter", "lighter", "smaller pad",
                                         "milder liquid", "faster arm"});
    for (const json& remedy : remedies) {
        const json& before = report["inputs"]["technique"];
        const json changed = json::diff(before, remedy["technique"]);
        CHECK(!changed.empty()); // a change is a change
    }
}

TEST_CASE("risk gives the same bytes with any number of threads", "[cli][risk]") {
    const Desk desk;
    desk.write("plate.json", plate_file(300, 250).dump());
    desk.write("over.json",
               quick_technique({{"hold_back", "-75 mm"}, {"liquid", "cutting-compound"}, {"passes", 2}}));
    const auto with = [&](const char* threads, const char* out) {
        REQUIRE(desk.run({"risk", "--panel", "plate.json", "--technique", "over.json", "--reserve", "27 um",
                          "--draws", "12", "--grid", "4 mm", "--threads", threads, "--out", out})
                    .code == 0);
        return tree(desk / out);
    };
    const auto one = with("1", "one");
    CHECK(differences(with("3", "three"), one) == same);
    const json report = desk.read("one/risk.json");
    CHECK(!report["spots"].empty());
    CHECK(!report["spots"][0]["remedies"].empty());
}

TEST_CASE("where nothing is at risk the answer says so and how near it came; a steady hand is not drawn",
          "[cli][risk]") {
    const Desk desk;
    desk.write("plate.json", plate_file(300, 250).dump());
    desk.write("quick.json", quick_technique());
    desk.write("steady.json", quick_technique({{"hand", nullptr}}));
    const auto risk = [&](const char* technique) {
        const Ended ended = desk.run(
            {"risk", "--panel", "plate.json", "--technique", technique, "--grid", "4 mm", "--draws", "4"});
        REQUIRE(ended.code == 0);
        return ended.out;
    };
    const std::string quick = risk("quick.json");
    CHECK_THAT(quick, Contains("At risk      nothing: no spot reaches a chance of 1.0 %; the highest is "));
    CHECK_THAT(quick, Contains("the hand (4 draws)") && Contains("no gauge readings"));
    CHECK_THAT(quick, Contains("estimates from a model") && Contains("Wear eye protection"));
    CHECK_THAT(risk("steady.json"), Contains("no hand: the technique says it is steady"));
}

TEST_CASE("a bad option of risk is refused by its name", "[cli][risk]") {
    const Desk desk;
    desk.write("quick.json", quick_technique());
    const auto refusal = [&](const char* option, const char* value) {
        const Ended ended =
            desk.run({"risk", "--panel", "test-plate", "--technique", "quick.json", option, value});
        CHECK(ended.code == 2);
        CHECK(ended.out.empty());
        return ended.err;
    };
    CHECK_THAT(refusal("--reserve", "3 N"), Contains("--reserve") && Contains("0.6 mil"));
    CHECK_THAT(refusal("--reserve", "2 mm"), Contains("0 to 200 µm"));
    CHECK_THAT(refusal("--draws", "1"), Contains("--draws") && Contains("2 to 1000000"));
    CHECK_THAT(refusal("--threshold", "0 %"), Contains("--threshold"));
    CHECK_THAT(refusal("--cut-sd", "lots"), Contains("--cut-sd"));
    CHECK_THAT(refusal("--spots", "12"), Contains("--spots"));
    CHECK_THAT(refusal("--out", ""), Contains("--out"));
}

namespace {

std::set<std::string> files_in(const fs::path& folder) {
    std::set<std::string> files;
    for (const auto& entry : fs::directory_iterator(folder)) files.insert(entry.path().filename());
    return files;
}

/// Two pads, worked on fresh and on worn charges.
constexpr const char* measurements =
    "label,pad,force_n,rpm,arm_mm_s,passes,sets_since_fresh,section_mm,before_um,after_um,sd_um,n\n"
    "fresh,,45,4500,60,2,0,300,120.0,119.2,0.8,40\n"
    "worn,,45,4500,60,2,3,300,119.2,118.9,0.8,40\n"
    "firm,firm-foam-150,45,4500,60,2,0,300,120.0,118.8,0.8,40\n";

} // namespace

TEST_CASE("fit writes a liquid and a pad that work at once, charts, and a report to its schema",
          "[cli][fit]") {
    const Desk desk;
    desk.write("m.csv", measurements);
    const Ended ended = desk.run({"fit", "m.csv", "--liquid", "polish", "--pad", "medium-foam-150",
                                  "--machine", "da-15", "--save", "mine.json", "--out", "fitted", "--charts",
                                  "svg", "--json", "--day", "2026-03-14"});
    REQUIRE(ended.code == 0);
    const json report = json::parse(ended.out);
    CHECK(deviations(report, fit_schema) == same);
    CHECK(report == desk.read("fitted/fit.json"));
    CHECK(files_in(desk / "fitted") == std::set<std::string>{"fit.json", "fit.svg", "residuals.svg",
                                                             "liquid.json", "liquid-firm-foam-150.json"});
    CHECK(desk.read("mine.json") == desk.read("fitted/liquid.json"));
    desk.write("quick.json",
               quick_technique({{"liquid", "mine.json"}, {"pad", "mine-firm-foam-150.json#150"}}));
    CHECK(desk.run({"run", "--panel", "test-plate", "--technique", "quick.json", "--grid", "4 mm"}).code ==
          0);

    const Ended shown =
        desk.run({"fit", "m.csv", "--liquid", "polish", "--pad", "medium-foam-150", "--machine", "da-15"});
    CHECK(shown.code == 0);
    CHECK_THAT(shown.out, Contains("cut_per_size") && Contains("held at its preset") &&
                              Contains("leverage") && Contains("eye protection"));
}

TEST_CASE("a bad option of fit is refused by its name, and nothing is written", "[cli][fit]") {
    const Desk desk;
    desk.write("m.csv", measurements);
    const auto refusal = [&](const char* option, const char* value) {
        const Ended ended = desk.run({"fit", "m.csv", "--liquid", "polish", "--pad", "medium-foam-150",
                                      "--machine", "da-15", option, value});
        CHECK(ended.code == 2);
        CHECK(ended.out.empty());
        return ended.err;
    };
    CHECK_THAT(refusal("--day", "yesterday"), Contains("--day") && Contains("2026-03-14"));
    CHECK_THAT(refusal("--save", "mine.txt"), Contains("--save") && Contains(".json"));
    CHECK_THAT(refusal("--charts", "gif"), Contains("--charts") && Contains("png"));
    CHECK_THAT(refusal("--paint", "none"), Contains("none"));
    CHECK(files_in(desk.path()) == std::set<std::string>{"m.csv"});
}

TEST_CASE("evenness writes its spectra, the scan and a report to its schema", "[cli][evenness]") {
    const Desk desk;
    desk.write("quick.json", quick_technique({{"speed", "2000/min"}, {"hand", nullptr}}));
    const Ended ended =
        desk.run({"evenness", "--panel", "test-plate", "--technique", "quick.json", "--grid", "4 mm",
                  "--from", "40 %", "--to", "60 %", "--step", "20 %", "--json", "--out", "even"});
    REQUIRE(ended.code == 0);
    const json report = json::parse(ended.out);
    CHECK(deviations(report, evenness_schema) == same);
    CHECK(report == desk.read("even/evenness.json"));
    CHECK(files_in(desk / "even") ==
          std::set<std::string>{"evenness.json", "film_lost.png", "marks.png", "overlap.png", "spectra.png"});
    CHECK(report["overlaps"].size() == 2);

    const Ended shown = desk.run({"evenness", "--panel", "test-plate", "--technique", "quick.json", "--grid",
                                  "4 mm", "--step", "50 %", "--marks", "off"});
    CHECK(shown.code == 0);
    CHECK_THAT(shown.out, Contains("averaged mode") && Contains("Orbits         not looked at") &&
                              Contains("Evens best") && Contains("eye protection"));
}

TEST_CASE("a bad option of evenness is refused by its name", "[cli][evenness]") {
    const Desk desk;
    desk.write("quick.json", quick_technique());
    const auto refusal = [&](const char* option, const char* value) {
        const Ended ended =
            desk.run({"evenness", "--panel", "test-plate", "--technique", "quick.json", option, value});
        CHECK(ended.code == 2);
        return ended.err;
    };
    CHECK_THAT(refusal("--from", "120 %"), Contains("--from"));
    CHECK_THAT(refusal("--to", "10 %"), Contains("--to") && Contains("below --from"));
    CHECK_THAT(refusal("--step", "0 %"), Contains("--step"));
    CHECK_THAT(refusal("--marks", "maybe"), Contains("--marks"));
}

// ---- lessons ----------------------------------------------------------------------------------------

TEST_CASE("a lesson prints its captions with the cautions, writes its folder and replaces an earlier one",
          "[cli][lesson]") {
    const Desk desk;
    const std::vector<std::string> args = {"lesson", "tilt-on-a-line", "--grid", "4 mm"};
    const Ended printed = desk.run(args);
    REQUIRE(printed.code == 0);
    CHECK_THAT(printed.out,
               Contains("Tilt on a body line") && Contains("waist line") && Contains("eye protection"));
    CHECK(printed.out.find('{') == std::string::npos);
    CHECK(fs::is_empty(desk.path()));

    std::vector<std::string> writing = args;
    writing.insert(writing.end(),
                   {"--out", "lesson", "--size", "800x500", "--theme", "dark", "--unit", "mil"});
    REQUIRE(desk.run(writing).code == 0);
    const auto first = tree(desk.path());
    CHECK(first.contains("lesson/step-5.png"));
    CHECK_THAT(first.at("lesson/lesson.md"), Contains(" mil") && !Contains("µm"));
    REQUIRE(desk.run(writing).code == 0); // the same again takes its place
    CHECK(differences(first, tree(desk.path())) == same);
}

TEST_CASE("a lesson that cannot be given is refused and leaves nothing", "[cli][lesson]") {
    const Desk desk;
    CHECK_THAT(refusal(desk, {"lesson", "edge-overun"}), Contains("'edge-overrun'"));
    CHECK_THAT(refusal(desk, {"lesson", "edge-overrun", "--size", "10x10", "--out", "x"}),
               StartsWith("--size: "));
    CHECK_THAT(refusal(desk, {"lesson"}), StartsWith("lesson: found no lesson"));
    json broken = json::parse(bytes_of(source_dir / "presets/lessons/edge-overrun.json"));
    broken["steps"][0]["caption"] = "{mistake.worst.clear_lef}";
    desk.write("broken.json", broken.dump());
    CHECK_THAT(refusal(desk, {"lesson", "broken.json", "--out", "x"}),
               Contains("broken.json: /steps/0/caption: found no figure {mistake.worst.clear_lef}") &&
                   Contains("did you mean {mistake.worst.clear_left}"));
    CHECK_FALSE(fs::exists(desk / "x"));
}

// ---- test sections ----------------------------------------------------------------------------------

namespace {

/// One entry into minibus.json for the rear door.
Ended enter(const Desk& desk, std::vector<std::string> args) {
    args.insert(args.begin(), {"section", "record", "minibus.json", "--panel", "rear-door"});
    return desk.run(args);
}

std::string entered(const Desk& desk, std::vector<std::string> args) {
    const Ended ended = enter(desk, std::move(args));
    INFO(ended.err);
    REQUIRE(ended.code == 0);
    return ended.out;
}

std::string advised(const Desk& desk, std::vector<std::string> args = {}) {
    args.insert(args.begin(), {"section", "advise", "minibus.json"});
    const Ended ended = desk.run(args);
    INFO(ended.err);
    REQUIRE(ended.code == 0);
    CHECK(std::regex_match(ended.err, progress_or_nothing));
    return ended.out;
}

const char* const polish_step = "da-15+medium-foam-150+polish";

} // namespace

TEST_CASE("a severe panel is led from inspection to a stronger step by commands alone", "[cli][section]") {
    const Desk desk;
    const Ended predicted = desk.run({"section", "predict", "--panel", "rear-door", "--defects", "severe"});
    REQUIRE(predicted.code == 0);
    CHECK_THAT(predicted.out, Contains("wash swirls: depth ") && Contains("Try first: ") &&
                                  Contains(polish_step) && Contains("stone chips on the panel") &&
                                  Contains("Wear eye protection"));

    CHECK_THAT(entered(desk, {"--defects", "severe", "--clean"}), Contains("washed and decontaminated"));
    const std::string first =
        entered(desk, {"--square", "240 mm, 230 mm", "--step", polish_step, "--seen", "50 %", "--before",
                       "112.4 um", "--after", "111.6 um", "--n", "5"});
    CHECK_THAT(
        first,
        Contains("a taped square of 400 x 400 mm at 240 mm, 230 mm; 1 set of polish on medium foam 150 mm") &&
            Contains("seen: 50 %") && Contains("0.80 µm gone (± 0.63 µm)"));
    entered(desk, {"--step", polish_step, "--seen", "70 %", "--after", "110.9 um", "--n-after",
                   "5"}); // before is on file
    CHECK(desk.read("minibus.json")["panels"][0]["squares"][0]["tries"][1]["gauge"]["before"] == "112.4 µm");

    const std::string advice = advised(desk);
    for (const char* part :
         {"Next         One step stronger: ", "Why          What was done on the square, done to the panel, ",
          "expected ", "Learned      the paint is ", "the marks are ", "deeper than described",
          "the hand takes off ", "Candidates   by film lost", "To learn     ",
          "Unsure of    the film: no gauge readings", "Touch-up     about 20 stone chips",
          "estimates from a model", "Wear eye protection"})
        CHECK_THAT(advice, Contains(part));
}

TEST_CASE("a light panel is led to enough", "[cli][section]") {
    const Desk desk;
    entered(desk, {"--defects", "light", "--clean", "--square", "240 mm, 230 mm", "--step", polish_step,
                   "--seen", "all", "--before", "112.4 um", "--after", "111.5 um", "--n", "5"});
    CHECK_THAT(advised(desk), Contains("Next         Enough: 1 set of polish on medium foam 150 mm") &&
                                  Contains("It costs "));
}

TEST_CASE(
    "advice is written as a document that keeps to its schema, with a chart, and replaces an earlier one",
    "[cli][section][long]") {
    const Desk desk;
    entered(desk, {"--defects", "severe", "--clean", "--step", polish_step, "--seen", "70 %"});
    const json document = json::parse(advised(desk, {"--json", "--out", "out"}));
    CHECK(deviations(document, advice_schema) == same);
    CHECK(document == desk.read("out/advice.json"));
    std::set<std::string> files;
    for (const auto& entry : fs::directory_iterator(desk / "out")) files.insert(entry.path().filename());
    CHECK(files == std::set<std::string>{"advice.json", "rear-door.png"});
    CHECK(bytes_of(desk / "out/rear-door.png").substr(0, 8) == "\x89PNG\r\n\x1a\n");
    const auto before = tree(desk.path());
    CHECK_THAT(advised(desk, {"--out", "out", "--threads", "1"}), Contains("Written      "));
    CHECK(differences(before, tree(desk.path())) == same);
    CHECK_THAT(advised(desk, {"--unit", "mil"}), Contains(" mil") && !Contains("µm of clear"));

    const Ended predicted = desk.run({"section", "predict", "--panel", "test-plate", "--json"});
    CHECK(predicted.code == 0);
    CHECK(deviations(json::parse(predicted.out), advice_schema) == same);
}

TEST_CASE("advice is withheld from a panel that is not clean, with the reason and the way on",
          "[cli][section]") {
    const Desk desk;
    entered(desk, {"--defects", "severe", "--step", polish_step, "--seen", "70 %"});
    const std::string withheld = advised(desk);
    CHECK_THAT(withheld, Contains("Wash and decontaminate first: grit") &&
                             Contains("--panel rear-door --clean") && !Contains("Candidates"));
    entered(desk, {"--clean"});
    CHECK_THAT(advised(desk), Contains("Candidates"));
    entered(desk, {"--not-clean"});
    CHECK(advised(desk) == withheld);
}

TEST_CASE("odd looks get a worded answer", "[cli][section][long]") {
    const Desk desk;
    entered(desk, {"--defects", "severe", "--clean", "--step", polish_step, "--seen", "better"});
    CHECK_THAT(advised(desk), Contains("\"better\" alone hardly tells"));
    entered(desk, {"--before", "112.4 um", "--after", "116 um", "--n", "5"}); // a look for the last try
    CHECK_THAT(advised(desk),
               Contains("Look again") && Contains("Film does not grow") && Contains("same marked spots"));
    entered(desk,
            {"--correct", "--seen", "100 %", "--before", "112.4 um", "--after", "112.4 um", "--n", "20"});
    CHECK_THAT(advised(desk),
               Contains("Look again") && Contains("fillers") && Contains("Were the gauge right"));
}

TEST_CASE("a panel with nothing recorded, or nothing but a square, is told what to try first",
          "[cli][section]") {
    const Desk desk;
    entered(desk, {"--defects", "severe", "--clean"});
    CHECK_THAT(advised(desk), Contains("Try first: ") && Contains("no section was tried on the panel yet"));
    entered(desk, {"--square", "240 mm, 230 mm", "--size", "300 mm, 300 mm"});
    CHECK_THAT(advised(desk), Contains("Try first: ") && Contains("300 x 300 mm at 240 mm, 230 mm") &&
                                  !Contains("no section was tried on the panel yet"));
}

TEST_CASE("a record lies where it is put, and names files from there", "[cli][section]") {
    const Desk desk;
    fs::create_directory(desk / "jobs");
    desk.write("plate.json", plate_file(600, 500).dump());
    const Ended ended = desk.run({"section", "record", "jobs/plate-record.json", "--panel", "plate.json",
                                  "--clean", "--step", polish_step, "--seen", "most", "--name", "A plate"});
    INFO(ended.err);
    REQUIRE(ended.code == 0);
    CHECK(desk.read("jobs/plate-record.json")["panels"][0]["panel"] == "../plate.json");
    CHECK(desk.run({"section", "advise", "jobs/plate-record.json", "--panel", "plate.json"}).code == 0);
    // The usual square was taken and put on file.
    CHECK(desk.read("jobs/plate-record.json")["panels"][0]["squares"][0]["at"] == json({"300 mm", "250 mm"}));
}

TEST_CASE("a bad option of section is refused by its name, and the record stays as it was",
          "[cli][section]") {
    const Desk desk;
    entered(desk, {"--defects", "severe", "--step", polish_step, "--seen", "50 %"});
    const std::string before = bytes_of(desk / "minibus.json");
    const auto refused = [&](std::vector<std::string> args) {
        const Ended ended = enter(desk, std::move(args));
        CHECK(ended.code == 2);
        CHECK(ended.out.empty());
        CHECK(bytes_of(desk / "minibus.json") == before);
        return ended.err;
    };
    CHECK_THAT(refused({"--step", "da-15+medium-foam-150+polsh"}),
               StartsWith("sparecoat: --step: ") && Contains(polish_step));
    CHECK_THAT(refused({"--step", polish_step, "--sets", "0"}), Contains("--sets: "));
    CHECK_THAT(refused({"--sets", "2"}), Contains("--sets: ") && Contains("--step"));
    CHECK_THAT(refused({"--step", polish_step, "--seen", "superb"}),
               Contains("--seen: ") && Contains("nearly all"));
    CHECK_THAT(refused({"--seen", "60 %"}), Contains("--seen: ") && Contains("--correct"));
    CHECK_THAT(refused({"--step", polish_step, "--after", "111 um"}),
               Contains("--after: ") && Contains("--before"));
    CHECK_THAT(refused({"--step", polish_step, "--before", "111 um"}),
               Contains("--before: ") && Contains("--after"));
    CHECK_THAT(refused({"--step", polish_step, "--before", "111", "--after", "110 um"}),
               Contains("--before: ") && Contains("without a unit"));
    CHECK_THAT(refused({"--step", polish_step, "--before", "111 um", "--after", "3 um"}),
               Contains("--after: "));
    CHECK_THAT(refused({"--step", polish_step, "--before", "111 um", "--after", "30 um"}),
               Contains("/gauge/after: ") && Contains("another unit"));
    CHECK_THAT(refused({"--step", polish_step, "--n", "5"}), Contains("--n: ") && Contains("--after"));
    CHECK_THAT(refused({"--step", polish_step, "--before", "111 um", "--after", "110 um", "--n", "0"}),
               Contains("--n: "));
    CHECK_THAT(refused({"--square", "290 mm"}), Contains("--square: "));
    CHECK_THAT(refused({"--square", "290, 300 mm"}), Contains("--square: ") && Contains("without a unit"));
    CHECK_THAT(refused({"--square", "5 m, 5 m"}), Contains("off the panel"));
    CHECK_THAT(refused({"--square", "700 mm, 230 mm"}),
               Contains("ground of square 1, which is not untouched any more"));
    CHECK_THAT(refused({"--size", "400 mm, 400 mm"}), Contains("--size: ") && Contains("--square"));
    CHECK_THAT(refused({"--square", "290 mm, 300 mm", "--size", "1 mm, 1 mm"}), Contains("--size: "));
    CHECK_THAT(refused({"--kit", "other"}), Contains("--kit: "));
    CHECK_THAT(refused({"--clean", "--not-clean"}), Contains("--not-clean: "));
    CHECK_THAT(refused({"--paint", "sofd"}), Contains("/panels/0/paint: ") && Contains("'soft'"));
    CHECK_THAT(refused({"--readings", "none.csv"}), Contains("none.csv"));
    CHECK_THAT(refused({"--share", "120 %"}), Contains("--share: "));
    CHECK_THAT(refused({"--finish", "splendid"}), Contains("--finish: ") && Contains("full"));
    CHECK_THAT(refused({"--reserve", "3 N"}), Contains("--reserve: ") && Contains("a force"));
    CHECK_THAT(refused({"--unit", "mm"}), Contains("--unit: "));
    CHECK(std::distance(fs::directory_iterator(desk.path()), {}) == 1);

    const auto predict = [&](std::vector<std::string> args) {
        args.insert(args.begin(), {"section", "predict", "--panel", "test-plate"});
        return refusal(desk, args);
    };
    CHECK_THAT(predict({"--kit", "worksop"}), Contains("'workshop'"));
    CHECK_THAT(predict({"--keep", "2"}), StartsWith("--keep: "));
    CHECK_THAT(
        refusal(desk, {"section"}),
        StartsWith("section: found no command; allowed: one of the commands: predict, record, advise"));
    CHECK_THAT(refusal(desk, {"section", "predct"}),
               StartsWith("section: found no command \"predct\"; allowed: did you mean 'predict'?"));
    CHECK_THAT(refusal(desk, {"section", "predict"}), StartsWith("section predict: found no --panel"));
    CHECK_THAT(refusal(desk, {"section", "predict", "--panl", "x"}),
               StartsWith("section predict: found unknown option \"--panl\""));
    CHECK_THAT(refusal(desk, {"section", "advise"}), StartsWith("section advise: found no file"));
    CHECK_THAT(refusal(desk, {"section", "advise", "none.json"}),
               StartsWith("none.json: found no such file"));
    CHECK_THAT(refusal(desk, {"section", "advise", "minibus.json", "--panel", "rear-dor"}),
               Contains("'rear-door'"));
    CHECK_THAT(refusal(desk, {"section", "advise", "minibus.json", "--out", ""}), StartsWith("--out: "));
}

// ---- the plan of a vehicle ---------------------------------------------------------------------------

TEST_CASE("a job's plan is printed, written, kept in the job file and taken back", "[cli][plan][long]") {
    const Desk desk;
    const auto done = [&](std::vector<std::string> words) {
        words.insert(words.begin(), "job");
        const Ended ended = desk.run(words);
        INFO(ended.err);
        REQUIRE(ended.code == 0);
        return ended.out;
    };
    done({"new", "bus.sparecoat", "--name", "Minibus 3", "--kit", "workshop"});
    done({"add-panel", "bus.sparecoat", "--name", "left flap", "--panel", "test-plate"});
    done({"add-panel", "bus.sparecoat", "--name", "bumper", "--panel", "bumper-corner"});
    done({"visit", "bus.sparecoat", "--date", "2026-03-14"});
    done({"mark", "bus.sparecoat", "--panel", "left flap", "--clean", "--defects", "severe"});
    const std::string before = done({"export", "bus.sparecoat"});

    const std::string text = done(
        {"plan", "bus.sparecoat", "--a-hv", "da-15=3.5 m/s2", "--task", "sander=4, 30 min", "--out", "plan"});
    CHECK_THAT(text, Contains("left flap: planned") && Contains("bumper: wash and decontaminate first"));
    CHECK_THAT(text, Contains("A(8)") &&
                         Contains("sander: 4 m/s² for 30 min: 16 points")); // 100 (4/2.5)² 0.5/8 = 16
    CHECK_THAT(text, Contains("estimates from a model") && Contains("eye protection"));
    const json plan = desk.read("plan/plan.json");
    CHECK(deviations(plan, plan_schema) == same);
    CHECK(fs::file_size(desk / "plan/front.png") > 5000);

    const json kept = json::parse(done({"export", "bus.sparecoat"}));
    const json& at = kept["visits"][0]["panels"];
    REQUIRE(at.size() == 2);
    CHECK(at[0]["plan"] == plan["panels"][0]);
    const json& whole = kept["visits"][0]["plan"];
    CHECK(deviations(whole, visit_plan_schema) == same);
    CHECK(whole["totals"] == plan["totals"]);
    CHECK(whole["exposure"]["machines"][0] == json{{"machine", "da-15"}, {"a_hv_m_s2", 3.5}});
    CHECK(whole["exposure"]["tasks"][0] == json{{"what", "sander"}, {"a_hv_m_s2", 4}, {"time_s", 1800}});
    REQUIRE(at[0]["runs"].size() == plan["panels"][0]["steps"].size());
    CHECK(deviations(at[0]["runs"][0]["summary"], summary_schema) == same);
    CHECK(at[0]["runs"][0]["label"] == "plan: " + plan["panels"][0]["steps"][0]["step"].get<std::string>());

    // Again, as JSON: the same plan, in the place of the first.
    CHECK(json::parse(done({"plan", "bus.sparecoat", "--json", "--threads", "1", "--out", "plan"})) == plan);
    CHECK(json::parse(done({"export", "bus.sparecoat"}))["visits"][0]["panels"][0]["runs"].size() ==
          at[0]["runs"].size());
    done({"undo", "bus.sparecoat"});
    done({"undo", "bus.sparecoat"});
    CHECK(done({"export", "bus.sparecoat"}) == before);
    done({"plan", "bus.sparecoat", "--no-keep", "--time-limit", "0 min"});
    CHECK(done({"export", "bus.sparecoat"}) == before);
}

TEST_CASE("a plan's options are held to what they can be", "[cli][plan]") {
    const Desk desk;
    desk.run({"job", "new", "bus.sparecoat", "--name", "Minibus 3", "--kit", "workshop"});
    const auto refused = [&](std::vector<std::string> words) {
        words.insert(words.begin(), {"job", "plan", "bus.sparecoat"});
        const Ended ended = desk.run(words);
        CHECK(ended.code == 2);
        CHECK(ended.out.empty());
        return ended.err;
    };
    CHECK_THAT(refused({}), Contains("no visit yet"));
    desk.run({"job", "visit", "bus.sparecoat", "--date", "2026-03-14"});
    CHECK_THAT(refused({}), Contains("no panel"));
    desk.run({"job", "add-panel", "bus.sparecoat", "--name", "flap", "--panel", "test-plate"});
    CHECK_THAT(refused({"--time-limit", "6"}), Contains("--time-limit") && Contains("6 h"));
    CHECK_THAT(refused({"--film-limit", "3 h"}), Contains("--film-limit"));
    CHECK_THAT(refused({"--a-hv", "da-15"}), Contains("--a-hv") && Contains("da-15=3.5"));
    CHECK_THAT(refused({"--a-hv", "da-51=3"}), Contains("--a-hv") && Contains("da-15"));
    CHECK_THAT(refused({"--a-hv", "da-15=300"}), Contains("--a-hv"));
    CHECK_THAT(refused({"--task", "sander=4"}), Contains("--task") && Contains("30 min"));
    desk.run({"job", "new", "bare.sparecoat", "--name", "Minibus 4"});
    desk.run({"job", "visit", "bare.sparecoat", "--date", "2026-03-14"});
    CHECK_THAT(desk.run({"job", "plan", "bare.sparecoat"}).err, Contains("no kit"));
}

// ---- sweeps

namespace {

/// Six runs of some milliseconds each, four of them different: with one factor the mixed points are those of
/// the second matrix.
json quick_sweep() {
    return {{"kind", "sweep"},
            {"name", "Quick"},
            {"panel", "small-plate"},
            {"technique", "small-head-detail"},
            {"design", {{"kind", "saltelli"}, {"points", 2}}},
            {"factors",
             json::array(
                 {{{"of", "technique"}, {"at", "/arm_speed"}, {"from", "150 mm/s"}, {"to", "300 mm/s"}}})}};
}

} // namespace

TEST_CASE("a sweep is run, shown, exported and looked at from the command line", "[cli][sweep]") {
    const Desk desk;
    desk.write("quick.json", quick_sweep().dump());
    const std::vector<std::string> on{"quick.json", "--db", "r.sqlite"};
    const auto sweep = [&](const std::string& command, std::vector<std::string> more = {}) {
        more.insert(more.begin(), on.begin(), on.end());
        more.insert(more.begin(), {"sweep", command});
        return desk.run(more);
    };
    const Ended early = sweep("csv");
    CHECK(early.code == 2);
    CHECK_THAT(early.err, Contains("r.sqlite: found no such file"));

    CHECK(sweep("run", {"--shard", "1/2"}).code == 0);
    const Ended half = sweep("csv");
    CHECK(half.code == 2);
    CHECK_THAT(half.err, Contains("4 of 6 runs without a row"));
    const Ended run = sweep("run", {"--csv", "out.csv"});
    CHECK(run.code == 0);
    CHECK_THAT(run.out, Contains("Computed     2 now, 2 were on file") && Contains("The film gauge decides"));
    CHECK(sweep("csv").out == bytes_of(desk / "out.csv"));
    CHECK_THAT(sweep("show").out, Contains("On file      6 of 6 runs") && Contains("150 mm/s to 300 mm/s"));

    const Ended indices = sweep("indices", {"--of", "minutes", "--json"});
    CHECK(indices.code == 0);
    CHECK(deviations(json::parse(indices.out), sweep_schema) == same);
    const Ended charts = sweep("chart", {"--out", "charts", "--of", "minutes", "--charts", "svg"});
    CHECK(charts.code == 0);
    CHECK(tree(desk / "charts").size() == 4);
    CHECK(desk.read("charts/sweep.json") == json::parse(indices.out));
    CHECK_THAT(sweep("indices", {"--of", "minute"}).err, Contains("did you mean 'minutes'"));

    desk.write("mine.csv", "mine\n");
    CHECK(sweep("run", {"--csv", "mine.csv"}).code == 2);
    CHECK(bytes_of(desk / "mine.csv") == "mine\n");
    CHECK_THAT(sweep("run", {"--shard", "3/2"}).err, Contains("--shard: found \"3/2\""));
    CHECK_THAT(sweep("run", {"--shard", "1/2", "--csv", "half.csv"}).err,
               Contains("--csv: found a part of the sweep"));
    const Ended merged = desk.run({"sweep", "merge", "all.sqlite", "r.sqlite"});
    CHECK(merged.out == "r.sqlite: 4 rows were new\nall.sqlite now has 4 rows\n");
}
