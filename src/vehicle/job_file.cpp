#include "vehicle/job_file.hpp"
#include "formats/encoding.hpp"
#include "vehicle/database.hpp"
#include "vehicle/schema.hpp"
#include <algorithm>
#include <array>
#include <cstring>
#include <fcntl.h>
#include <fmt/format.h>
#include <fmt/ranges.h>
#include <fstream>
#include <map>
#include <stdexcept>
#include <system_error>
#include <unistd.h>

namespace sparecoat::vehicle {

namespace fs = std::filesystem;

namespace {

// ---- files ----------------------------------------------------------------------------------------

constexpr const char* wanted_file = "a job file (.sparecoat)";

void hold_to_plain_file(const fs::path& file) {
    std::error_code failed;
    const auto status = fs::status(file, failed);
    if (status.type() == fs::file_type::not_found)
        throw InputError(file.string(), "", "no such file",
                         fmt::format("{}; \"sparecoat job new\" makes one", wanted_file));
    if (status.type() == fs::file_type::none)
        throw InputError(file.string(), "", failed.message(), wanted_file);
    if (fs::is_directory(status)) throw InputError(file.string(), "", "a folder", wanted_file);
    if (!fs::is_regular_file(status))
        throw InputError(file.string(), "", "something that is not a plain file", wanted_file);
}

/// Every SQLite file begins so (SQLite, Database File Format, 1.3.1).
void hold_to_database(const fs::path& file) {
    constexpr std::string_view magic("SQLite format 3\0", 16);
    std::array<char, 16> start{};
    std::ifstream in(file, std::ios::binary);
    in.read(start.data(), start.size());
    if (in.gcount() == 0 && in.eof()) throw InputError(file.string(), "", "an empty file", wanted_file);
    if (!in && !in.eof()) throw InputError(file.string(), "", "a file that cannot be read", wanted_file);
    if (std::string_view(start.data(), start.size()) != magic)
        throw InputError(file.string(), "", "a file of another kind", wanted_file);
    constexpr std::uintmax_t smallest_page = 512; // there is one at the least
    std::error_code failed;
    if (fs::file_size(file, failed) < smallest_page)
        throw InputError(file.string(), "", "a damaged job file (cut off)",
                         "a whole one; an earlier copy or a backup may still be");
}

/// What was written into a folder is there after a power cut too. Best effort: not every file system can.
void sync_folder_of(const fs::path& file) {
    const fs::path folder = fs::absolute(file).parent_path();
    if (const int handle = ::open(folder.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC); handle >= 0) {
        ::fsync(handle);
        ::close(handle);
    }
}

/// Gives a finished file its name unless that is taken. A link cannot overwrite, a rename would; where the
/// file system has no links (memory sticks) a look beforehand has to do. @return false where it is taken
bool put_in_place(const fs::path& fresh, const fs::path& target) {
    std::error_code failed;
    fs::create_hard_link(fresh, target, failed);
    if (!failed) {
        fs::remove(fresh, failed);
    } else {
        if (failed == std::errc::file_exists || fs::exists(fs::symlink_status(target))) return false;
        fs::rename(fresh, target, failed);
        if (failed) throw InputError(target.string(), "", failed.message(), "a folder that can be written");
    }
    sync_folder_of(target);
    return true;
}

/// A name for a file in the making, beside the target, and the file gone again if it was not put in place.
class FreshFile {
public:
    explicit FreshFile(const fs::path& target) {
        std::error_code failed;
        const fs::path folder = target.has_parent_path() ? target.parent_path() : fs::path(".");
        if (!fs::is_directory(folder, failed))
            throw InputError(folder.string(), "", "no such folder", "a folder that is there");
        path_ = folder / fmt::format(".{}.new-{}", target.filename().string(), ::getpid());
        fs::remove(path_, failed); // of a process of that number that was killed
    }
    ~FreshFile() {
        std::error_code ignored;
        fs::remove(path_, ignored);
        fs::remove(path_.string() + "-journal", ignored);
    }
    FreshFile(const FreshFile&) = delete;
    FreshFile& operator=(const FreshFile&) = delete;
    const fs::path& path() const { return path_; }

private:
    fs::path path_;
};

/// "bus.v1-backup.sparecoat" beside "bus.sparecoat"; with a number where that is taken.
fs::path backup_name(const fs::path& file, std::int64_t version, int attempt) {
    const std::string number = attempt == 1 ? "" : fmt::format("-{}", attempt);
    return file.parent_path() /
           fmt::format("{}.v{}-backup{}{}", file.stem().string(), version, number, file.extension().string());
}

fs::path copy_aside(const fs::path& file, std::int64_t version) {
    const FreshFile fresh(file);
    {
        // A connection of its own, which reads beside the one that holds the right to write.
        const Database source(file, Database::Mode::read),
            copy(fresh.path(), Database::Mode::create, file.string());
        copy.copy_from(source);
    }
    for (int attempt = 1;; ++attempt)
        if (const fs::path target = backup_name(file, version, attempt); put_in_place(fresh.path(), target))
            return target;
}

// ---- opening --------------------------------------------------------------------------------------

std::string version_text(std::int64_t version) { return fmt::format("a job file of version {}", version); }

std::int64_t known_version(const Database& database) {
    if (database.whole("PRAGMA application_id") != job_application_id)
        throw InputError(database.file(), "", "a database of another program", wanted_file);
    const std::int64_t version = database.whole("PRAGMA user_version");
    if (version > job_schema_version)
        throw InputError(database.file(), "", version_text(version) + ", made by a newer Sparecoat",
                         fmt::format("versions 1 to {}; a newer Sparecoat opens it, and nothing was changed",
                                     job_schema_version));
    if (version < 1)
        throw InputError(database.file(), "", version_text(version),
                         fmt::format("versions 1 to {}", job_schema_version));
    return version;
}

void hold_to_sound_structure(const Database& database) {
    if (const std::string found = database.text("PRAGMA quick_check(1)"); found != "ok")
        throw InputError(database.file(), "", fmt::format("a damaged job file ({})", found),
                         "a whole one; an earlier copy or a backup beside it may still be");
}

/// A rollback journal, for a job is one file that people copy and send: in WAL mode the last edits lie in a
/// second one (SQLite, Write-Ahead Logging, 1 and 4). EXTRA also syncs the folder once the journal is gone,
/// so that an edit which was reported as kept is still there after a power cut (SQLite, PRAGMA synchronous).
void choose_journal(const Database& database) {
    if (database.text("PRAGMA journal_mode = DELETE") != "delete")
        throw InputError(database.file(), "",
                         "a job that another program has open in a mode that is not ours",
                         "a job that only Sparecoat has open");
    database.execute("PRAGMA synchronous = EXTRA");
}

// ---- statements for any row -----------------------------------------------------------------------

template <class Row> std::vector<std::string> columns_of() {
    std::vector<std::string> names;
    const Row row;
    Row::columns(row, [&](const char* name, const auto&) { names.emplace_back(name); });
    return names;
}

template <class Row> const std::string& select_sql() {
    static const std::string sql =
        fmt::format("SELECT id, {} FROM {}", fmt::join(columns_of<Row>(), ", "), Row::table);
    return sql;
}

template <class Row> Row read_row(const Statement& statement) {
    Row row;
    statement.read(0, row.id);
    int column = 1;
    Row::columns(row, [&](const char*, auto& value) { statement.read(column++, value); });
    return row;
}

template <class Row> Id insert_row(const Database& database, const Row& row) {
    const std::vector<std::string> names = columns_of<Row>();
    Statement insert(database,
                     fmt::format("INSERT INTO {} ({}) VALUES ({})", Row::table, fmt::join(names, ", "),
                                 fmt::join(std::vector<const char*>(names.size(), "?"), ", ")));
    int parameter = 0;
    Row::columns(row, [&](const char*, const auto& value) { insert.bind(parameter++, value); });
    insert.run();
    return database.last_row();
}

template <class Row> constexpr const char* order = "id";
template <> constexpr const char* order<JobPanel> = "place, id";
template <> constexpr const char* order<Visit> = "date, id";

/// How a table's rows are put back as the log has them.
struct Restoring {
    std::string add, change, remove;
};

const Restoring& restoring(const Database& database, const std::string& table) {
    static const std::map<std::string, Restoring> all = [] {
        std::map<std::string, Restoring> made;
        each_table([&]<class Row>(const Row&) {
            const std::string columns = fmt::format("{}", fmt::join(columns_of<Row>(), ", "));
            const auto logged = [&](const std::string& what) {
                return fmt::format("SELECT {} FROM {}_log WHERE change = ?1 AND side = ?2", what, Row::table);
            };
            made[Row::table] = {
                fmt::format("INSERT INTO {} (id, {}) {}", Row::table, columns, logged("id, " + columns)),
                fmt::format("UPDATE {} SET ({}) = ({}) WHERE id = ?3", Row::table, columns, logged(columns)),
                fmt::format("DELETE FROM {} WHERE id = ?1", Row::table),
            };
        });
        return made;
    }();
    const auto found = all.find(table);
    if (found == all.end())
        throw InputError(database.file(), "", "a history of edits that speaks of a table \"" + table + "\"",
                         "an unbroken one");
    return found->second;
}

/// One row as it was before a change of the log (`back`), or as it was after.
void restore(const Database& database, Id change, const std::string& table, Id row, const std::string& what,
             bool back) {
    const Restoring& sql = restoring(database, table);
    const bool remove = what == (back ? "added" : "removed");
    Statement statement(database, remove ? sql.remove : what == "changed" ? sql.change : sql.add);
    if (remove) {
        statement.bind(0, row);
    } else {
        statement.bind(0, change);
        statement.bind(1, back ? "was" : "is");
        if (what == "changed") statement.bind(2, row);
    }
    statement.run();
    // A row whose parent was removed again is gone already.
    if (database.changed_rows() != 1 && !(remove && !back))
        throw InputError(database.file(), "", "a history of edits that does not fit what the file holds",
                         "an unbroken one");
}

} // namespace

// ---- making and opening ---------------------------------------------------------------------------

JobFile::JobFile(fs::path path, std::unique_ptr<Database> database)
    : path_(std::move(path)), database_(std::move(database)) {
    changed_elsewhere();
}
JobFile::JobFile(JobFile&&) noexcept = default;
JobFile& JobFile::operator=(JobFile&&) noexcept = default;
JobFile::~JobFile() = default;

JobFile JobFile::create(const fs::path& file, const Vehicle& vehicle,
                        const std::function<void(JobFile&)>& fill) {
    const FreshFile fresh(file);
    {
        JobFile job(file, std::make_unique<Database>(fresh.path(), Database::Mode::create, file.string()));
        choose_journal(*job.database_);
        WriteTransaction whole(*job.database_);
        create_schema(*job.database_);
        insert_row(*job.database_, vehicle); // its id is 1 like any first row's
        job.editing_ = true;                 // though no edit is on the log: there is nothing to go back to
        if (fill) fill(job);
        whole.commit();
    }
    if (!put_in_place(fresh.path(), file))
        throw InputError(file.string(), "", "a file of that name",
                         "a name that is not taken: nothing is overwritten");
    return open(file);
}

JobFile JobFile::open(const fs::path& file, Access access) {
    hold_to_plain_file(file);
    hold_to_database(file);
    auto database = std::make_unique<Database>(file, access == Access::read ? Database::Mode::read
                                                                            : Database::Mode::write);
    const std::int64_t version = known_version(*database);
    // Before anything runs that a file from elsewhere could have made its own: triggers, rules, views.
    if (version == job_schema_version) hold_to_own_tables(*database);
    hold_to_sound_structure(*database);
    if (!database->read_only()) choose_journal(*database);
    std::optional<fs::path> backup;
    if (version < job_schema_version) {
        if (database->read_only())
            throw InputError(
                file.string(), "", version_text(version) + " that is not to be written",
                fmt::format(
                    "version {}; open it once where it can be written, and it is brought up to date, with "
                    "a copy of it kept",
                    job_schema_version));
        database->execute("PRAGMA foreign_keys = OFF"); // has no effect within a transaction
        WriteTransaction whole(*database);
        // Another program may have been quicker.
        if (const std::int64_t now = known_version(*database); now < job_schema_version) {
            backup = copy_aside(file, now);
            migrate_schema(*database, static_cast<int>(now));
        }
        whole.commit();
        database->execute("PRAGMA foreign_keys = ON");
    }
    JobFile job(file, std::move(database));
    job.backup_ = std::move(backup);
    return job;
}

bool JobFile::read_only() const { return database_->read_only(); }

// ---- reading --------------------------------------------------------------------------------------

void JobFile::at_one_moment(const std::function<void()>& body) const {
    if (database_->in_transaction()) return body();
    database_->execute("BEGIN");
    try {
        body();
    } catch (...) {
        database_->execute("ROLLBACK");
        throw;
    }
    database_->execute("COMMIT");
}

template <class Row> std::vector<Row> JobFile::all() const {
    Statement select(*database_, fmt::format("{} ORDER BY {}", select_sql<Row>(), order<Row>));
    std::vector<Row> rows;
    while (select.step()) rows.push_back(read_row<Row>(select));
    return rows;
}

template <class Row> std::optional<Row> JobFile::find(Id id) const {
    Statement select(*database_, select_sql<Row>() + " WHERE id = ?");
    select.bind(0, id);
    if (!select.step()) return std::nullopt;
    return read_row<Row>(select);
}

template <class Row> Row JobFile::get(Id id) const {
    if (const auto row = find<Row>(id)) return *row;
    throw InputError(path_.string(), "", fmt::format("no {} {}", Row::table, id), "one that is still there");
}

std::optional<JobPanel> JobFile::panel_named(const std::string& name) const {
    Statement select(*database_, select_sql<JobPanel>() + " WHERE name = ?");
    select.bind(0, name);
    if (!select.step()) return std::nullopt;
    return read_row<JobPanel>(select);
}

std::optional<PanelVisit> JobFile::panel_visit(Id visit, Id panel) const {
    Statement select(*database_, select_sql<PanelVisit>() + " WHERE visit = ? AND panel = ?");
    select.bind(0, visit);
    select.bind(1, panel);
    if (!select.step()) return std::nullopt;
    return read_row<PanelVisit>(select);
}

std::optional<Visit> JobFile::last_visit() const {
    Statement select(*database_, select_sql<Visit>() + " ORDER BY date DESC, id DESC LIMIT 1");
    if (!select.step()) return std::nullopt;
    return read_row<Visit>(select);
}

std::int64_t JobFile::revision() const { return database_->whole("SELECT revision FROM state"); }

bool JobFile::changed_elsewhere() {
    // Changes when another connection has committed, and not when this one has (SQLite, PRAGMA data_version).
    const std::int64_t version = database_->whole("PRAGMA data_version");
    return std::exchange(seen_version_, version) != version;
}

// ---- editing --------------------------------------------------------------------------------------

void JobFile::edit(const std::string& label, const std::function<void()>& body) {
    if (editing_) return body();
    if (read_only())
        throw InputError(path_.string(), "", "a job file that is not to be written",
                         "one that can be, such as a copy of it");
    WriteTransaction whole(*database_);
    database_->execute("DELETE FROM edit WHERE undone = 1");
    Statement begin(
        *database_,
        "INSERT INTO edit (label, made, undone) VALUES (?, strftime('%Y-%m-%dT%H:%M:%SZ', 'now'), 0)");
    begin.bind(0, label);
    begin.run();
    database_->execute("UPDATE state SET edit = (SELECT max(id) FROM edit)");

    struct Editing {
        bool& flag;
        explicit Editing(bool& f) : flag(f) { flag = true; }
        ~Editing() { flag = false; }
    } editing(editing_);
    body();

    // Where nothing was changed, nothing is kept either: redo stays possible.
    if (database_->whole("SELECT count(*) FROM change WHERE edit = (SELECT edit FROM state)") == 0) return;
    database_->execute("UPDATE state SET edit = NULL, revision = revision + 1");
    Statement forget(*database_,
                     "DELETE FROM edit WHERE id NOT IN (SELECT id FROM edit ORDER BY id DESC LIMIT ?)");
    forget.bind(0, undo_depth);
    forget.run();
    whole.commit();
}

void JobFile::demand_edit() const {
    if (!editing_)
        throw std::logic_error("a job is changed inside JobFile::edit alone, or it could not be undone");
}

template <class Row> Id JobFile::add(const Row& row) {
    demand_edit();
    return insert_row(*database_, row);
}

template <class Row> void JobFile::change(const Row& was, const Row& now) {
    demand_edit();
    if (was.id != now.id) throw std::logic_error("a row keeps its id");
    std::vector<const void*> old; // both rows' columns come in the same order
    Row::columns(was, [&](const char*, const auto& value) { old.push_back(&value); });
    using Bind = std::function<void(Statement&, int)>;
    std::vector<std::string> names;
    std::vector<Bind> are, were;
    std::size_t k = 0;
    Row::columns(now, [&]<class Value>(const char* name, const Value& value) {
        const Value& before = *static_cast<const Value*>(old[k++]);
        if (before == value) return;
        names.emplace_back(name);
        are.emplace_back([&value](Statement& s, int parameter) { s.bind(parameter, value); });
        were.emplace_back([&before](Statement& s, int parameter) { s.bind(parameter, before); });
    });
    if (names.empty()) return;
    Statement update(*database_, fmt::format("UPDATE {} SET {} = ? WHERE id = ? AND {} IS ?", Row::table,
                                             fmt::join(names, " = ?, "), fmt::join(names, " IS ? AND ")));
    int parameter = 0;
    for (const auto& bind : are) bind(update, parameter++);
    update.bind(parameter++, now.id);
    for (const auto& bind : were) bind(update, parameter++);
    update.run();
    if (database_->changed_rows() == 0)
        throw ChangedElsewhere(path_.string(), "",
                               fmt::format("a {} that was changed or removed meanwhile", Row::table),
                               "a change to what is there now; look at it again");
}

template <class Row> void JobFile::remove(Id id) {
    demand_edit();
    Statement gone(*database_, fmt::format("DELETE FROM {} WHERE id = ?", Row::table));
    gone.bind(0, id);
    gone.run();
    if (database_->changed_rows() == 0)
        throw ChangedElsewhere(path_.string(), "", fmt::format("no {} {} any more", Row::table, id),
                               "one that is still there");
}

PanelVisit JobFile::at_visit(Id visit, Id panel) {
    if (const auto there = panel_visit(visit, panel)) return *there;
    PanelVisit row;
    row.visit = visit, row.panel = panel;
    row.id = add(row);
    return row;
}

// ---- history --------------------------------------------------------------------------------------

namespace {

constexpr const char* select_edit = "SELECT id, label, made, undone FROM edit";

Edit read_edit(const Statement& statement) {
    return {statement.whole(0), statement.text(1), statement.text(2), statement.whole(3) != 0};
}

} // namespace

std::vector<Edit> JobFile::history() const {
    Statement select(*database_, fmt::format("{} ORDER BY id", select_edit));
    std::vector<Edit> edits;
    while (select.step()) edits.push_back(read_edit(select));
    return edits;
}

std::optional<Edit> JobFile::undo() { return turn_back_or_forth(true); }
std::optional<Edit> JobFile::redo() { return turn_back_or_forth(false); }

std::optional<Edit> JobFile::turn_back_or_forth(bool back) {
    if (editing_) throw std::logic_error("no undo within an edit");
    if (read_only())
        throw InputError(path_.string(), "", "a job file that is not to be written",
                         "one that can be, such as a copy of it");
    WriteTransaction whole(*database_);
    std::optional<Edit> edit;
    {
        Statement next(*database_, fmt::format("{} WHERE undone = {} ORDER BY id {} LIMIT 1", select_edit,
                                               back ? 0 : 1, back ? "DESC" : "ASC"));
        if (next.step()) edit = read_edit(next);
    }
    if (!edit) return std::nullopt;
    // What an edit put in order, parents and children, may come back in any.
    database_->execute("PRAGMA defer_foreign_keys = ON");
    struct Change {
        Id id, row;
        std::string table, what;
    };
    std::vector<Change> changes;
    Statement list(
        *database_,
        fmt::format("SELECT id, row_id, table_name, what FROM change WHERE edit = ? ORDER BY id {}",
                    back ? "DESC" : "ASC"));
    list.bind(0, edit->id);
    while (list.step()) changes.push_back({list.whole(0), list.whole(1), list.text(2), list.text(3)});
    for (const Change& c : changes) restore(*database_, c.id, c.table, c.row, c.what, back);
    edit->undone = back;
    Statement mark(*database_, "UPDATE edit SET undone = ? WHERE id = ?");
    mark.bind(0, back);
    mark.bind(1, edit->id);
    mark.run();
    database_->execute("UPDATE state SET revision = revision + 1");
    whole.commit();
    return edit;
}

std::vector<std::string> JobFile::check() const {
    std::vector<std::string> faults;
    at_one_moment([&] {
        Statement structure(*database_, "PRAGMA integrity_check");
        while (structure.step())
            if (structure.text(0) != "ok") faults.push_back(structure.text(0));
        Statement references(*database_, "PRAGMA foreign_key_check");
        while (references.step())
            faults.push_back(
                fmt::format("a {} refers to a {} that is not there", references.text(0), references.text(2)));
        if (database_->whole("SELECT count(*) FROM state WHERE edit IS NULL") != 1)
            faults.emplace_back("an edit that was begun and not ended");
        for (const Document& document : all<Document>())
            if (sha256(document.body) != document.hash)
                faults.push_back(fmt::format("the {} \"{}\" is not what it was when it came in",
                                             document.kind, document.reference));
    });
    return faults;
}

// ---- every row's own ------------------------------------------------------------------------------

#define SPARECOAT_ROW(Row)                                                                                   \
    template std::vector<Row> JobFile::all<Row>() const;                                                     \
    template std::optional<Row> JobFile::find<Row>(Id) const;                                                \
    template Row JobFile::get<Row>(Id) const;                                                                \
    template Id JobFile::add<Row>(const Row&);                                                               \
    template void JobFile::change<Row>(const Row&, const Row&);                                              \
    template void JobFile::remove<Row>(Id);
SPARECOAT_ROW(Document)
SPARECOAT_ROW(Vehicle)
SPARECOAT_ROW(Visit)
SPARECOAT_ROW(JobPanel)
SPARECOAT_ROW(PanelVisit)
SPARECOAT_ROW(FilmReading)
SPARECOAT_ROW(SquareRow)
SPARECOAT_ROW(TryRow)
SPARECOAT_ROW(Work)
SPARECOAT_ROW(RunRow)
SPARECOAT_ROW(Photo)
SPARECOAT_ROW(Note)
#undef SPARECOAT_ROW

} // namespace sparecoat::vehicle
