#define CATCH_CONFIG_MAIN
#include "places.hpp"
#include <catch2/catch.hpp>
#include <cstdio>

#ifdef __SANITIZE_ADDRESS__
/// Libraries stay loaded, as a graphics driver otherwise would not: what it still holds at the end would be
/// taken for a leak, and one in it could not be told by its name any more (tests/leaks.supp).
extern "C" int dlclose(void*) { return 0; }
#endif

std::filesystem::path source_at(const std::string& below) {
    return std::filesystem::path(SPARECOAT_SOURCE_DIR) / below;
}
std::string built_program() { return SPARECOAT_PROGRAM; }
std::string built_example(const std::string& name) { return SPARECOAT_EXAMPLES "/" + name; }

namespace {

/// Ends every run with one plain line of counts.
struct CountLine : Catch::TestEventListenerBase {
    using TestEventListenerBase::TestEventListenerBase;
    void testRunEnded(const Catch::TestRunStats& stats) override { counts_ = stats.totals.testCases; }
    ~CountLine() override {
        std::printf("%zu passed, %zu failed\n", std::size_t{counts_.passed}, std::size_t{counts_.failed});
    }

private:
    Catch::Counts counts_;
};

CATCH_REGISTER_LISTENER(CountLine)

} // namespace
