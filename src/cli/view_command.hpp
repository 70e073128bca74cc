#pragma once
#include "view/app/run_window.hpp"

namespace CLI {
class App;
}

namespace sparecoat::cli {

/// `sparecoat view`: the window.
struct ViewOptions {
    WindowRequest window;
    std::optional<std::string> sweep_design;
    std::filesystem::path sweep_results;

    void add_to(CLI::App& command);
};

/// @throws InputError.
int command_view(ViewOptions& options);

} // namespace sparecoat::cli
