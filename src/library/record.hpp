#pragma once
#include "decide/sequence.hpp"
#include "formats/gauge_csv.hpp"
#include "panel/panel.hpp"
#include <filesystem>
#include <nlohmann/json_fwd.hpp>
#include <optional>
#include <string>
#include <vector>

namespace sparecoat::library {

// The record of test sections on one vehicle: a JSON file of kind "record" (docs/formats.md).

/// One go at a square: some sets of one step, then perhaps a look. Any part of the look may be missing.
struct Try {
    std::string step; ///< KitStep::id
    int sets = 1;
    std::optional<std::string> seen; ///< as a person entered it: "90 %", "better"
    std::optional<GaugePair> gauge;  ///< before: the untouched square
    std::string note;
};

struct TapedSquare {
    Point2 at; ///< its middle, m in the unrolled panel
    Point2 size{0.4, 0.4};
    std::vector<Try> tries;
    std::string note;
};

struct RecordedPanel {
    std::string panel; ///< preset or path, as all that follow
    std::string paint = "typical", defects = "moderate";
    std::optional<std::string> readings;
    bool clean = false; ///< washed and decontaminated
    std::vector<TapedSquare> squares;
    std::string note;
    SharedReadings film = {}; ///< the readings themselves, where they are of no file

    bool measured() const { return readings || film; }
};

struct SectionRecord {
    std::string file; ///< for messages; empty where it is none
    std::string name; ///< of the vehicle
    std::string kit;
    Target target;
    std::vector<RecordedPanel> panels; ///< no two of the same panel
};

/// Most haze of the steps' own marks that the words for a finish stand for, after Finish::haze: a polish
/// leaves about 2, a finishing polish about 0.4 (from memory).
inline constexpr double good_finish_haze = 2.5, full_finish_haze = 1.0;

/// References in the file are from its folder. What they name is not looked up; see hold_to_library. @throws
/// InputError.
SectionRecord read_record(const nlohmann::json& document, const std::string& file);
SectionRecord load_record(const std::filesystem::path& file);

/// What is put into a record at once: into the panel's entry, which is made where there is none yet.
struct RecordEntry {
    std::string panel; ///< as the file is to name it, as all that follow
    std::optional<std::string> paint, defects, readings;
    std::optional<bool> clean;
    std::optional<TapedSquare> square; ///< taped just now; its tries are not looked at
    std::optional<Try> work;           ///< done on the panel's last square
    /// A look by itself goes to the last try, where it fills in what is missing there; corrected, it takes
    /// its place.
    std::optional<std::string> seen;
    std::optional<GaugePair> gauge;
    bool correct = false;
};

/// A record's JSON with no panels yet, which is not one before the first entry.
nlohmann::ordered_json new_record(const std::string& name, const std::string& kit, const Target& target);

/// Puts an entry in. What the document holds besides stays as it is. @throws InputError (without a file):
/// work or a look without a square or a try to go to; a look that would take another's place uncorrected.
void enter(nlohmann::ordered_json& document, const RecordEntry& entry);

/// Puts one of a panel's squares elsewhere, or makes it larger or smaller; its tries stay. Panel, as the file
/// names it, and square are there.
void place_square(nlohmann::ordered_json& document, const std::string& panel, std::size_t square,
                  const TapedSquare& to);

/// A record's JSON as it stands in its file: in its order, with its notes and units. @throws InputError.
nlohmann::ordered_json load_record_json(const std::filesystem::path& file);

/// Writes a record: the file is written anew beside itself and renamed, so that it is whole at all times.
/// @throws InputError where the document is no record or the file cannot be written; the file is then as it
/// was.
void save_record(const std::filesystem::path& file, const nlohmann::ordered_json& document);

/// A path as a file in `folder` is to hold it, which a person gave from where they are. Neither has to exist.
std::string path_from(const std::filesystem::path& folder, const std::filesystem::path& path);
/// The same of a reference, of which an id stays as it is.
std::string reference_from(const std::filesystem::path& folder, const std::string& reference);

} // namespace sparecoat::library
