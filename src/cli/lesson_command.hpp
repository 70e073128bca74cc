#pragma once
#include "cli/options.hpp"
#include <optional>
#include <string>

namespace sparecoat::cli {

/// `sparecoat lesson`: a mistake and its remedy, told step by step, in words and pictures.
struct LessonOptions {
    CommonOptions common;
    ThreadsOption threads;
    std::string lesson, size = "1280x800", theme = "light";
    std::optional<std::string> out;
    bool own_grid = true; ///< the lesson's, not common.grid

    void add_to(CLI::App& command);
};

/// @throws InputError, Stopped.
int command_lesson(const CLI::App& command, LessonOptions& options);

} // namespace sparecoat::cli
