#include "study/sweep/inputs.hpp"
#include "formats/encoding.hpp"
#include "formats/nearest.hpp"
#include "formats/reader.hpp"
#include "units/text.hpp"
#include <algorithm>
#include <filesystem>
#include <fmt/format.h>
#include <fstream>
#include <nlohmann/json.hpp>
#include <sstream>

namespace sparecoat::study {

namespace fs = std::filesystem;
using nlohmann::json;

namespace {

/// A preset's file with its factors' values in it.
struct Preset {
    PresetKind kind;
    json body;
    std::string file;

    /// What it comes to: quantities in SI, whatever was left out filled in.
    json checked() const {
        json out = read_form(form_of(kind), body, {file, ""});
        for (const char* key : {"$schema", "kind", "name", "note"}) out.erase(key);
        return out;
    }
};

/// Puts a value in the place of the one that the file has.
void set(Preset& preset, const FactorSetting& setting) {
    const std::string& at = setting.factor->at;
    const json::json_pointer pointer(at);
    if (!preset.body.contains(pointer)) {
        const json::json_pointer parent = pointer.parent_pointer();
        std::vector<std::string> keys;
        if (preset.body.contains(parent) && preset.body[parent].is_object())
            for (const auto& [key, unused] : preset.body[parent].items()) keys.push_back(key);
        throw InputError(preset.file, at, "no value",
                         suggestion(pointer.back(), keys, "values that the file has there"));
    }
    preset.body[pointer] = setting.value;
}

std::string hash_of(const fs::path& file) {
    std::ifstream in(file, std::ios::binary);
    std::ostringstream bytes;
    bytes << in.rdbuf();
    if (!in) throw InputError(file.string(), "", "a file that cannot be read", "a readable one");
    return sha256(bytes.str());
}

class Reading {
public:
    Reading(const Library& library, FilesOnce& files, std::span<const FactorSetting> settings)
        : library_(library), files_(files), settings_(settings) {}

    /// @param make of the preset as it stands in this run; of one that no factor changes that of an earlier
    /// run will do.
    template <class T, class Make>
    ReadPreset<T> read(PresetKind kind, const std::string& reference, Memo<ReadPreset<T>>& known, Make make) {
        if (varies(kind)) return make(preset(kind, reference));
        return known.get(reference, [&] { return make(preset(kind, reference)); });
    }

    Preset preset(PresetKind kind, const std::string& reference) {
        Preset out = unchanged(kind, reference);
        for (const FactorSetting& setting : settings_)
            if (setting.factor->of == kind) set(out, setting);
        return out;
    }

    /// A pad's file has several sizes: which one is meant is said by the file as it is without factors.
    std::size_t size_of_pad(const std::string& reference) {
        const Preset pad = unchanged(PresetKind::pad, reference);
        const std::vector<Pad> sizes = read_pads(pad.body, pad.file);
        const double radius_m = library_.pad(reference).radius_m;
        std::size_t at = 0;
        while (sizes.at(at).radius_m != radius_m) ++at;
        return at;
    }

    bool varies(PresetKind kind) const {
        return std::ranges::any_of(settings_,
                                   [&](const FactorSetting& setting) { return setting.factor->of == kind; });
    }

    std::string hash(const fs::path& file) {
        return files_.hashes.get(file.string(), [&] { return hash_of(file); });
    }
    const Library& library() const { return library_; }
    FilesOnce& files() const { return files_; }

private:
    Preset unchanged(PresetKind kind, const std::string& reference) {
        const std::string file = files_.paths.get(fmt::format("{} {}", name_of(kind), reference),
                                                  [&] { return library_.file_of(kind, reference).string(); });
        return {kind, files_.documents.get(file, [&] { return load_json(file); }), file};
    }

