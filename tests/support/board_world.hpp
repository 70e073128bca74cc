#pragma once
// Shared by the tests of the board.
#include "support/files.hpp"
#include "support/job_world.hpp"
#include "support/refusal.hpp"
#include "units/quantity.hpp"
#include "vehicle/job_board.hpp"
#include "view/app/session.hpp"
#include "view/pages/board/board_words.hpp"
#include <algorithm>
#include <catch2/catch.hpp>
#include <chrono>
#include <fmt/format.h>
#include <functional>
#include <thread>

namespace sparecoat::test::board_world {
using namespace sparecoat::cli;
using namespace sparecoat::test;
namespace fs = std::filesystem;
using Catch::Matchers::Contains;

/// A minibus of two small panels and a kit of two steps, so that its plan takes no time.
class SmallBus {
public:
    SmallBus() {
        write_text(folder_.path / "kit.json", R"({"kind": "kit", "name": "Two steps", "machines": [
            {"machine": "da-15", "speed": "4500/min", "force": "45 N", "arm_speed": "60 mm/s", "passes": 2}],
            "pads": ["medium-foam-150"], "liquids": ["finishing-polish", "polish"]})");
        JobFile job = JobFile::create(file(), minibus(), [&](JobFile& fresh) {
            const Vehicle was = fresh.vehicle();
            Vehicle now = was;
            now.kit =
                bring_in(fresh, shipped_presets(), "kit", (folder_.path / "kit.json").string()).document;
            now.share = 0.5, now.haze = 20;
            fresh.change(was, now);
        });
        add_panel(job, "lid", "test-plate");
        add_panel(job, "flap", "test-plate");
        add_visit(job, "2026-03-14", "spring");
    }
    fs::path file() const { return folder_.path / "bus.sparecoat"; }
    const fs::path& folder() const { return folder_.path; }
    std::string on_file() const { return dump(JobFile::open(file(), JobFile::Access::read)); }

private:
    ScratchFolder folder_;
};

inline void open(JobModel& bench, const SmallBus& bus) { bench.open(bus.file()); }

/// Digits and Enter, counted.
struct Typist {
    JobModel& bench;
    int strokes = 0;
    void type(const std::string& text) {
        for (const char c : text) bench.type(static_cast<unsigned>(c)), ++strokes;
    }
    bool enter() {
        ++strokes;
        return bench.take_reading(FilmUnit::um);
    }
};

inline RunRequest plate_request() {
    RunRequest request;
    request.panel = "test-plate", request.technique = "polish-da-15", request.grid_m = 0.004;
    return request;
}

inline bool tick_until(Session& session, const std::function<bool()>& done, double at_most_s = 60) {
    const auto start = std::chrono::steady_clock::now();
    for (;;) {
        const double t = std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
        session.tick(t);
        if (done()) return true;
        if (t > at_most_s) return false;
        std::this_thread::sleep_for(std::chrono::milliseconds(3));
    }
}

inline void set(BoardForm& form, std::initializer_list<const char*> texts) {
    REQUIRE(form.fields.size() >= texts.size());
    std::size_t k = 0;
    for (const char* text : texts) form.fields[k++].text = text;
}

} // namespace sparecoat::test::board_world
