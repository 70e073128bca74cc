#pragma once
#include "cli/interrupt.hpp"
#include "run/run_job.hpp"
#include <chrono>
#include <iostream>
#include <unistd.h>

namespace sparecoat::cli {

/// Shows progress on stderr once a run has gone on for two seconds.
class ProgressLine {
public:
    ProgressLine() = default;
    ProgressLine(const ProgressLine&) = delete;
    ProgressLine& operator=(const ProgressLine&) = delete;
    void tell(double share) {
        const auto now = std::chrono::steady_clock::now();
        if (now - start_ < std::chrono::seconds(2)) return;
        const int percent = static_cast<int>(100 * share);
        const int step = on_terminal_ ? 1 : 20; // a log wants a few lines, a person sees it move
        if (percent < shown_ + step) return;
        shown_ = percent;
        std::cerr << (on_terminal_ ? "\r" : "") << "Simulating ... " << percent << " %"
                  << (on_terminal_ ? "" : "\n") << std::flush;
    }
    ~ProgressLine() {
        if (on_terminal_ && shown_ >= 0) std::cerr << "\r                    \r" << std::flush;
    }

private:
    std::chrono::steady_clock::time_point start_ = std::chrono::steady_clock::now();
    bool on_terminal_ = isatty(STDERR_FILENO) != 0;
    int shown_ = -1;
};

/// Runs jobs, and shows how far they are. @throws InputError, Stopped.
inline std::vector<Outcome> run_showing_progress(const std::vector<RunJob>& jobs, int threads) {
    ProgressLine line;
    return run_jobs(jobs, threads, [&](double share) {
        line.tell(share);
        return noted_signal() == 0;
    });
}

} // namespace sparecoat::cli
