#pragma once
#include "units/error.hpp"
#include "vehicle/rows.hpp"
#include <filesystem>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <vector>

namespace sparecoat::vehicle {

class Database;

/// An entry changed in the file after it was read; what rested on the old one was not kept.
class ChangedElsewhere : public InputError {
public:
    using InputError::InputError;
};

/// One edit of a job's history.
struct Edit {
    Id id = 0;
    std::string label;   ///< "3 readings on the rear door"
    std::string made;    ///< "2026-03-14T09:30:00Z"
    bool undone = false; ///< waits to be redone
};

/// How many edits can be undone; older ones are forgotten.
inline constexpr int undo_depth = 500;

/// A vehicle's job: one SQLite file, ".sparecoat" (docs/job-file.md). Nothing has to be saved: an edit is on
/// the disk when edit() returns, whole, or not at all. Undo and redo go on across closing and opening.
///
/// Several programs may have one job open. Edits wait their turn (patience_ms), and change() notices an entry
/// that another program changed meanwhile, so that none is lost under another. One JobFile belongs to one
/// thread.
///
/// Everything throws InputError with the file's name for what a person can see to: no such file, none of
/// ours, a newer version, damage, no right to write, no room, broken rules of the tables, an entry that is
/// gone.
class JobFile {
public:
    enum class Access { write, read };

    /// Makes a new file, with what `fill` adds to it already there: it shows up whole or not at all, and none
    /// of that can be undone. @throws InputError where one of that name is there.
    static JobFile create(const std::filesystem::path& file, const Vehicle& vehicle,
                          const std::function<void(JobFile&)>& fill = {});

    /// Opens a file, after a look through its structure. One of an older version is brought up to date, after
    /// a copy has been put beside it ("bus.v1-backup.sparecoat"). Where a file cannot be written, or only
    /// `read` is asked for, edits are refused; an older one cannot be opened so.
    static JobFile open(const std::filesystem::path& file, Access access = Access::write);

    JobFile(JobFile&&) noexcept;
    JobFile& operator=(JobFile&&) noexcept;
    ~JobFile();

    const std::filesystem::path& path() const { return path_; }
    bool read_only() const;
    /// The copy of the older version that was put aside on opening.
    const std::optional<std::filesystem::path>& backup() const { return backup_; }

    // ---- reading -----------------------------------------------------------------------------------

    /// What `body` reads is of one moment, whatever other programs write meanwhile.
    void at_one_moment(const std::function<void()>& body) const;

    /// All rows of a table, by id (panels by place, visits by date).
    template <class Row> std::vector<Row> all() const;
    template <class Row> Row get(Id id) const;
    Vehicle vehicle() const { return get<Vehicle>(1); }
    template <class Row> std::optional<Row> find(Id id) const;

    std::optional<JobPanel> panel_named(const std::string& name) const;
    std::optional<PanelVisit> panel_visit(Id visit, Id panel) const;
    /// The latest by date, ties by id.
    std::optional<Visit> last_visit() const;

    /// Counts edits, undos and redos, by whomever.
    std::int64_t revision() const;
    /// Whether another program has written since this was last asked: time to read again.
    bool changed_elsewhere();

    // ---- editing -----------------------------------------------------------------------------------

    /// One edit, as a person sees it. What `body` adds, changes and removes is kept together, or, if it
    /// throws, not at all; if it changes nothing there is no edit. Within an edit it is part of that. Redo is
    /// dropped.
    void edit(const std::string& label, const std::function<void()>& body);

    // All of these belong inside an edit (std::logic_error).

    /// @return the new row's id; the one in `row` is not looked at.
    template <class Row> Id add(const Row& row);
    /// Writes the columns in which `now` differs from `was`.
    /// @throws ChangedElsewhere where the row is gone or one of those columns is no longer as in `was`.
    template <class Row> void change(const Row& was, const Row& now);
    /// With all that hangs on it. @throws InputError where it is gone, or others refer to it (a Document).
    template <class Row> void remove(Id id);
    /// The panel at the visit, made where there is none.
    PanelVisit at_visit(Id visit, Id panel);

    // ---- history -----------------------------------------------------------------------------------

    /// Oldest first; those that are undone last.
    std::vector<Edit> history() const;
    /// @return what was undone or redone; nothing where there is none.
    std::optional<Edit> undo();
    std::optional<Edit> redo();

    /// Looks the whole file through. @return what is wrong with it, a line each; empty where nothing is.
    std::vector<std::string> check() const;

private:
    JobFile(std::filesystem::path path, std::unique_ptr<Database> database);
    void demand_edit() const;
    std::optional<Edit> turn_back_or_forth(bool back);

    std::filesystem::path path_;
    std::unique_ptr<Database> database_;
    std::optional<std::filesystem::path> backup_;
    std::int64_t seen_version_ = 0;
    bool editing_ = false;
};

} // namespace sparecoat::vehicle
