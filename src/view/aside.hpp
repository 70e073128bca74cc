#pragma once
#include <condition_variable>
#include <functional>
#include <mutex>
#include <optional>
#include <thread>
#include <utility>

namespace sparecoat {

/// Does one thing at a time on a thread of its own, for what takes too long for a frame. Asked and emptied by
/// one thread.
template <class Request, class Answer> class Aside {
public:
    /// @param work must not throw: what may go wrong belongs into the answer.
    explicit Aside(std::function<Answer(Request)> work) : work_(std::move(work)), thread_([this] { run(); }) {}
    ~Aside() {
        {
            const std::lock_guard lock(mutex_);
            quit_ = true;
        }
        wake_.notify_all();
        thread_.join();
    }
    Aside(const Aside&) = delete;
    Aside& operator=(const Aside&) = delete;

    /// Nothing is being done and no answer waits to be taken.
    bool idle() const {
        const std::lock_guard lock(mutex_);
        return !busy_ && !answer_;
    }
    /// Only while idle.
    void ask(Request request) {
        {
            const std::lock_guard lock(mutex_);
            request_.emplace(std::move(request));
            busy_ = true;
        }
        wake_.notify_all();
    }
    /// The answer, once.
    std::optional<Answer> take() {
        const std::lock_guard lock(mutex_);
        return std::exchange(answer_, std::nullopt);
    }
    /// Waits until the answer to what was asked is there.
    void wait() const {
        std::unique_lock lock(mutex_);
        done_.wait(lock, [this] { return !busy_; });
    }

private:
    void run() {
        std::unique_lock lock(mutex_);
        for (;;) {
            wake_.wait(lock, [this] { return quit_ || request_; });
            if (quit_) return;
            Request request = std::move(*request_);
            request_.reset();
            lock.unlock();
            Answer answer = work_(std::move(request));
            lock.lock();
            answer_.emplace(std::move(answer));
            busy_ = false;
            done_.notify_all();
        }
    }

    std::function<Answer(Request)> work_;
    mutable std::mutex mutex_;
    mutable std::condition_variable wake_, done_;
    std::optional<Request> request_;
    std::optional<Answer> answer_;
    bool busy_ = false, quit_ = false;
    std::thread thread_; ///< last: it uses all of the above
};

} // namespace sparecoat
