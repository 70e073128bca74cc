#pragma once
#include "decide/advice.hpp"
#include "job/presets.hpp"
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

namespace sparecoat {

// The record of test sections on one vehicle: a JSON file of kind "record" (docs/formats.md).

/// One go at a square: some sets of one step, then perhaps a look. Any part of the look may be missing.
struct Try {
    std::string step;                 ///< KitStep::id
    int sets = 1;
    std::optional<std::string> seen;  ///< as a person entered it: "90 %", "better"
    std::optional<GaugePair> gauge;   ///< before: the untouched square
    std::string note;
};

struct TapedSquare {
    Point2 at;                        ///< its middle, m in the unrolled panel
    Point2 size{0.4, 0.4};
    std::vector<Try> tries;
};

struct RecordedPanel {
    std::string panel;                ///< preset or path, as all that follow
    std::string paint = "typical", defects = "moderate";
    std::optional<std::string> readings;
    bool clean = false;               ///< washed and decontaminated
    std::vector<TapedSquare> squares;
};

struct SectionRecord {
    std::string name;                 ///< of the vehicle
    std::string kit;
    Target target;
    std::vector<RecordedPanel> panels; ///< no two of the same panel
};

/// References in the file are from its folder. @throws InputError.
SectionRecord read_record(const nlohmann::json& document, const std::string& file);
SectionRecord load_record(const std::filesystem::path& file);

/// Changes one panel's entry of a record's JSON: the file is written anew beside itself and renamed, so that it is
/// whole at all times. What the record had and this program did not touch stays as it was (notes, order, units).
/// @throws InputError where the changed record would not be one; the file is then as it was.
void save_record(const std::filesystem::path& file, const nlohmann::json& document);

} // namespace sparecoat
