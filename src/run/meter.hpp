#pragma once
#include "run/progress.hpp"
#include <algorithm>
#include <cmath>
#include <mutex>
#include <utility>

namespace sparecoat::run {

/// Adds up what is done of some work, by any number of threads, and tells a progress, one voice at a time.
class Meter {
public:
    /// What `all` is: a sum that is known, or a guess that the work may outgrow, so that the share told only
    /// nears 1.
    enum class All { known, guessed };

    /// @param all that the parts come to, in any unit.
    Meter(double all, Progress tell, All kind = All::known)
        : all_(all), kind_(kind), tell_(std::move(tell)) {}

    /// A part of the work is done. @throws Stopped.
    void add(double part) {
        const std::scoped_lock lock(mutex_);
        if (stopped_) throw Stopped();
        done_ += part;
        if (!told()) throw Stopped();
    }
    /// Asked before a part is begun. @throws Stopped if the progress said so.
    void hold() {
        const std::scoped_lock lock(mutex_);
        if (stopped_) throw Stopped();
    }
    /// Tells once more what was told before. @return false to stop.
    bool look() {
        const std::scoped_lock lock(mutex_);
        return told();
    }

    /// A part that takes a while and is told as it goes. It counts as done when it ends.
    class Task {
    public:
        Task(Meter& meter, double part) : meter_(meter), part_(part) {}
        Task(const Task&) = delete;
        Task& operator=(const Task&) = delete;
        ~Task() { set(1); }
        /// @param share of this part that is done. @return false to stop.
        bool look(double share) {
            set(share);
            return meter_.look();
        }

    private:
        void set(double share) {
            const std::scoped_lock lock(meter_.mutex_);
            meter_.done_ += (share - share_) * part_;
            share_ = share;
        }
        Meter& meter_;
        double part_, share_ = 0;
    };

private:
    bool told() {
        const double share = done_ / all_;
        if (!stopped_ && tell_ &&
            !tell_(kind_ == All::known ? std::min(1.0, share) : 1 - std::exp(-2 * share)))
            stopped_ = true;
        return !stopped_;
    }

    std::mutex mutex_;
    double all_, done_ = 0;
    All kind_;
    bool stopped_ = false;
    Progress tell_;
};

} // namespace sparecoat::run
