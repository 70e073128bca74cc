#include "study/sweep/run.hpp"
#include "run/threads.hpp"
#include <algorithm>
#include <atomic>
#include <chrono>
#include <cstring>
#include <mutex>
#include <oneapi/tbb/parallel_for.h>
#include <oneapi/tbb/partitioner.h>
#include <stdexcept>
#include <thread>
#include <unordered_set>

namespace sparecoat::study {

SweepKeys keys_of(const Sweep& sweep, int threads) {
    SweepKeys keys;
    keys.of_run.resize(sweep.runs());
    on_threads(threads, [&] {
        oneapi::tbb::parallel_for(std::size_t{0}, keys.of_run.size(),
                                  [&](std::size_t run) { keys.of_run[run] = sweep.key(run); });
    });
    std::unordered_set<std::string> seen; // asked, never gone through
    for (std::size_t run = 0; run < keys.of_run.size(); ++run)
        if (seen.insert(keys.of_run[run]).second) keys.first.push_back(run);
    return keys;
}

namespace {

using Clock = std::chrono::steady_clock;

// ---- messages between ranks -----------------------------------------------------------------------
// A row: the key, the values, the error. An empty message: this rank has done its part.

constexpr std::size_t key_size = 64;

std::string packed(const KeyedRow& entry) {
    std::string values(sizeof entry.row.values, '\0');
    std::memcpy(values.data(), entry.row.values.data(), values.size());
    return entry.key + values + entry.row.error;
}

KeyedRow unpacked(const std::string& bytes) {
    KeyedRow entry{bytes.substr(0, key_size), {}};
    std::memcpy(entry.row.values.data(), bytes.data() + key_size, sizeof entry.row.values);
    entry.row.error = bytes.substr(key_size + sizeof entry.row.values);
    return entry;
}

// ---- where rows go --------------------------------------------------------------------------------

/// Takes rows from any thread. The leader's keeps them until the next batch and listens for those of the
/// other ranks; another rank's sends them on.
class RowCollector {
public:
    RowCollector(SweepResults* results, const Ranks& ranks, std::size_t wanted, const Progress& tell)
        : results_(results), ranks_(ranks), wanted_(std::max<std::size_t>(1, wanted)), tell_(tell),
          others_(ranks.count() - 1) {}

    void add(KeyedRow entry) {
        const std::scoped_lock lock(mutex_);
        if (!ranks_.leads()) return ranks_.send(packed(entry));
        keep(std::move(entry));
        listen();
        look();
        if (batch_.size() >= most_waiting || Clock::now() - written_ >= longest_wait) write();
    }

    /// Asked from within a run, whichever thread that is on. @return false to stop
    bool go_on() {
        if (stopped_) return false;
        if (const std::unique_lock lock(mutex_, std::try_to_lock); lock) look();
        return !stopped_;
    }

    /// When this rank has no more to do: waits for the others'.
    void finish() {
        const std::scoped_lock lock(mutex_);
        if (!ranks_.leads()) return ranks_.send({});
        while (others_ > 0 && !stopped_) {
            std::this_thread::sleep_for(std::chrono::milliseconds(5));
            listen();
            look();
            if (!batch_.empty() && Clock::now() - written_ >= longest_wait) write();
        }
        write();
    }

    bool stopped() const { return stopped_; }
    std::size_t done() const { return done_; }
    std::size_t failed() const { return failed_; }

private:
    void keep(KeyedRow entry) {
        ++done_;
        if (entry.row.failed()) ++failed_;
        batch_.push_back(std::move(entry));
    }

    void listen() {
        while (const std::optional<std::string> message = ranks_.receive()) {
            if (message->empty()) --others_;
            else keep(unpacked(*message));
        }
    }

    void look() {
        if (tell_ && !tell_(static_cast<double>(done_) / static_cast<double>(wanted_))) stopped_ = true;
    }

    void write() {
        results_->put(batch_);
        batch_.clear();
        written_ = Clock::now();
    }

    static constexpr std::size_t most_waiting = 1000;
    static constexpr std::chrono::milliseconds longest_wait{250};

    SweepResults* results_;
    const Ranks& ranks_;
    std::size_t wanted_;
    const Progress& tell_;
    int others_; ///< ranks that have not done their part yet
    std::mutex mutex_;
    std::vector<KeyedRow> batch_;
    Clock::time_point written_ = Clock::now();
    std::size_t done_ = 0, failed_ = 0;
    std::atomic<bool> stopped_ = false;
};

/// Runs of a shard that have no row yet, one byte for each of keys.first.
std::vector<std::uint8_t> missing_of(const SweepKeys& keys, const SweepResults& results, Shard shard,
                                     SweepCount& count) {
    std::vector<std::uint8_t> missing(keys.first.size(), 0);
    for (std::size_t k = shard.index; k < missing.size(); k += shard.count) {
        ++count.asked;
        if (results.row(keys.of_run[keys.first[k]])) ++count.there;
        else missing[k] = 1;
    }
    return missing;
}

} // namespace

SweepCount run_sweep(const Sweep& sweep, const SweepKeys& keys, SweepResults* results, Shard shard,
                     int threads, const Ranks& ranks, const Progress& progress) {
    SweepCount count{sweep.runs(), keys.first.size()};
    std::vector<std::uint8_t> missing;
    if (results != nullptr) missing = missing_of(keys, *results, shard, count);
    ranks.share(missing);
    if (missing.size() != keys.first.size())
        throw std::runtime_error("other presets at this rank than at the first");
    std::vector<std::size_t> mine;
    std::size_t wanted = 0;
    for (std::size_t k = 0; k < missing.size(); ++k)
        if (missing[k] != 0 &&
            wanted++ % static_cast<std::size_t>(ranks.count()) == static_cast<std::size_t>(ranks.rank()))
            mine.push_back(keys.first[k]);

    RowCollector rows(results, ranks, wanted, progress);
    const auto go_on = [&](double) { return rows.go_on(); };
    on_threads(threads, [&] {
        // One run at a time to each thread, roughly from the first to the last.
        oneapi::tbb::parallel_for(
            oneapi::tbb::blocked_range<std::size_t>(0, mine.size(), 1),
            [&](const auto& range) {
                for (std::size_t k = range.begin(); k < range.end(); ++k)
                    if (rows.go_on())
                        if (const std::optional<SweepRow> row = sweep.work(mine[k], go_on))
                            rows.add({keys.of_run[mine[k]], *row});
            },
            oneapi::tbb::simple_partitioner());
    });
    rows.finish();
    count.computed = rows.done(), count.failed = rows.failed(),
    count.stopped = rows.stopped() || (ranks.leads() && rows.done() < wanted);
    return count;
}

} // namespace sparecoat::study
