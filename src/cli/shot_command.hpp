#pragma once
#include "cli/options.hpp"
#include <optional>
#include <string>

namespace sparecoat::cli {

/// `sparecoat shot`: a picture of the panel in 3D at one moment of a run.
struct ShotOptions {
    CommonOptions common;
    WorkOptions work;
    std::string out, map = "film_lost", camera = "corner", size = "1280x720", at, nearer = "1";
    std::optional<std::string> theme, defects, lamp, show;

    void add_to(CLI::App& command);
};

/// @throws InputError.
int command_shot(ShotOptions& options);

} // namespace sparecoat::cli
