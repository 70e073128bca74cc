#include "cli/usage.hpp"
#include "formats/nearest.hpp"
#include "units/quantity.hpp"
#include <CLI/CLI.hpp>
#include <algorithm>
#include <charconv>
#include <fmt/format.h>

namespace sparecoat::cli {
namespace {

std::vector<std::string> command_names(const CLI::App& app) {
    std::vector<std::string> names;
    for (const CLI::App* command : app.get_subcommands(nullptr)) names.push_back(command->get_name());
    return names;
}

std::vector<std::string> option_names(const CLI::App& command) {
    std::vector<std::string> names;
    for (const CLI::Option* option : command.get_options())
        if (!option->get_lnames().empty()) names.push_back("--" + option->get_lnames().front());
    return names;
}

/// The stray argument to name: an option if there is one, since a word that follows it may be its value.
std::string culprit(const std::vector<std::string>& strays) {
    const auto option = std::ranges::find_if(strays, [](const std::string& s) { return s.starts_with("-"); });
    return option != strays.end() ? *option : strays.front();
}

InputError stray_argument(const CLI::App& command, const std::string& name, const std::string& stray) {
    if (stray.starts_with("-"))
        return {"", name, fmt::format("unknown option \"{}\"", stray),
                suggestion(stray.substr(0, stray.find('=')), option_names(command), "options")};
    return {
        "", name, fmt::format("\"{}\" left over", stray),
        fmt::format("what \"sparecoat {} --help\" shows; a value with blanks in it goes in quotes", name)};
}

/// @param name of the command that has commands of its own; empty for the program itself.
InputError command_error(const CLI::App& app, const std::string& name) {
    const std::vector<std::string> strays = app.remaining();
    const std::string listed = "one of the commands";
    const std::string explained =
        fmt::format("; \"sparecoat {}--help\" explains them", name.empty() ? "" : name + " ");
    if (strays.empty())
        return {"", name, "no command", suggestion("", command_names(app), listed) + explained};
    if (strays.front().starts_with("-"))
        return {"", name, fmt::format("unknown option \"{}\"", strays.front()),
                suggestion(strays.front(), option_names(app), "options before a command")};
    return {"", name, fmt::format("no command \"{}\"", strays.front()),
            suggestion(strays.front(), command_names(app), listed) + explained};
}

/// The command below one that was given, if any.
const CLI::App* given_command(const CLI::App& app) {
    const std::vector<const CLI::App*> given =
        app.get_subcommands([](const CLI::App* command) { return command->parsed(); });
    return given.empty() ? nullptr : given.front();
}

} // namespace

InputError usage_error(const CLI::App& app, const CLI::ParseError& error) {
    const CLI::App* innermost = &app;
    std::string name; // "section predict"
    while (const CLI::App* next = given_command(*innermost)) {
        innermost = next;
        name += (name.empty() ? "" : " ") + next->get_name();
    }
    if (innermost == &app || !innermost->get_subcommands(nullptr).empty())
        return command_error(*innermost, name);
    const CLI::App& command = *innermost;
    // A mistyped option is the likeliest reason for a missing one, so it is named first.
    if (const std::vector<std::string> strays = command.remaining(); !strays.empty())
        return stray_argument(command, name, culprit(strays));
    for (const CLI::Option* option : command.get_options()) {
        if (option->get_required() && option->count() == 0)
            return {"", name, "no " + option->get_name(),
                    fmt::format("{} with a {}", option->get_name(), option->get_description())};
        if (option->get_items_expected_max() == 1 && option->count() > 1)
            return {"", name, fmt::format("{} {} times", option->get_name(), option->count()),
                    "each option once"};
    }
    return {"", name, error.what(), fmt::format("what \"sparecoat {} --help\" shows", name)};
}

void demand_some(const std::string& option, const std::string& value, const std::string& allowed) {
    if (value.empty()) throw InputError("", option, "nothing", allowed);
}

void demand_one_of(const std::string& option, const std::string& value,
                   const std::vector<std::string>& words) {
    if (std::ranges::find(words, value) == words.end())
        throw InputError("", option, fmt::format("\"{}\"", value), suggestion(value, words, "one of"));
}

std::uint64_t whole_number(const std::string& option, const std::string& value, std::uint64_t most,
                           std::uint64_t least) {
    std::uint64_t number = 0;
    const auto [end, failed] = std::from_chars(value.data(), value.data() + value.size(), number);
    if (failed != std::errc() || end != value.data() + value.size() || number < least || number > most)
        throw InputError("", option, fmt::format("\"{}\"", value),
                         fmt::format("a whole number from {} to {}", least, most));
    return number;
}

double grid_spacing(const std::string& value) {
    constexpr double finest_m = 1 * mm, coarsest_m = 4 * mm;
    constexpr const char* allowed = "a length from 1 mm to 4 mm, such as \"2 mm\"";
    double spacing_m = 0;
    try {
        spacing_m = parse_quantity(value, Dim::length);
    } catch (const std::invalid_argument& error) {
        throw InputError("", "--grid", error.what(), allowed);
    }
    constexpr double slack = 1e-9; // units may cost the last bit
    if (spacing_m < finest_m * (1 - slack) || spacing_m > coarsest_m * (1 + slack))
        throw InputError("", "--grid", fmt::format("\"{}\"", value), allowed);
    return spacing_m;
}

} // namespace sparecoat::cli
