// Where a library's documents are: a folder, or a job that holds them itself.
#include "plan/plan.hpp"
#include "run/run_job.hpp"
#include "support/files.hpp"
#include "support/job_world.hpp"
#include "support/refusal.hpp"
#include "vehicle/job_plan.hpp"
#include <catch2/catch.hpp>
#include <cstdlib>
#include <filesystem>
#include <nlohmann/json.hpp>
#include <png.h>
#include <string>
#include <sys/inotify.h>
#include <unistd.h>
#include <vector>

namespace test_store {
namespace fs = std::filesystem;
using namespace sparecoat::cli;
using namespace sparecoat::test;
using Catch::Matchers::Contains;
using nlohmann::json;

namespace {

/// A tilted and creased sheet of 600 mm x 500 mm, in two materials.
constexpr const char* sheet_obj = "v 0 0 0\nv 300 0 40\nv 600 0 0\nv 600 500 10\nv 300 500 50\n"
                                  "v 0 500 10\nusemtl b\nf 1 2 5 6\nusemtl a\nf 2 3 4 5\n";

/// 16-bit grey, a plate with a slope in a frame of nothing.
void write_height_map(const fs::path& file) {
    constexpr int width = 120, height = 90;
    std::vector<std::uint16_t> grey(static_cast<std::size_t>(width * height), 0);
    for (int j = 5; j < height - 5; ++j)
        for (int i = 5; i < width - 5; ++i)
            grey[static_cast<std::size_t>(j * width + i)] =
                static_cast<std::uint16_t>(10000 + 100 * i + 37 * j);
    png_image image{};
    image.version = PNG_IMAGE_VERSION;
    image.width = width, image.height = height, image.format = PNG_FORMAT_LINEAR_Y;
    REQUIRE(png_image_write_to_file(&image, file.c_str(), 0, grey.data(), 0, nullptr) != 0);
}

/// A folder of presets with panels in a mesh and in a height map, which shipped ones are not.
void make_presets(const fs::path& root) {
    fs::copy(source_at("presets"), root, fs::copy_options::recursive);
    fs::create_directories(root / "shapes");
    write_text(root / "shapes" / "sheet.obj", sheet_obj);
    write_height_map(root / "shapes" / "slope.png");
    write_text(root / "panels" / "creased.json",
               R"({"kind": "panel", "name": "Creased", "substrate": "steel",)"
               R"( "mesh": {"file": "../shapes/sheet.obj"}})");
    write_text(root / "panels" / "sloping.json",
               R"({"kind": "panel", "name": "Sloping", "substrate": "plastic",
                   "height_map": {"file": "../shapes/slope.png", "pixel": "4 mm", "full_scale": "65 mm"}})");
}

void check_same_panel(const Panel& a, const Panel& b) {
    CHECK(a.name == b.name);
    CHECK(a.edge_names == b.edge_names);
    CHECK((a.grid.nu == b.grid.nu && a.grid.nv == b.grid.nv && a.grid.h_m == b.grid.h_m));
    CHECK(a.inside == b.inside);
    CHECK(a.height_m == b.height_m);
    CHECK(a.laplacian_per_m == b.laplacian_per_m);
    CHECK(a.edge_distance_m == b.edge_distance_m);
}

float range_of(const std::vector<float>& heights_m) {
    const auto [low, high] = std::minmax_element(heights_m.begin(), heights_m.end());
    return *high - *low;
}

/// What a job's file holds, changed behind its back as a stranger could.
void forge(const fs::path& file, const std::string& sql) {
    const Database database(file, Database::Mode::write);
    database.execute("PRAGMA ignore_check_constraints = ON");
    database.execute(sql);
}

/// Tells of files that are made in a folder while it is there.
class FolderWatch {
public:
    explicit FolderWatch(const fs::path& folder) : handle_(::inotify_init1(IN_NONBLOCK | IN_CLOEXEC)) {
        REQUIRE(handle_ >= 0);
        REQUIRE(::inotify_add_watch(handle_, folder.c_str(), IN_CREATE | IN_MOVED_TO) >= 0);
    }
    ~FolderWatch() { ::close(handle_); }
    FolderWatch(const FolderWatch&) = delete;
    FolderWatch& operator=(const FolderWatch&) = delete;
    bool saw_something() const {
        char events[4096];
        return ::read(handle_, events, sizeof events) > 0;
    }

private:
    int handle_;
};

/// The folder for temporary files is another one as long as this is there.
class TemporaryFolder {
public:
    explicit TemporaryFolder(const fs::path& folder) {
        if (const char* was = std::getenv("TMPDIR")) was_ = was;
        ::setenv("TMPDIR", folder.c_str(), 1);
    }
    ~TemporaryFolder() {
        if (was_) ::setenv("TMPDIR", was_->c_str(), 1);
        else ::unsetenv("TMPDIR");
    }
    TemporaryFolder(const TemporaryFolder&) = delete;
    TemporaryFolder& operator=(const TemporaryFolder&) = delete;

private:
    std::optional<std::string> was_;
};

/// A job with a small clean plate, a kit, marks and readings on it.
struct PlateJob {
    ScratchFolder session;
    fs::path path = session.path / "bus.sparecoat";
    JobFile file = JobFile::create(path, minibus());
    Id plate = add_panel(file, "lid", "test-plate");
    Visit visit = file.get<Visit>(add_visit(file, "2026-03-14"));

