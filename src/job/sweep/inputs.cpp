#include "job/sweep/inputs.hpp"
#include "job/nearest.hpp"
#include "job/reader.hpp"
#include "job/store/encoding.hpp"
#include "units/text.hpp"
#include <cmath>
#include <fmt/format.h>
#include <fstream>
#include <sstream>

namespace sparecoat {

namespace fs = std::filesystem;
using nlohmann::json;

json FilesOnce::document(const fs::path& file) {
    const std::scoped_lock lock(mutex_);
    const auto known = documents_.find(file);
    return known != documents_.end() ? known->second : documents_[file] = load_json(file);
}

std::string FilesOnce::hash(const fs::path& file) {
    const std::scoped_lock lock(mutex_);
    if (const auto known = hashes_.find(file); known != hashes_.end()) return known->second;
    std::ifstream in(file, std::ios::binary);
    std::ostringstream bytes;
    bytes << in.rdbuf();
    if (!in) throw InputError(file.string(), "", "a file that cannot be read", "a readable one");
    return hashes_[file] = sha256(bytes.str());
}

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
        throw InputError(preset.file, at, "no value", suggestion(pointer.back(), keys, "values that the file has there"));
    }
    preset.body[pointer] = setting.value;
}

class Reading {
public:
    Reading(const Library& library, FilesOnce& files, std::span<const FactorSetting> settings)
        : library_(library), files_(files), settings_(settings) {}

    Preset preset(PresetKind kind, const std::string& reference) {
        const fs::path file = library_.file_of(kind, reference);
        Preset out{kind, files_.document(file), file.string()};
        for (const FactorSetting& setting : settings_)
            if (setting.factor->of == kind) set(out, setting);
        return out;
    }

    /// A pad's file has several sizes: which one is meant is said by the file as it is without factors.
    std::size_t size_of_pad(const std::string& reference) {
        const fs::path file = library_.file_of(PresetKind::pad, reference);
        const std::vector<Pad> sizes = read_pads(files_.document(file), file.string());
        const double radius_m = library_.pad(reference).radius_m;
        std::size_t at = 0;
        while (sizes[at].radius_m != radius_m) ++at;
        return at;
    }

    bool varies(PresetKind kind) const {
        for (const FactorSetting& setting : settings_)
            if (setting.factor->of == kind) return true;
        return false;
    }

    std::string hash(const fs::path& file) { return files_.hash(file); }
    const Library& library() const { return library_; }

private:
    const Library& library_;
    FilesOnce& files_;
    std::span<const FactorSetting> settings_;
};

void read_step(Reading& reading, const SweepDesign& design, RunInputs& out) {
    const Preset technique = reading.preset(PresetKind::technique, design.technique);
    Technique& t = out.step.technique = read_technique(technique.body, technique.file);
    out.technique_file = technique.file;
    const auto named = [&](const char* key, const std::string& reference, auto read) {
        try {
            return read(reference);
        } catch (const UnknownPreset& unknown) {
            Place{technique.file, ""}.at(key).refuse(unknown.found(), unknown.allowed());
        }
    };
    const Preset machine = named("machine", t.machine, [&](const auto& name) { return reading.preset(PresetKind::machine, name); });
    const Preset pad = named("pad", t.pad, [&](const auto& name) { return reading.preset(PresetKind::pad, name); });
    const Preset liquid = named("liquid", t.liquid, [&](const auto& name) { return reading.preset(PresetKind::liquid, name); });
    const std::size_t size = named("pad", t.pad, [&](const auto& name) { return reading.size_of_pad(name); });
    out.step.machine = read_machine(machine.body, machine.file);
    out.step.pad = read_pads(pad.body, pad.file).at(size);
    out.step.liquid = read_liquid(liquid.body, liquid.file);
    hold_together(out.step, technique.file);

    json& identity = out.identity;
    identity["technique"] = technique.checked();
    for (const char* key : {"machine", "pad", "liquid"}) identity["technique"].erase(key);
    identity["machine"] = machine.checked();
    identity["pad"] = pad.checked();
    identity["pad"]["sizes"] = identity["pad"]["sizes"].at(size);
    identity["liquid"] = liquid.checked();
}

json identity_of_shape(Reading& reading, const PanelSpec& spec) {
    if (const auto* map = std::get_if<HeightMap>(&spec.shape)) return {{"height_map", reading.hash(map->png)}};
    if (const auto* mesh = std::get_if<Mesh>(&spec.shape)) return {{"mesh", reading.hash(mesh->file)}, {"unit_m", mesh->unit_m}};
    return json::object();
}

void read_panel_of(Reading& reading, const SweepDesign& design, RunInputs& out) {
    const std::string extension = lower_extension(design.panel);
    json& identity = out.identity["panel"] = json::object();
    if (extension == ".obj" || extension == ".stl") {
        if (reading.varies(PresetKind::panel))
            throw InputError(design.panel, "", "a factor of a panel that is a mesh alone", "a panel file that names the mesh");
        out.panel = reading.library().panel(design.panel), out.panel_file = design.panel;
    } else {
        const Preset panel = reading.preset(PresetKind::panel, design.panel);
        out.panel = read_panel(panel.body, panel.file), out.panel_file = panel.file;
        identity = panel.checked();
        identity.erase("substrate");
        for (const char* shape : {"mesh", "height_map"})
            if (identity.contains(shape)) identity[shape].erase("file");
    }
    identity["shape_file"] = identity_of_shape(reading, out.panel);
    try {
        const Preset substrate = reading.preset(PresetKind::substrate, out.panel.substrate);
        out.substrate = read_substrate(substrate.body, substrate.file);
        out.identity["substrate"] = substrate.checked();
    } catch (const UnknownPreset& unknown) {
        throw InputError(out.panel_file, "/substrate", unknown.found(), unknown.allowed());
    }
}

} // namespace

RunInputs run_inputs(const Library& library, FilesOnce& files, const SweepDesign& design, const std::string& paint,
                     std::span<const FactorSetting> settings) {
    Reading reading(library, files, settings);
    RunInputs out;
    read_step(reading, design, out);
    read_panel_of(reading, design, out);
    const Preset film = reading.preset(PresetKind::paint, paint);
    out.paint = read_paint(film.body, film.file);
    const Preset defects = reading.preset(PresetKind::defects, design.defects);
    out.defects = read_defects(defects.body, defects.file);
    out.identity["paint"] = film.checked();
    out.identity["defects"] = defects.checked();
    return out;
}

} // namespace sparecoat
