#define CATCH_CONFIG_MAIN
#include "support/places.hpp"
#include "support/skip.hpp"
#include <catch2/catch.hpp>
#include <cstdio>
#include <string>
#include <utility>
#include <vector>

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

/// Why the test case that runs was given up, as skip() has it; empty where it was not.
std::string skipped_because;

/// Ends every run with what was skipped, a line each, and one plain line of counts.
struct CountLine : Catch::TestEventListenerBase {
    using TestEventListenerBase::TestEventListenerBase;
    void testCaseStarting(const Catch::TestCaseInfo&) override { skipped_because.clear(); }
    void testCaseEnded(const Catch::TestCaseStats& stats) override {
        if (stats.totals.testCases.failed > 0) ++failed_;
        else if (!skipped_because.empty()) skipped_.emplace_back(stats.testInfo.name, skipped_because);
        else ++passed_;
    }
    ~CountLine() override {
        for (const auto& [name, reason] : skipped_)
            std::printf("skipped: %s: %s\n", name.c_str(), reason.c_str());
        std::printf("%zu passed, %zu failed, %zu skipped\n", passed_, failed_, skipped_.size());
    }

private:
    std::size_t passed_ = 0, failed_ = 0;
    std::vector<std::pair<std::string, std::string>> skipped_;
};

CATCH_REGISTER_LISTENER(CountLine)

} // namespace

void sparecoat::test::skip(const std::string& reason) {
    skipped_because = reason;
    throw Catch::TestFailureException(); // ends a test case and counts no failure by itself
}
