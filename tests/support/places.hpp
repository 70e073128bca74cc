#pragma once
#include <filesystem>
#include <string>

// Known to one source alone (main.cpp), so that the others are the same wherever the project lies.

/// A file or folder of the source tree, from its root: source_at("presets/kits").
std::filesystem::path source_at(const std::string& below);

/// The program `sparecoat` that was built along with the tests.
std::string built_program();

/// A program of docs/examples, built along with them, by its source's name: built_example("plate").
std::string built_example(const std::string& name);
