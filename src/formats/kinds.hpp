#pragma once
#include "rooms.hpp"
#include <string>
#include <string_view>
#include <vector>

namespace sparecoat::formats {

struct Form; // formats/form.hpp

/// What a preset file describes.
enum class PresetKind {
    machine,
    pad,
    liquid,
    paint,
    substrate,
    panel,
    technique,
    lesson,
    defects,
    kit,
    record,
    shop,
    sweep
};

std::vector<PresetKind> all_preset_kinds();

/// "machine": the value of the file's key "kind".
std::string_view name_of(PresetKind kind);

/// "machines": the folder below the preset root.
std::string_view folder_of(PresetKind kind);

/// @throws InputError naming the nearest known kinds. Accepts the folder's name as well.
PresetKind preset_kind(std::string_view name);

/// Everything a file of this kind may hold: an ObjectForm.
const Form& form_of(PresetKind kind);

/// What a number of a file may be, both ends allowed: SI, or as it is where it has no unit.
struct Limits {
    double low = 0, high = 0;
    /// The same in a unit of so much SI, free of the last bits that the division leaves, as a person writes
    /// it.
    Limits in(double unit_si) const;
};
/// @param pointer to a key in a file of this kind, such as "/hand/force"; of a point, each coordinate.
/// @throws std::logic_error where the form has no number there.
Limits limits_of(PresetKind kind, std::string_view pointer);

/// The JSON Schema (draft-07) of a kind, made from its form: the text of docs/schema/<kind>.schema.json.
std::string schema_text(PresetKind kind);

/// The table of a kind's keys in docs/formats.md, made from its form.
std::string format_table(PresetKind kind);

} // namespace sparecoat::formats
