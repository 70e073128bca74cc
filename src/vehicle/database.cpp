#include "vehicle/database.hpp"
#include "units/error.hpp"
#include <fmt/format.h>
#include <sqlite3.h>

namespace sparecoat::vehicle {

// ---- statements -----------------------------------------------------------------------------------

Statement::Statement(const Database& database, const std::string& sql) : database_(database) {
    const int code =
        sqlite3_prepare_v2(database.handle_, sql.c_str(), static_cast<int>(sql.size()), &statement_, nullptr);
    if (code != SQLITE_OK) database.fail(code);
}

Statement::~Statement() { sqlite3_finalize(statement_); }

void Statement::bind(int parameter, std::int64_t value) {
    const int code = sqlite3_bind_int64(statement_, parameter + 1, value);
    if (code != SQLITE_OK) database_.fail(code);
}

void Statement::bind(int parameter, double value) {
    const int code = sqlite3_bind_double(statement_, parameter + 1, value);
    if (code != SQLITE_OK) database_.fail(code);
}

void Statement::bind(int parameter, std::string_view value) {
    // A null pointer would bind NULL, and an empty view may have one.
    const int code = sqlite3_bind_text64(statement_, parameter + 1, value.empty() ? "" : value.data(),
                                         value.size(), SQLITE_TRANSIENT, SQLITE_UTF8);
    if (code != SQLITE_OK) database_.fail(code);
}

void Statement::bind_null(int parameter) {
    const int code = sqlite3_bind_null(statement_, parameter + 1);
    if (code != SQLITE_OK) database_.fail(code);
}

bool Statement::step() {
    const int code = sqlite3_step(statement_);
    if (code == SQLITE_ROW) return true;
    if (code == SQLITE_DONE) return false;
    database_.fail(code);
}

void Statement::run() {
    while (step()) {}
    sqlite3_reset(statement_);
}

bool Statement::is_null(int column) const { return sqlite3_column_type(statement_, column) == SQLITE_NULL; }
std::int64_t Statement::whole(int column) const { return sqlite3_column_int64(statement_, column); }
double Statement::real(int column) const { return sqlite3_column_double(statement_, column); }

std::string Statement::text(int column) const {
    const auto* bytes = reinterpret_cast<const char*>(sqlite3_column_text(statement_, column));
    return bytes == nullptr
               ? std::string()
               : std::string(bytes, static_cast<std::size_t>(sqlite3_column_bytes(statement_, column)));
}

// ---- databases ------------------------------------------------------------------------------------

Database::Database(const std::filesystem::path& file, Mode mode, const std::string& shown, std::string what)
    : file_(shown.empty() ? file.string() : shown), what_(std::move(what)) {
    // An absolute path, for a name that begins with "file:" would be taken for an address.
    const std::string name = file.empty() ? ":memory:" : std::filesystem::absolute(file).string();
    int flags = mode == Mode::read ? SQLITE_OPEN_READONLY : SQLITE_OPEN_READWRITE;
    if (mode == Mode::create) flags |= SQLITE_OPEN_CREATE;
    const int code = sqlite3_open_v2(name.c_str(), &handle_, flags | SQLITE_OPEN_EXRESCODE, nullptr);
    try {
        if (code != SQLITE_OK) fail(code);
        sqlite3_busy_timeout(handle_, patience_ms);
        sqlite3_db_config(handle_, SQLITE_DBCONFIG_DEFENSIVE, 1, nullptr);
        execute("PRAGMA cell_size_check = ON; PRAGMA foreign_keys = ON;");
    } catch (...) {
        sqlite3_close_v2(handle_);
        throw;
    }
}

Database::~Database() { sqlite3_close_v2(handle_); }

bool Database::read_only() const { return sqlite3_db_readonly(handle_, "main") == 1; }
bool Database::in_transaction() const { return sqlite3_get_autocommit(handle_) == 0; }

void Database::execute(const std::string& sql) const {
    const int code = sqlite3_exec(handle_, sql.c_str(), nullptr, nullptr, nullptr);
    if (code != SQLITE_OK) fail(code);
}

std::int64_t Database::whole(const std::string& sql) const {
    Statement statement(*this, sql);
    return statement.step() ? statement.whole(0) : 0;
}

std::string Database::text(const std::string& sql) const {
    Statement statement(*this, sql);
    return statement.step() ? statement.text(0) : std::string();
}

std::int64_t Database::last_row() const { return sqlite3_last_insert_rowid(handle_); }
std::int64_t Database::changed_rows() const { return sqlite3_changes64(handle_); }

void Database::copy_from(const Database& source) const {
    sqlite3_backup* copy = sqlite3_backup_init(handle_, "main", source.handle_, "main");
    if (copy == nullptr) fail(sqlite3_extended_errcode(handle_));
    const int stepped = sqlite3_backup_step(copy, -1);
    const int code = sqlite3_backup_finish(copy);
    if (stepped != SQLITE_DONE) fail(stepped);
    if (code != SQLITE_OK) fail(code);
}

namespace {

/// What follows the colon of "CHECK constraint failed: film of 5 to 2000 µm"; the constraints are named so
/// that it says what is allowed.
std::string after_colon(const std::string& message) {
    const auto colon = message.find(": ");
    return colon == std::string::npos ? message : message.substr(colon + 2);
}

InputError broken_constraint(const std::string& file, int code, const std::string& message) {
    switch (code) {
    case SQLITE_CONSTRAINT_UNIQUE:
    case SQLITE_CONSTRAINT_PRIMARYKEY:
        return {file, "", "a second entry of the same " + after_colon(message), "each once"};
    case SQLITE_CONSTRAINT_CHECK: return {file, "", "a value that does not hold", after_colon(message)};
    case SQLITE_CONSTRAINT_NOTNULL: return {file, "", "nothing for " + after_colon(message), "a value"};
    case SQLITE_CONSTRAINT_FOREIGNKEY:
        return {file, "", "a reference between entries that leads nowhere",
                "what it refers to first, and last to go"};
    default: return {file, "", "a value that does not fit (" + message + ")", "what docs/job-file.md lists"};
    }
}

} // namespace

void Database::fail(int code) const {
    const std::string message = handle_ == nullptr ? sqlite3_errstr(code) : sqlite3_errmsg(handle_);
    switch (code & 0xFF) {
    case SQLITE_CONSTRAINT: throw broken_constraint(file_, code, message);
    case SQLITE_CORRUPT:
    case SQLITE_NOTADB:
        throw InputError(file_, "", fmt::format("a damaged {} ({})", what_, message),
                         "a whole one; an earlier copy or a backup beside it may still be");
    case SQLITE_BUSY:
    case SQLITE_LOCKED:
        throw InputError(file_, "", fmt::format("a {} that another program keeps writing to", what_),
                         "one writer at a time; try again");
    case SQLITE_READONLY:
        throw InputError(file_, "", fmt::format("a {} that cannot be written ({})", what_, message),
                         "a file and folder that can be written");
    case SQLITE_FULL:
        throw InputError(file_, "", "no room left on the disk",
                         "room for the change; nothing of it was kept");
    case SQLITE_CANTOPEN:
    case SQLITE_IOERR:
    case SQLITE_PERM:
    case SQLITE_AUTH:
        throw InputError(file_, "", fmt::format("a file that cannot be read or written ({})", message),
                         fmt::format("a readable {} in a folder that can be written", what_));
    default: throw std::logic_error(fmt::format("{}: {} ({})", file_, message, code));
    }
}

// ---- transactions ---------------------------------------------------------------------------------

WriteTransaction::WriteTransaction(const Database& database) : database_(database) {
    database_.execute("BEGIN IMMEDIATE");
}

WriteTransaction::~WriteTransaction() {
    if (!open_ || !database_.in_transaction()) return; // some failures have rolled it back themselves
    try {
        database_.execute("ROLLBACK");
    } catch (const std::exception&) { // the file is then rolled back by whoever opens it next
    }
}

void WriteTransaction::commit() {
    database_.execute("COMMIT");
    open_ = false;
}

} // namespace sparecoat::vehicle
