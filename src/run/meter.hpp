#pragma once
#include "run/run_job.hpp"
#include <algorithm>
#include <functional>
#include <mutex>

namespace sparecoat::run {

/// Told the share of all work that is done, from any thread, one at a time; false stops (Stopped).
using WorkProgress = std::function<bool(double share)>;

/// Counts what is done and passes it on, one voice at a time.
class Meter {
public:
    Meter(double all, const WorkProgress& tell) : all_(all), tell_(tell) {}
    /// @throws Stopped.
    void add(double part) {
        const std::scoped_lock lock(mutex_);
        if (stopped_) throw Stopped();
        done_ += part;
        if (tell_ && !tell_(std::min(1.0, done_ / all_))) stopped_ = true;
        if (stopped_) throw Stopped();
    }
    /// Of work of one's own: `share` of `part` is done, all told. @return false to stop.
    bool look(double share, double part) {
        const std::scoped_lock lock(mutex_);
        if (!stopped_ && tell_ && !tell_(std::min(1.0, (done_ + share * part) / all_))) stopped_ = true;
        return !stopped_;
    }

private:
    std::mutex mutex_;
    double all_, done_ = 0;
    bool stopped_ = false;
    const WorkProgress& tell_;
};

} // namespace sparecoat::run
