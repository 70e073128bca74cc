// Sizes of sanding paper's grains against the standard.
#include "library/presets.hpp"
#include "support/places.hpp"
#include <catch2/catch.hpp>

namespace test_paper_sizes {
using namespace sparecoat::cli;

TEST_CASE("paper sizes are those of the standard") {
    // ISO 6344-3 (and FEPA 43-2), median grain size d50 of micro-grits: P1500 12.6, P2000 10.3, P2500 8.4 um,
    // each within the standard's tolerance of +/- 1.0, 0.8, 0.5 um. P3000 is not in it: from memory.
    const Library library(source_at("presets"));
    CHECK(library.liquid("p1500").abrasive_start_m == Approx(12.6e-6).margin(1e-12));
    CHECK(library.liquid("p2000").abrasive_start_m == Approx(10.3e-6).margin(1e-12));
    CHECK(library.liquid("p2500").abrasive_start_m == Approx(8.4e-6).margin(1e-12));
    CHECK(library.liquid("p3000").abrasive_start_m < 8.4e-6);
}

} // namespace test_paper_sizes
