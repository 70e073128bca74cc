#pragma once
#include "rooms.hpp"
#include <atomic>
#include <condition_variable>
#include <functional>
#include <memory>
#include <mutex>
#include <optional>
#include <thread>
#include <utility>

namespace sparecoat::view {

/// Does one thing at a time on a thread of its own, for what takes too long for a frame. Asked and emptied by
/// one thread.
template <class Request, class Answer> class BackgroundTask {
public:
    /// @param work must not throw: what may go wrong belongs into the answer.
    explicit BackgroundTask(std::function<Answer(Request)> work)
        : work_(std::move(work)), thread_([this] { run(); }) {}
    ~BackgroundTask() {
        {
            const std::lock_guard lock(mutex_);
            quit_ = true;
        }
        wake_.notify_all();
        thread_.join();
    }
    BackgroundTask(const BackgroundTask&) = delete;
    BackgroundTask& operator=(const BackgroundTask&) = delete;

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

/// Between long work and whoever waits for it.
struct TaskState {
    std::atomic<bool> off = false; ///< nobody waits any more
    std::atomic<float> share = 0;  ///< of the work that is done
};

/// What long work tells how far it is, and asks whether to go on.
inline std::function<bool(double)> watched_by(TaskState& task) {
    return [&task](double share) {
        task.share = static_cast<float>(share);
        return !task.off;
    };
}

/// Long work of which only the latest wish counts. Asked and emptied by one thread, which never waits but at
/// the end, for work that is called off and has not noticed yet.
template <class Request, class Answer> class LatestBackgroundTask {
public:
    /// @param work must not throw. It looks at the errand now and then and gives up once that is off; what it
    /// returns then is dropped.
    explicit LatestBackgroundTask(std::function<Answer(const Request&, TaskState&)> work)
        : task_([work = std::move(work)](Task task) {
              Answer answer = work(task.request, *task.task);
              return Done{std::move(answer), std::move(task.task)};
          }) {}
    ~LatestBackgroundTask() { call_off(); }
    LatestBackgroundTask(const LatestBackgroundTask&) = delete;
    LatestBackgroundTask& operator=(const LatestBackgroundTask&) = delete;

    /// Takes the place of what waits. What is being done is called off, or let to its end if that is worth
    /// showing.
    void ask(Request request, bool let_finish = false) {
        if (!let_finish) call_off();
        latest_ = std::make_shared<TaskState>();
        waits_.emplace(Task{std::move(request), latest_});
        begin();
    }
    void call_off() {
        if (begun_) begun_->off = true;
        latest_.reset(), waits_.reset();
    }
    /// An answer that has come and was not called off.
    std::optional<Answer> take() {
        std::optional<Done> done = task_.take();
        std::optional<Answer> answer;
        if (done) {
            if (!done->task->off) answer = std::move(done->answer);
            if (done->task == latest_) latest_.reset();
            begun_.reset();
        }
        begin();
        return answer;
    }
    bool working() const { return latest_ != nullptr; }
    float share() const { return latest_ ? latest_->share.load() : 0; }
    /// Waits until what has been begun is done.
    void wait() const { task_.wait(); }

private:
    struct Task {
        Request request;
        std::shared_ptr<TaskState> task;
    };
    struct Done {
        Answer answer;
        std::shared_ptr<TaskState> task;
    };
    void begin() {
        if (!waits_ || !task_.idle()) return;
        begun_ = waits_->task;
        task_.ask(std::move(*waits_));
        waits_.reset();
    }

    std::shared_ptr<TaskState> latest_, begun_;
    std::optional<Task> waits_;
    BackgroundTask<Task, Done> task_;
};

/// Threads for what is worked out beside the drawing: a core is left to that and to the run.
int threads_beside_drawing();

} // namespace sparecoat::view