    explicit PlateJob(const std::vector<FilmReading>& readings) {
        file.edit("all else", [&] {
            const Vehicle was = file.vehicle();
            Vehicle now = was;
            now.kit = bring_in(file, shipped_presets(), "kit", "workshop").document;
            file.change(was, now);
            const PanelVisit at = file.at_visit(visit.id, plate);
            PanelVisit clean = at;
            clean.clean = true,
            clean.defects = bring_in(file, shipped_presets(), "defects", "moderate").document;
            file.change(at, clean);
            for (FilmReading row : readings) {
                row.panel_visit = at.id;
                file.add(row);
            }
        });
    }
};

FilmReading read_at(double x_m, double y_m, double film_um, bool of_clear = false) {
    FilmReading row;
    row.x_m = x_m, row.y_m = y_m, row.film_um = film_um, row.of_clear = of_clear;
    return row;
}

} // namespace

TEST_CASE("a job's library gives the same panels as the folder that they came from, which may be gone",
          "[job][store]") {
    const ScratchFolder session;
    const fs::path root = session.path / "presets";
    make_presets(root);
    const Library folder(root);
    JobFile file = JobFile::create(session.path / "bus.sparecoat", minibus());
    file.edit("panels", [&] {
        for (const char* panel : {"creased", "sloping"}) bring_in(file, folder, "panel", panel);
    });
    const Panel creased = build_panel(folder.panel("creased"), 0.004),
                sloping = build_panel(folder.panel("sloping"), 0.004);
    CHECK(range_of(creased.height_m) > 0.02f);
    CHECK(range_of(sloping.height_m) > 0.005f);
    fs::remove_all(root);
    const Library job = job_library(file);
    check_same_panel(build_panel(job.panel("creased"), 0.004), creased);
    check_same_panel(build_panel(job.panel("sloping"), 0.004), sloping);
    CHECK(job.substrate(job.panel("sloping").substrate).polymer);
}

TEST_CASE("a job's library gives the same technique as the folder that it came from", "[job][store]") {
    const ScratchFolder session;
    JobFile file = JobFile::create(session.path / "bus.sparecoat", minibus());
    file.edit("technique", [&] { bring_in(file, shipped_presets(), "technique", "door-polish"); });
    const auto [shipped, kept] = std::pair(shipped_presets().document(PresetKind::technique, "door-polish"),
                                           job_library(file).document(PresetKind::technique, "door-polish"));
    CHECK(kept.body["force"] == shipped.body["force"]);
    CHECK(kept.body.at("hold_back") == shipped.body.at("hold_back"));
    const Resolved from_folder = resolve(shipped_presets(), "door-polish"),
                   from_job = resolve(job_library(file), "door-polish");
    CHECK(from_job.technique.force_n == from_folder.technique.force_n);
    CHECK(from_job.technique.hold_back_edge_m == from_folder.technique.hold_back_edge_m);
    CHECK(from_job.pad.name == from_folder.pad.name);
    CHECK(from_job.liquid.cut_per_size_pa_m == from_folder.liquid.cut_per_size_pa_m);
    CHECK(from_job.machine.throw_m == from_folder.machine.throw_m);
}

TEST_CASE("a job's library has the job's documents and no others, unless shipped ones stand behind",
          "[job][store]") {
    PlateJob job({});
    CHECK_THROWS_AS(job_library(job.file).panel("rear-door"), UnknownPreset);
    const Library both = job_library_before(job.file, shipped_presets());
    CHECK(both.panel("rear-door").name == shipped_presets().panel("rear-door").name);
    job.file.edit("plate", [&] {
        for (const Document& was : job.file.all<Document>()) {
            if (was.kind != "panel") continue;
            json body = json::parse(was.body);
            body["name"] = "The bus's own";
            Document now = document_row("panel", was.reference, body);
            now.id = was.id;
            job.file.change(was, now);
        }
    });
    CHECK(job_library_before(job.file, shipped_presets()).panel("test-plate").name == "The bus's own");
    CHECK(both.panel("test-plate").name != "The bus's own"); // as it was when it was read
}

