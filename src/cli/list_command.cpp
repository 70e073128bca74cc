#include "cli/list_command.hpp"
#include "library/presets.hpp"
#include <CLI/CLI.hpp>
#include <algorithm>
#include <fmt/format.h>
#include <iostream>

namespace sparecoat::cli {

namespace {

PresetKind asked_kind(const std::string& name) {
    try {
        return preset_kind(name);
    } catch (const InputError& error) {
        throw InputError("", "list", error.found(), error.allowed());
    }
}

} // namespace

void ListOptions::add_to(CLI::App& command) {
    command
        .add_option(
            "kind", kind,
            "machines, pads, liquids, paints, substrates, panels, techniques, lessons, defects, kits, "
            "records, shops or sweeps")
        ->type_name("KIND");
}

int command_list(ListOptions& o) {
    const Library library = Library::standard();
    std::vector<PresetKind> kinds = all_preset_kinds();
    if (!o.kind.empty()) kinds = {asked_kind(o.kind)};
    for (const PresetKind kind : kinds) {
        std::cout << folder_of(kind) << '\n';
        const std::vector<Listing> listings = library.list(kind);
        std::size_t widest = 0;
        for (const Listing& l : listings) widest = std::max(widest, l.id.size());
        for (const Listing& l : listings)
            std::cout << fmt::format("  {:<{}}  {}{}{}\n", l.id, widest, l.name,
                                     l.summary.empty() ? "" : ": ", l.summary);
    }
    return 0;
}

} // namespace sparecoat::cli
