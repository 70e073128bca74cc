#pragma once
#include "study/sweep/ranks.hpp"
#include "study/sweep/results.hpp"
#include "study/sweep/sweep.hpp"
#include <string>
#include <vector>

namespace sparecoat::study {

/// Of every run its key, and the keys in the order in which they first come.
struct SweepKeys {
    std::vector<std::string> of_run;
    std::vector<std::size_t> first; ///< runs that are the first of their key, in order
};

/// Works the keys out, on up to `threads` threads (0: all).
SweepKeys keys_of(const Sweep& sweep, int threads);

/// The part of a sweep that is one of several's to do: each n-th of the runs that differ.
struct Shard {
    std::size_t index = 0, count = 1; ///< index from 0
};

struct SweepCount {
    std::size_t runs = 0;                 ///< of the design
    std::size_t distinct = 0;             ///< of them that differ
    std::size_t asked = 0;                ///< of those in the shard
    std::size_t there = 0;                ///< of the asked that were on file
    std::size_t computed = 0, failed = 0; ///< now
    bool stopped = false;
};

/// Computes whatever of a shard is not in the results yet and puts it there, in batches of about a quarter of
/// a second. What was put there stays when it is stopped or killed. Rows do not depend on threads, ranks,
/// shards or on what was there before.
/// @param progress told the share of the runs to be computed that is done; a sweep that it stops says so in
/// its count. @param results null at every rank but the leader. The ranks take the missing runs in turn, and
/// send their rows to the leader, who alone writes. @throws InputError.
SweepCount run_sweep(const Sweep& sweep, const SweepKeys& keys, SweepResults* results, Shard shard,
                     int threads, const Ranks& ranks, const Progress& progress = {});

} // namespace sparecoat::study
