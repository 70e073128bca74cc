#pragma once
#include "finish/described.hpp"
#include "job/presets.hpp"
#include "job/sweep/design.hpp"
#include <filesystem>
#include <map>
#include <mutex>
#include <nlohmann/json.hpp>
#include <span>
#include <string>

namespace sparecoat {

/// Files as they were when first asked for, so that a sweep sees one state of each. For any thread.
class FilesOnce {
public:
    nlohmann::json document(const std::filesystem::path& file); ///< @throws InputError as load_json does
    std::string hash(const std::filesystem::path& file);        ///< SHA-256 of its bytes. @throws InputError

private:
    std::mutex mutex_;
    std::map<std::filesystem::path, nlohmann::json> documents_;
    std::map<std::filesystem::path, std::string> hashes_;
};

/// A factor's value at one point.
struct FactorSetting {
    const SweepFactor* factor = nullptr;
    nlohmann::json value;
};

/// The presets of one run with its factors' values in them, read and held to each other.
struct RunInputs {
    Resolved step;
    Paint paint;
    PanelSpec panel;
    Substrate substrate;
    Defects defects;
    std::string technique_file, panel_file; ///< for messages
    /// Whatever of the presets a result depends on, in SI and with nothing left out: names and notes are not among it,
    /// meshes and height maps are as their bytes' hash.
    nlohmann::json identity;
};

/// @throws InputError with the file and place of the preset: a value that is not there, a preset that does not hold with
/// the value in it, presets that do not go together.
RunInputs run_inputs(const Library& library, FilesOnce& files, const SweepDesign& design, const std::string& paint,
                     std::span<const FactorSetting> settings);

} // namespace sparecoat
