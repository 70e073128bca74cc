#include "library/presets.hpp"
#include "formats/nearest.hpp"
#include "formats/reader.hpp"
#include "formats/reference.hpp"
#include "library/lesson.hpp"
#include "library/plate.hpp"
#include "library/preset_ids.hpp"
#include "library/sweep_design.hpp"
#include "units/text.hpp"
#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <fmt/format.h>
#include <fmt/ranges.h>
#include <optional>

namespace sparecoat::library {

namespace fs = std::filesystem;
using nlohmann::json;

namespace {

// ---- references -----------------------------------------------------------------------------------

/// A pad's reference taken apart: "firm-foam-150" or "my/pads/firm.json#150".
struct PadReference {
    std::string file; ///< stem or path
    std::optional<int> diameter_mm;
};

std::optional<int> whole_number(const std::string& text) {
    constexpr std::size_t most_digits = 4;
    if (text.empty() || text.size() > most_digits) return std::nullopt;
    if (text.find_first_not_of("0123456789") != std::string::npos) return std::nullopt;
    return std::stoi(text);
}

PadReference take_apart(const std::string& reference) {
    const auto mark = reference.rfind(is_path(reference) ? '#' : '-');
    if (mark == std::string::npos) return {reference, std::nullopt};
    const auto diameter_mm = whole_number(reference.substr(mark + 1));
    return diameter_mm ? PadReference{reference.substr(0, mark), diameter_mm}
                       : PadReference{reference, std::nullopt};
}

// ---- where the presets are ------------------------------------------------------------------------

fs::path folder_of_program() {
    std::error_code error;
    const fs::path program = fs::read_symlink("/proc/self/exe", error);
    return error ? fs::current_path(error) : program.parent_path();
}

fs::path standard_root() {
    if (const char* chosen = std::getenv("SPARECOAT_PRESETS"); chosen != nullptr && *chosen != '\0') {
        if (!fs::is_directory(chosen))
            throw InputError(chosen, "", "no such folder",
                             "the folder of the presets, in the environment variable SPARECOAT_PRESETS");
        return chosen;
    }
#ifdef SPARECOAT_PRESET_DIR
    if (fs::is_directory(SPARECOAT_PRESET_DIR)) return SPARECOAT_PRESET_DIR;
#endif
    return folder_of_program() / ".." / "share" / "sparecoat" / "presets";
}

} // namespace

Library Library::standard() { return Library(standard_root()); }

// ---- finding --------------------------------------------------------------------------------------

std::vector<std::string> Library::references(PresetKind kind) const {
    std::vector<std::string> sorted = store_->references(kind);
    std::ranges::sort(sorted, comes_before); // a folder's order is the file system's own
    return sorted;
}

/// What a message lists. A pad file that cannot be read is left out here: it has its own message when
/// it is asked for.
std::vector<std::string> Library::ids(PresetKind kind) const {
    if (kind != PresetKind::pad) return references(kind);
    std::vector<std::string> ids;
    for (const std::string& stem : references(kind)) {
        try {
            for (const Pad& pad : read_pads(store_->document(kind, stem), store_->file_of(kind, stem)))
                ids.push_back(fmt::format("{}-{}", stem, diameter_mm(pad)));
        } catch (const InputError&) {
            continue;
        }
    }
    std::ranges::sort(ids, comes_before);
    return ids;
}

void Library::refuse_unknown(PresetKind kind, const std::string& reference) const {
    const std::string known = suggestion(reference, ids(kind), fmt::format("known {}", folder_of(kind)));
    if (is_path(reference))
        throw UnknownPreset(reference, "", "no such file",
                            fmt::format("a {} file; {}", name_of(kind), known));
    throw UnknownPreset(store_->place_of(kind), "", fmt::format("no {} \"{}\"", name_of(kind), reference),
                        known + "; or the path of a JSON file" +
                            (kind == PresetKind::panel ? "; or a plate's size such as \"1200x800 mm\"" : ""));
}

std::filesystem::path Library::file_of(PresetKind kind, const std::string& reference) const {
    if (kind == PresetKind::panel)
        if (const std::optional<Plate> plate = plate_called(reference)) return plate->file;
    const std::string file = kind == PresetKind::pad ? take_apart(reference).file : reference;
    if (is_path(reference)) {
        if (!fs::exists(file)) refuse_unknown(kind, reference);
        return file;
    }
    const std::vector<std::string> known = store_->references(kind);
    if (std::ranges::find(known, file) == known.end()) refuse_unknown(kind, reference);
    return store_->file_of(kind, file);
}

StoredDocument Library::document(PresetKind kind, const std::string& reference) const {
    if (kind == PresetKind::panel)
        if (std::optional<Plate> plate = plate_called(reference))
            return {std::move(plate->file), std::move(plate->body)};
    std::string file = file_of(kind, reference).string();
    json body =
        is_path(reference)
            ? load_json(file)
            : store_->document(kind, kind == PresetKind::pad ? take_apart(reference).file : reference);
    return {std::move(file), std::move(body)};
}

// ---- reading --------------------------------------------------------------------------------------

namespace {

/// A preset of a kind whose reader takes a document and what messages call it.
template <class Preset>
Preset read(const StoredDocument& document, Preset (*reader)(const json&, const std::string&)) {
    return reader(document.body, document.file);
}

} // namespace

Machine Library::machine(const std::string& reference) const {
    return read(document(PresetKind::machine, reference), read_machine);
}

Pad Library::pad(const std::string& reference) const {
    const StoredDocument found = document(PresetKind::pad, reference);
    const std::vector<Pad> sizes = read_pads(found.body, found.file);
    const PadReference wanted = take_apart(reference);
    const auto chosen = std::ranges::find_if(sizes, [&](const Pad& pad) {
        return wanted.diameter_mm ? diameter_mm(pad) == *wanted.diameter_mm
                                  : sizes.size() == 1 && is_path(reference);
    });
    if (chosen == sizes.end()) {
        std::string known;
        for (const Pad& pad : sizes)
            known += fmt::format("{}{}{}{}", known.empty() ? "" : ", ", wanted.file,
                                 is_path(reference) ? '#' : '-', diameter_mm(pad));
        throw UnknownPreset(found.file, "/sizes",
                            wanted.diameter_mm ? fmt::format("no size of {} mm", *wanted.diameter_mm)
                                               : fmt::format("pad \"{}\" without a size", reference),
                            known);
    }
    Pad pad = *chosen;
    pad.name += fmt::format(" {} mm", diameter_mm(pad));
    return pad;
}

Liquid Library::liquid(const std::string& reference) const {
    return read(document(PresetKind::liquid, reference), read_liquid);
}

Paint Library::paint(const std::string& reference) const {
    return read(document(PresetKind::paint, reference), read_paint);
}

Substrate Library::substrate(const std::string& reference) const {
    return read(document(PresetKind::substrate, reference), read_substrate);
}

PanelSpec Library::panel(const std::string& reference) const {
    const std::string extension = lower_extension(reference);
    if (extension == ".png")
        throw InputError(
            reference, "", "a height map without its scale",
            R"(a panel file with "height_map": {"file": "...", "pixel": "1 mm", "full_scale": "65 mm"})");
    if (extension == ".obj" || extension == ".stl") {
        if (!fs::is_regular_file(reference))
            throw UnknownPreset(reference, "", "no such file", "an OBJ or STL mesh in millimetres");
        return {fs::path(reference).stem().string(), "steel", Mesh{reference, mm}};
    }
    const StoredDocument found = document(PresetKind::panel, reference);
    if (is_path(reference)) return read_panel(found.body, found.file);
    return read_panel(found.body, found.file, [&](const std::string& written) {
        return store_->attached(PresetKind::panel, reference, written);
    });
}

Technique Library::technique(const std::string& reference) const {
    return read(document(PresetKind::technique, reference), read_technique);
}

Lesson Library::lesson(const std::string& reference) const {
    return read(document(PresetKind::lesson, reference), read_lesson);
}

Defects Library::defects(const std::string& reference) const {
    return read(document(PresetKind::defects, reference), read_defects);
}

Kit Library::kit(const std::string& reference) const {
    return read(document(PresetKind::kit, reference), read_kit);
}

SweepDesign Library::sweep(const std::string& reference) const {
    return read(document(PresetKind::sweep, reference), read_sweep);
}

} // namespace sparecoat::library
