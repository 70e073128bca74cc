#pragma once
#include "finish/described.hpp"
#include "formats/kinds.hpp"
#include "library/document_store.hpp"
#include "library/kit.hpp"
#include "panel/panel.hpp"
#include "panel/shape.hpp"
#include "tool/technique.hpp"
#include "tool/tool.hpp"
#include "units/error.hpp"
#include <filesystem>
#include <functional>
#include <memory>
#include <nlohmann/json_fwd.hpp>
#include <string>
#include <utility>
#include <vector>

namespace sparecoat::library {

struct Lesson;      // library/lesson.hpp
struct SweepDesign; // library/sweep_design.hpp

// Each reads one document of its kind into SI and throws InputError with `file` and the JSON pointer:
// wrong kind or type, unknown key, missing key, unit missing or wrong, value out of range, values that
// cannot stand together. The document is held to the published JSON Schema as well.
// A relative path in a panel or technique is taken from the folder of `file`.

Machine read_machine(const nlohmann::json& document, const std::string& file);
/// One pad for each size in the file, in the file's order, without the size in its name.
std::vector<Pad> read_pads(const nlohmann::json& document, const std::string& file);
Liquid read_liquid(const nlohmann::json& document, const std::string& file);
Paint read_paint(const nlohmann::json& document, const std::string& file);
Substrate read_substrate(const nlohmann::json& document, const std::string& file);
PanelSpec read_panel(const nlohmann::json& document, const std::string& file);
/// The same of a panel that is no file: `find` gives the mesh or height map that it names.
PanelSpec read_panel(const nlohmann::json& document, const std::string& file,
                     const std::function<AttachedFile(const std::string& written)>& find);
Technique read_technique(const nlohmann::json& document, const std::string& file);
/// Words become numbers here (see population_of); a number in the file takes the place of the words' own.
Defects read_defects(const nlohmann::json& document, const std::string& file);

/// A reference that leads nowhere.
class UnknownPreset : public InputError {
public:
    using InputError::InputError;
};

/// One line of `list`.
struct Listing {
    std::string id; ///< what a command takes: "da-15", "firm-foam-150"
    std::string name, note;
    std::string summary; ///< its main figures
};

/// The presets of a store, and files of the same formats anywhere else. Nothing is kept: each question reads
/// anew, and copies ask the same store.
///
/// A reference is a preset's id (its file's stem; a pad's has its diameter in mm added, "firm-foam-150"),
/// or a path if it holds a '/' or ends in ".json". A path to a pad of several sizes adds "#150".
/// Everything throws InputError; for a reference that leads nowhere it is an UnknownPreset, which names
/// the nearest ids and lists them all.
class Library {
public:
    explicit Library(std::shared_ptr<const DocumentStore> store) : store_(std::move(store)) {}
    /// The presets below a folder.
    explicit Library(std::filesystem::path root)
        : Library(std::make_shared<const FolderStore>(std::move(root))) {}

    /// The folder in the environment variable SPARECOAT_PRESETS; else the one set when the program was
    /// built, if it is still there; else share/sparecoat/presets beside the program's folder.
    static Library standard();

    const std::shared_ptr<const DocumentStore>& store() const { return store_; }

    Machine machine(const std::string& reference) const;
    Pad pad(const std::string& reference) const;
    Liquid liquid(const std::string& reference) const;
    Paint paint(const std::string& reference) const;
    Substrate substrate(const std::string& reference) const;
    /// Also takes the path of an OBJ or STL mesh as it is: in millimetres, of steel.
    PanelSpec panel(const std::string& reference) const;
    Technique technique(const std::string& reference) const;
    Lesson lesson(const std::string& reference) const;
    Defects defects(const std::string& reference) const;
    Kit kit(const std::string& reference) const;
    SweepDesign sweep(const std::string& reference) const;

    /// What messages call the place that a reference leads to: a file, unless the library is of a job.
    std::filesystem::path file_of(PresetKind kind, const std::string& reference) const;
    /// A preset as it was written. @param reference of a pad with its size, whose file it then is.
    StoredDocument document(PresetKind kind, const std::string& reference) const;

    /// All of a kind, sorted by id with numbers in their order (da-8, da-12); pads once for each size.
    std::vector<Listing> list(PresetKind kind) const;

private:
    std::vector<std::string> references(PresetKind kind) const;
    std::vector<std::string> ids(PresetKind kind) const;
    [[noreturn]] void refuse_unknown(PresetKind kind, const std::string& reference) const;

    std::shared_ptr<const DocumentStore> store_;
};

/// A technique with the things it names.
struct Resolved {
    Technique technique;
    Machine machine;
    Pad pad;
    Liquid liquid;
};

/// Reads a technique and what it names and holds them to each other.
/// @throws InputError, with the technique's file and key where it is at fault: a name that does not
/// exist, a pad that the machine does not take, a speed that it does not reach.
Resolved resolve(const Library& library, const std::string& technique);

/// The same for a technique that was read before and may have been changed since; `file` is for messages.
Resolved resolve(const Library& library, const Technique& technique, const std::string& file);

/// Holds a technique and what it names to each other; `file` is the technique's. @throws InputError.
void hold_together(const Resolved& resolved, const std::string& file);

} // namespace sparecoat::library
