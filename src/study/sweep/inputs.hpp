#pragma once
#include "finish/described.hpp"
#include "library/presets.hpp"
#include "library/sweep_design.hpp"
#include <map>
#include <mutex>
#include <nlohmann/json.hpp>
#include <span>
#include <string>

namespace sparecoat::study {

/// Whatever was made once under a name. For any thread; what two make at once, one of them keeps.
template <class T> class Memo {
public:
    template <class Make> const T& get(const std::string& name, Make make) {
        {
            const std::scoped_lock lock(mutex_);
            if (const auto known = made_.find(name); known != made_.end()) return known->second;
        }
        T made = make();
        const std::scoped_lock lock(mutex_);
        return made_.emplace(name, std::move(made)).first->second;
    }

private:
    std::mutex mutex_;
    std::map<std::string, T> made_;
};

/// A preset that was read: what it is, and what of it counts, in SI.
template <class T> struct ReadPreset {
    T value;
    nlohmann::json identity;
    std::string file;
};

/// Files as they were when first asked for, so that a sweep sees one state of each, and presets that no
/// factor changes, since most of them are the same in every run.
struct FilesOnce {
    Memo<std::string> paths;            ///< by kind and reference
    Memo<nlohmann::json> documents;     ///< by path
    Memo<std::string> hashes;           ///< SHA-256 of a file's bytes, by path
    Memo<ReadPreset<Machine>> machines; ///< these by reference
    Memo<ReadPreset<Pad>> pads;
    Memo<ReadPreset<Liquid>> liquids;
    Memo<ReadPreset<Paint>> paints;
    Memo<ReadPreset<Substrate>> substrates;
    Memo<ReadPreset<Defects>> defects;
    Memo<ReadPreset<PanelSpec>> panels;
    Memo<ReadPreset<Technique>> techniques;
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
    /// Whatever of the presets a result depends on, in SI and with nothing left out: names and notes are not
    /// among it, meshes and height maps are as their bytes' hash.
    nlohmann::json identity;
};

/// @throws InputError with the file and place of the preset: a value that is not there, a preset that does
/// not hold with the value in it, presets that do not go together.
RunInputs run_inputs(const Library& library, FilesOnce& files, const SweepDesign& design,
                     const std::string& paint, std::span<const FactorSetting> settings);

} // namespace sparecoat::study