TEST_CASE("a name in a job that leads out of it is refused when it is read, though there is a file",
          "[job][store]") {
    const ScratchFolder session;
    const fs::path root = session.path / "presets", file = session.path / "bus.sparecoat";
    make_presets(root);
    {
        JobFile job = JobFile::create(file, minibus());
        job.edit("panel", [&] { bring_in(job, Library(root), "panel", "creased"); });
        CHECK_NOTHROW(build_panel(job_library(job).panel("creased"), 0.004));
    }
    const auto refused = [&](const std::string& pointer, const std::string& value) {
        forge(file,
              fmt::format("UPDATE document SET body = json_set(body, '$.{}', '{}') WHERE kind = 'panel'",
                          pointer, value));
        const Library forged = job_library(JobFile::open(file));
        return refusal([&] { forged.panel("creased"); });
    };
    for (const std::string& mesh :
         {(root / "shapes" / "sheet.obj").string(), std::string("../shapes/sheet.obj"),
          std::string("presets/shapes/sheet.obj"), std::string("../files/../presets/shapes/sheet.obj")}) {
        const InputError error = refused("mesh.file", mesh);
        CHECK(error.place() == "/mesh/file");
        CHECK_THAT(error.found(), Contains(mesh) && Contains("leads out of the job"));
    }
    const std::string steel = (root / "substrates" / "steel.json").string();
    forge(file, "UPDATE document SET body = json_set(body, '$.mesh.file', '../files/sheet.obj') WHERE kind = "
                "'panel'");
    const InputError error = refused("substrate", steel);
    CHECK(error.place() == "/substrate");
    CHECK_THAT(error.found(), Contains(steel) && Contains("leads out of the job"));
}

TEST_CASE("a document whose own name leads out of a job is refused, and nothing lands where it says",
          "[job][store]") {
    const ScratchFolder session;
    const fs::path file = session.path / "bus.sparecoat";
    {
        JobFile job = JobFile::create(file, minibus());
        add_panel(job, "lid", "test-plate");
    }
    for (const fs::path& name : {fs::path("../../sly"), session.path / "sly"}) {
        forge(file, fmt::format("UPDATE document SET reference = '{}' WHERE kind = 'paint'", name.string()));
        CHECK(refusal([&] { job_library(JobFile::open(file)); }).file() == file.string());
        CHECK_FALSE(fs::exists(session.path / "sly.json"));
    }
}

TEST_CASE("a job is planned without a file in the folder for temporary files", "[job][store]") {
    const ScratchFolder temporary;
    const PlateJob job({read_at(0.1, 0.1, 112), read_at(0.2, 0.2, 114)});
    const TemporaryFolder meant(temporary.path);
    const FolderWatch watch(temporary.path);
    const JobForPlan from = job_for_plan(job.file, job.visit);
    REQUIRE(from.record.panels.front().film);
    int told = 0;
    const auto stop = [&](const std::string&, double) { return ++told < 3; };
    CHECK_THROWS_AS(plan_vehicle(job_library(job.file), from.record, from.tasks, {}, 0, stop), Stopped);
    CHECK(told > 0);
    CHECK_FALSE(watch.saw_something());
    write_text(temporary.path / "seen", "");
    CHECK(watch.saw_something());
}

TEST_CASE("a job's readings reach a run to the last digit", "[job][store]") {
    // None of these is a whole number of micrometres in millimetres.
    const std::vector<FilmReading> rows = {read_at(0.1 + 0.2, 1.0 / 7, 110.0 / 3),
                                           read_at(0.123456789012345, 0.1, 112.1),
                                           read_at(0.2, 0.07 * 3, 41.2345678912, true)};
    const PlateJob job(rows);
    const SharedReadings film = job_for_plan(job.file, job.visit).record.panels.front().film;
    REQUIRE(film);
    RunRequest request;
    request.panel = "test-plate", request.grid_m = 0.004, request.readings = film;
    const LaidPanel laid = lay_panel(job_library(job.file), request);
    CHECK(laid.film->readings == rows.size());
    const GaugeFile held = held_to_panel(*film, laid.panel, request.panel);
    REQUIRE(held.readings.size() == rows.size());
    for (std::size_t k = 0; k < rows.size(); ++k) {
        CHECK(held.readings[k].at.x == rows[k].x_m);
        CHECK(held.readings[k].at.y == rows[k].y_m);
        CHECK(held.readings[k].film_um == rows[k].film_um);
        CHECK(held.readings[k].of_clear == rows[k].of_clear);
    }
}

TEST_CASE("a job's readings are held to the panel like those of a file", "[job][store]") {
    const auto said = [](const std::vector<FilmReading>& rows) {
        const PlateJob job(rows);
        RunRequest request;
        request.panel = "test-plate", request.grid_m = 0.004;
        request.readings = job_for_plan(job.file, job.visit).record.panels.front().film;
        return std::string(refusal([&] { lay_panel(job_library(job.file), request); }).what());
    };
    const FilmReading sound = read_at(0.1, 0.1, 112);
    CHECK_THAT(said({sound, read_at(5, 0.1, 112)}),
               Contains("bus.sparecoat: lid: reading 2: found") && Contains("off the panel"));
    CHECK_THAT(said({sound, read_at(0.2, 0.1, 3)}), Contains("reading 2") && Contains("did you mean mil"));
    CHECK_THAT(said({sound, read_at(0.101, 0.1, 160)}), Contains("reading 2") && Contains("30 % apart"));
}

} // namespace test_store
