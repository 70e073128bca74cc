#pragma once
#include "picture/chart/chart.hpp"
#include "run/run_job.hpp"
#include "units/error.hpp"
#include "view/run/background_task.hpp"
#include <cstddef>
#include <filesystem>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <vector>

namespace sparecoat::view::charts {

/// Charts that were made together, and what is to be said of them all.
struct ChartSet {
    std::string heading, ground;
    std::vector<NamedChart> charts;
    std::vector<std::string> said; ///< sentences beside them
};

/// Makes charts; looks at the errand now and then. @throws InputError, Stopped.
using ChartMaker = std::function<ChartSet(TaskState&)>;

/// The evenness of a technique as charts. @param job as it lies on the bench.
ChartMaker evenness_charts(const Library& library, std::shared_ptr<const RunJob> job);
/// A sweep's effects, indices and front, of the rows that are on file. @param design preset or file.
ChartMaker sweep_charts(const Library& library, std::string design, std::filesystem::path results);

/// Charts in the window: made beside the drawing, one looked at at a time.
class ChartModel {
public:
    ChartModel() : making_(make) {}

    bool is_open() const { return static_cast<bool>(maker_); }
    void open(ChartMaker maker);
    void close();
    /// Makes them anew, as when rows have come to a sweep; what is shown stays until then.
    void again();

    bool working() const { return making_.working(); }
    float share() const { return making_.share(); }
    const ChartSet* set() const { return set_.get(); }
    std::uint64_t generation() const { return generation_; } ///< counts up with every set
    std::size_t row = 0;
    void move(std::ptrdiff_t by);
    const NamedChart* chart() const {
        return set_ && row < set_->charts.size() ? &set_->charts[row] : nullptr;
    }
    /// Writes the chart that is looked at: .png, .svg or .pdf. @throws InputError.
    void save(const std::filesystem::path& file) const;

    /// Once a frame. @throws InputError where they cannot be made; nothing is open then, or what was shown
    /// stays.
    void tick();
    void wait() const { making_.wait(); }

private:
    struct Made {
        std::shared_ptr<const ChartSet> set;
        std::optional<InputError> fault;
    };
    static Made make(const ChartMaker& maker, TaskState& task);

    ChartMaker maker_;
    std::shared_ptr<const ChartSet> set_;
    std::uint64_t generation_ = 0;
    LatestBackgroundTask<ChartMaker, Made> making_;
};

} // namespace sparecoat::view::charts
