#pragma once
#include "rooms.hpp"
#include <cstdint>
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

namespace sparecoat::app {

/// What a person asks `sparecoat view` for; what is left empty comes from the settings.
struct WindowRequest {
    std::string panel, technique, paint, defects;
    std::optional<std::filesystem::path> path_csv, readings;
    std::optional<std::filesystem::path> job; ///< a vehicle's job file, whose board is shown
    std::vector<std::string> against;         ///< techniques to be seen side by side with `technique`
    struct SweepOnFile {
        std::string design; ///< preset or file
        std::filesystem::path results;
    };
    std::optional<SweepOnFile> sweep; ///< whose charts are shown
    double grid_m = 0.002;
    std::uint64_t seed = 1;
    int width = 0, height = 0; ///< screen coordinates; 0 = as last time
    std::optional<bool> light_theme;
    std::optional<std::filesystem::path>
        settings_file;     ///< none = settings_path(); an empty one = nothing kept
    bool debug_gl = false; ///< a debug context that counts GL's errors
};

/// Opens the window and runs it until it is closed. @return exit code.
/// @throws InputError where the request cannot be prepared, or no display or no OpenGL 3.3 is to be had.
int run_window(const WindowRequest& request);

} // namespace sparecoat::app