    const Library& library_;
    FilesOnce& files_;
    std::span<const FactorSetting> settings_;
};

/// For kinds whose reader takes a document and gives the preset.
template <class T> auto with(T (*reader)(const json&, const std::string&)) {
    return [reader](const Preset& preset) {
        return ReadPreset<T>{reader(preset.body, preset.file), preset.checked(), preset.file};
    };
}

ReadPreset<Pad> read_pad(Reading& reading, const std::string& reference) {
    return reading.read(PresetKind::pad, reference, reading.files().pads, [&](const Preset& preset) {
        const std::size_t size = reading.size_of_pad(reference);
        ReadPreset<Pad> pad{read_pads(preset.body, preset.file).at(size), preset.checked(), preset.file};
        pad.identity["sizes"] = pad.identity["sizes"].at(size);
        return pad;
    });
}

void read_step(Reading& reading, const SweepDesign& design, RunInputs& out) {
    FilesOnce& files = reading.files();
    auto technique =
        reading.read(PresetKind::technique, design.technique, files.techniques, with(read_technique));
    out.step.technique = technique.value, out.technique_file = technique.file;
    const Technique& t = out.step.technique;
    const auto named = [&](const char* key, auto read) {
        try {
            return read();
        } catch (const UnknownPreset& unknown) {
            Place{technique.file, ""}.at(key).refuse(unknown.found(), unknown.allowed());
        }
    };
    const auto machine = named("machine", [&] {
        return reading.read(PresetKind::machine, t.machine, files.machines, with(read_machine));
    });
    const auto pad = named("pad", [&] { return read_pad(reading, t.pad); });
    const auto liquid = named("liquid", [&] {
        return reading.read(PresetKind::liquid, t.liquid, files.liquids, with(read_liquid));
    });
    out.step.machine = machine.value, out.step.pad = pad.value, out.step.liquid = liquid.value;
    hold_together(out.step, technique.file);

    // What these three are is said below, not by their names.
    for (const char* key : {"machine", "pad", "liquid"}) technique.identity.erase(key);
    out.identity["technique"] = technique.identity, out.identity["machine"] = machine.identity;
    out.identity["pad"] = pad.identity, out.identity["liquid"] = liquid.identity;
}

json identity_of_shape(Reading& reading, const PanelSpec& spec) {
    if (const auto* map = std::get_if<HeightMap>(&spec.shape))
        return {{"height_map", reading.hash(map->png)}};
    if (const auto* mesh = std::get_if<Mesh>(&spec.shape))
        return {{"mesh", reading.hash(mesh->file)}, {"unit_m", mesh->unit_m}};
    return json::object();
}

ReadPreset<PanelSpec> read_panel_file(Reading& reading, const std::string& reference) {
    return reading.read(PresetKind::panel, reference, reading.files().panels, [&](const Preset& preset) {
        ReadPreset<PanelSpec> panel = with(read_panel)(preset);
        panel.identity.erase("substrate");
        for (const char* shape : {"mesh", "height_map"})
            if (panel.identity.contains(shape)) panel.identity[shape].erase("file");
        panel.identity["shape_file"] = identity_of_shape(reading, panel.value);
        return panel;
    });
}

/// A mesh can be a panel by itself.
ReadPreset<PanelSpec> read_bare_mesh(Reading& reading, const std::string& mesh) {
    if (reading.varies(PresetKind::panel))
        throw InputError(mesh, "", "a factor of a panel that is a mesh alone",
                         "a panel file that names the mesh");
    ReadPreset<PanelSpec> panel{reading.library().panel(mesh), {}, mesh};
    panel.identity["shape_file"] = identity_of_shape(reading, panel.value);
    return panel;
}

void read_panel_of(Reading& reading, const SweepDesign& design, RunInputs& out) {
    const std::string extension = lower_extension(design.panel);
    const bool bare = extension == ".obj" || extension == ".stl";
    const auto panel = bare ? read_bare_mesh(reading, design.panel) : read_panel_file(reading, design.panel);
    out.panel = panel.value, out.panel_file = panel.file;
    try {
        const auto substrate = reading.read(PresetKind::substrate, out.panel.substrate,
                                            reading.files().substrates, with(read_substrate));
        out.substrate = substrate.value, out.identity["substrate"] = substrate.identity;
    } catch (const UnknownPreset& unknown) {
        throw InputError(out.panel_file, "/substrate", unknown.found(), unknown.allowed());
    }
    out.identity["panel"] = panel.identity;
}

} // namespace

RunInputs run_inputs(const Library& library, FilesOnce& files, const SweepDesign& design,
                     const std::string& paint, std::span<const FactorSetting> settings) {
    Reading reading(library, files, settings);
    RunInputs out;
    read_step(reading, design, out);
    read_panel_of(reading, design, out);
    const auto film = reading.read(PresetKind::paint, paint, files.paints, with(read_paint));
    const auto defects = reading.read(PresetKind::defects, design.defects, files.defects, with(read_defects));
    out.paint = film.value, out.identity["paint"] = film.identity;
    out.defects = defects.value, out.identity["defects"] = defects.identity;
    return out;
}

} // namespace sparecoat::study
