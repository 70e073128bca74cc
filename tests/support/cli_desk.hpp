#pragma once
// Shared by the tests of the program as a person runs it.
#include "run/run_job.hpp"
#include "support/files.hpp"
#include "support/nonempty.hpp"
#include "support/places.hpp"
#include "support/process.hpp"
#include "support/schema_check.hpp"
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

namespace sparecoat::test::cli_desk {
namespace fs = std::filesystem;
using Catch::Matchers::Contains;
using Catch::Matchers::StartsWith;
using namespace sparecoat::cli;
using namespace sparecoat::test;
using nlohmann::json;

inline const fs::path source_dir = source_at("");

/// Every file below a folder with its bytes, and every folder, hidden or not.
inline std::map<std::string, std::string> tree(const fs::path& folder) {
    std::map<std::string, std::string> entries;
    for (const auto& entry : fs::recursive_directory_iterator(folder)) {
        const std::string name = fs::relative(entry.path(), folder).string();
        entries[name] = entry.is_directory() ? "a folder" : bytes_of(entry.path());
    }
    return entries;
}

/// Names alone where trees differ: their bytes would flood the report.
inline std::vector<std::string> differences(const std::map<std::string, std::string>& a,
                                            const std::map<std::string, std::string>& b) {
    std::vector<std::string> names;
    for (const auto& [name, bytes] : a)
        if (const auto other = b.find(name); other == b.end() || other->second != bytes)
            names.push_back(name);
    for (const auto& [name, bytes] : b)
        if (!a.contains(name)) names.push_back(name);
    return names;
}

inline const std::vector<std::string> same;

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
inline std::string quick_technique(const json& changes = json::object()) {
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
inline json plate_file(double width_mm, double height_mm) {
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
inline void write_sheet_png(const fs::path& path) {
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
inline std::string recording(const std::string& more_columns = "", const std::string& more_values = "") {
    std::string text = "t_s,x_mm,y_mm" + more_columns + "\n";
    for (int k = 0; k <= 60; ++k)
        text += fmt::format("{},{},250{}\n", 12 + 0.1 * k, 150 + 5 * k, more_values);
    return text;
}

// ---- what a run leaves

inline const fs::path summary_schema = source_dir / "docs" / "schema" / "summary.schema.json";
inline const fs::path risk_schema = source_dir / "docs" / "schema" / "risk.schema.json";
inline const fs::path advice_schema = source_dir / "docs" / "schema" / "advice.schema.json";
inline const fs::path plan_schema = source_dir / "docs" / "schema" / "plan.schema.json";
inline const fs::path visit_plan_schema = source_dir / "docs" / "schema" / "visit-plan.schema.json";
inline const fs::path fit_schema = source_dir / "docs" / "schema" / "fit.schema.json";
inline const fs::path evenness_schema = source_dir / "docs" / "schema" / "evenness.schema.json";
inline const fs::path sweep_schema = source_dir / "docs" / "schema" / "sweep-report.schema.json";
inline const fs::path comparison_schema = source_dir / "docs" / "schema" / "comparison.schema.json";
inline const fs::path compare_schema = source_dir / "docs" / "schema" / "compare.schema.json";

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

inline std::size_t cell_of(const json& grid, const json& place) {
    const auto along = [&](const char* axis) {
        const double cells = (place[axis].get<double>() - grid["first_cell"][axis].get<double>()) /
                             grid["spacing_mm"].get<double>();
        REQUIRE(std::abs(cells - std::round(cells)) < 1e-6); // places are cell centres
        return static_cast<std::size_t>(std::lround(cells));
    };
    return along("y_mm") * grid["cells_u"].get<std::size_t>() + along("x_mm");
}

/// Holds factors in a summary to those of the exported fields.
inline void check_factors(const json& factors, double removed_um, const fs::path& folder, std::size_t cell) {
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

inline void check_spot(const json& spot, const json& open, const json& grid, const fs::path& folder) {
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
inline void check_every_cell(const json& summary, const fs::path& folder) {
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

inline const std::set<std::string> files_of_a_run = {"clear_before_um.npy",
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
inline json checked_run(const fs::path& folder) {
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
inline const std::regex progress_or_nothing(R"((Simulating \.\.\. \d+ %\n)*)");

/// A run into `out`, at 4 mm, that is to go well.
inline json ran(const Desk& desk, std::vector<std::string> args, const std::string& out = "out") {
    args.insert(args.begin(), {"run", "--grid", "4 mm", "--out", out});
    const Ended ended = desk.run(args);
    INFO(ended.err);
    REQUIRE(ended.code == 0);
    CHECK(std::regex_match(ended.err, progress_or_nothing));
    return checked_run(desk / out);
}

/// A run that is to be refused: code 2, one line on stderr, nothing on stdout, nothing written anywhere.
/// @return the line without the program's name and the line feed
inline std::string refusal(const Desk& desk, const std::vector<std::string>& args) {
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
inline std::string run_refusal(const Desk& desk, std::vector<std::string> args) {
    args.insert(args.begin(), {"run", "--out", "new/out"});
    return refusal(desk, args);
}

inline std::string technique_refusal(const Desk& desk, const json& changes,
                                     const std::string& panel = "test-plate") {
    desk.write("bad.json", quick_technique(changes));
    return run_refusal(desk, {"--panel", panel, "--technique", "bad.json", "--grid", "4 mm"});
}

inline std::string panel_refusal(const Desk& desk, const json& panel) {
    desk.write("panel.json", panel.dump());
    desk.write("quick.json", quick_technique());
    return run_refusal(desk, {"--panel", "panel.json", "--technique", "quick.json", "--grid", "4 mm"});
}

inline std::string path_refusal(const Desk& desk, const std::string& csv) {
    desk.write("path.csv", csv);
    desk.write("quick.json", quick_technique());
    return run_refusal(
        desk, {"--panel", "test-plate", "--technique", "quick.json", "--path", "path.csv", "--grid", "4 mm"});
}

} // namespace sparecoat::test::cli_desk
