#define CATCH_CONFIG_MAIN
#include <catch2/catch.hpp>
#include <cstdio>

namespace {

/// Ends every run with one plain line of counts.
struct CountLine : Catch::TestEventListenerBase {
    using TestEventListenerBase::TestEventListenerBase;
    void testRunEnded(const Catch::TestRunStats& stats) override {
        counts_ = stats.totals.testCases;
    }
    ~CountLine() override { std::printf("%zu passed, %zu failed\n", std::size_t{counts_.passed}, std::size_t{counts_.failed}); }

private:
    Catch::Counts counts_;
};

CATCH_REGISTER_LISTENER(CountLine)

} // namespace
