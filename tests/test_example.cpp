// The program of ten lines in docs/examples: it is built along with the tests, and what it prints is what the
// program itself simulates of the presets that the ten lines spell out.
#include "library/presets.hpp"
#include "run/run_job.hpp"
#include "support/places.hpp"
#include "units/quantity.hpp"
#include <array>
#include <catch2/catch.hpp>
#include <cstdio>
#include <fmt/format.h>
#include <memory>

namespace test_example {
using namespace sparecoat::run;

namespace {

/// What a program prints.
std::string printed_by(const std::string& program) {
    const std::unique_ptr<std::FILE, int (*)(std::FILE*)> pipe(popen(("'" + program + "'").c_str(), "r"),
                                                               pclose);
    REQUIRE(pipe);
    std::string out;
    for (int c = std::fgetc(pipe.get()); c != EOF; c = std::fgetc(pipe.get())) out += static_cast<char>(c);
    return out;
}

} // namespace

TEST_CASE("the example without files prints what the presets it spells out come to", "[example]") {
    RunRequest request;
    request.panel = "test-plate", request.technique = "polish-da-15", request.paint = "typical";
    const RunJob job =
        steady(prepare(Library(source_at("presets")), request)); // the example's hand is steady
    const RunResult result = simulate(job);
    std::string expected;
    for (const Point2 at : {Point2{0.3, 0.25}, Point2{0.599, 0.25}}) {
        const std::size_t cell = nearest_cell(job.panel.grid, at);
        REQUIRE(result.fields.removed_um[cell] > 0.02f); // there is something to agree on
        expected += fmt::format("at {:3.0f}, {:3.0f} mm: {:.3f} of {:.1f} um of clear coat lost\n", at.x / mm,
                                at.y / mm, result.fields.removed_um[cell], job.panel.clear_um[cell]);
    }
    CHECK(printed_by(built_example("plate")) == expected);
}

} // namespace test_example
