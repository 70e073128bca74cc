#pragma once
#include "study/risk.hpp"
#include "view/run/background_task.hpp"
#include "view/run/edit_history.hpp"
#include "view/run/window_draws.hpp"
#include <cstdint>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <vector>

namespace sparecoat::view::risk {

/// What has been worked out of the chances of burning through.
struct RiskFinding {
    std::shared_ptr<const RunJob> job; ///< with a steady hand's path
    ChanceTerms terms;
    double threshold = 0.01;
    RiskMap map;
    std::vector<float> percent;       ///< map.chance in per cent
    std::vector<std::int16_t> region; ///< per cell: index into map.regions, -1 for none
};

/// The chances of a technique for the window: worked out beside the drawing, called off when the technique
/// changes. No call waits. It is the technique that is judged and not a stroke by hand.
class RiskModel {
public:
    RiskModel();

    /// Works the chances out anew. @param job that the choices stand for: its panel's shape is taken over.
    void ask(const Library& library, const Choices& choices, std::shared_ptr<const RunJob> job);
    /// Another job is on the bench: nothing that is known holds any more, nothing that is under way is
    /// wanted.
    void forget();
    /// Stops what is under way and keeps what is known.
    void call_off();
    /// Takes up what has come. @return whether there is a new finding.
    bool tick();

    const RiskFinding* finding() const { return finding_.get(); }
    bool working() const { return chances_.working(); }
    float share() const { return chances_.share(); }
    const std::string& fault() const {
        return fault_;
    } ///< why there is no finding; empty where that is not so

    /// Works out what single changes do for a region of the finding.
    void try_changes(const Library& library, std::size_t region);
    bool trying() const { return trials_.working(); }
    bool trying(std::size_t region) const { return trying() && tried_ == region; }
    float trial_share() const { return trials_.share(); }
    /// What came of it; null where it has not been tried.
    const SpotAdvice* advice(std::size_t region) const;

private:
    struct Ask {
        Library library;
        Choices choices;
        std::shared_ptr<const RunJob> job;
    };
    struct Found {
        std::shared_ptr<const RiskFinding> finding;
        std::string fault;
    };
    struct Trial {
        Library library;
        std::shared_ptr<const RiskFinding> finding;
        std::size_t region = 0;
    };
    struct Tried {
        std::optional<SpotAdvice> advice;
        std::size_t region = 0;
        std::string fault;
    };
    static Found find(const Ask& ask, TaskState& task);
    static Tried try_out(const Trial& trial, TaskState& task);

    std::shared_ptr<const RiskFinding> finding_;
    std::map<std::size_t, SpotAdvice> advice_;
    std::string fault_;
    std::size_t tried_ = 0;
    LatestBackgroundTask<Ask, Found> chances_;
    LatestBackgroundTask<Trial, Tried> trials_;
};

} // namespace sparecoat::view::risk
