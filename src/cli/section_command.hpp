#pragma once
#include "cli/options.hpp"
#include "decide/sequence.hpp"
#include <optional>
#include <string>

namespace sparecoat::cli {

/// What is wanted of a panel, as options.
struct TargetOptions {
    std::optional<std::string> share, finish, chance, reserve, keep;

    void add_to(CLI::App& command);
    bool any() const { return share || finish || chance || reserve || keep; }
    /// Puts what was given into a target. @throws InputError.
    void apply(Target& target) const;
};

/// `sparecoat section predict`: what a kit's sequences are expected to do, before any test section.
struct PredictOptions {
    std::string panel, paint = "typical", defects = "moderate", kit = "workshop", unit = "um";
    std::optional<std::string> readings;
    TargetOptions target;
    ThreadsOption threads;
    bool json = false;

    void add_to(CLI::App& command);
};

/// `sparecoat section record`: puts what was done and seen into a record's file.
struct RecordOptions {
    std::string file, panel;
    std::optional<std::string> kit, name, paint, defects, readings, square, size, step, sets, seen, before,
        after, n, n_before, n_after, note;
    TargetOptions target;
    std::string unit = "um";
    bool clean = false, not_clean = false, correct = false;

    void add_to(CLI::App& command);
};

/// `sparecoat section advise`: what to do next, from all that is on file.
struct AdviseOptions {
    std::string file, unit = "um";
    std::optional<std::string> panel, out;
    ThreadsOption threads;
    bool json = false, brief = false;

    void add_to(CLI::App& command);
};

/// The three under `section`.
struct SectionOptions {
    PredictOptions predict;
    RecordOptions record;
    AdviseOptions advise;

    void add_to(CLI::App& command);
};

/// Runs whichever of the three was given. @throws InputError, Stopped.
int command_section(const CLI::App& command, const SectionOptions& options);

} // namespace sparecoat::cli
