#pragma once
#include "rooms.hpp"
#include <string>

namespace CLI {
class App;
}

namespace sparecoat::cli {

/// `sparecoat list`: the presets, of one kind or of all.
struct ListOptions {
    std::string kind;

    void add_to(CLI::App& command);
};

/// @throws InputError.
int command_list(ListOptions& options);

} // namespace sparecoat::cli
