#include "study/sweep/results.hpp"
#include "units/error.hpp"
#include <cmath>
#include <fmt/format.h>
#include <vector>

namespace sparecoat::study {

namespace fs = std::filesystem;

namespace {

constexpr std::int64_t application = 0x53505357; // "SPSW", for SQLite's application_id
constexpr std::int64_t version = 1;
constexpr const char* what = "results file";

std::string output_columns(const char* after) {
    std::string text;
    for (const SweepOutput& output : sweep_outputs) text += fmt::format(", {}{}", output.name, after);
    return text;
}

Database open(const fs::path& file, SweepResults::Mode mode) {
    using Mode = SweepResults::Mode;
    if (mode != Mode::create && !fs::is_regular_file(file))
        throw InputError(file.string(), "", "no such file",
                         "a results file, which \"sparecoat sweep run\" makes");
    const auto wanted = mode == Mode::read    ? Database::Mode::read
                        : mode == Mode::write ? Database::Mode::write
                                              : Database::Mode::create;
    return {file, wanted, "", what};
}

void make_tables(const Database& database) {
    WriteTransaction transaction(database);
    // Another process may have been quicker.
    if (database.whole("PRAGMA application_id") == application) return transaction.commit();
    database.execute(
        "CREATE TABLE result (key TEXT PRIMARY KEY NOT NULL CHECK (length(key) = 64), error TEXT NOT NULL" +
        output_columns(" REAL") + ") STRICT, WITHOUT ROWID");
    database.execute(
        fmt::format("PRAGMA application_id = {}; PRAGMA user_version = {}", application, version));
    transaction.commit();
}

void bind(Statement& statement, const KeyedRow& entry) {
    statement.bind(0, entry.key);
    statement.bind(1, entry.row.error);
    for (std::size_t k = 0; k < sweep_output_count; ++k) {
        const double value = entry.row.values[k];
        if (std::isnan(value)) statement.bind_null(static_cast<int>(k) + 2);
        else statement.bind(static_cast<int>(k) + 2, value);
    }
}

KeyedRow read(const Statement& statement) {
    KeyedRow out{statement.text(0), failed_row(statement.text(1))};
    for (std::size_t k = 0; k < sweep_output_count; ++k)
        if (const int column = static_cast<int>(k) + 2; !statement.is_null(column))
            out.row.values[k] = statement.real(column);
    return out;
}

bool same(const SweepRow& a, const SweepRow& b) {
    for (std::size_t k = 0; k < sweep_output_count; ++k)
        if (a.values[k] != b.values[k] && !(std::isnan(a.values[k]) && std::isnan(b.values[k]))) return false;
    return a.error == b.error;
}

const std::string select = "SELECT key, error" + output_columns("") + " FROM result";

} // namespace

SweepResults::SweepResults(const fs::path& file, Mode mode) : database_(open(file, mode)) {
    if (mode == Mode::create && database_.whole("SELECT count(*) FROM sqlite_schema") == 0)
        make_tables(database_);
    if (database_.whole("PRAGMA application_id") != application)
        throw InputError(file.string(), "", "another kind of database",
                         "a results file, which \"sparecoat sweep run\" makes");
    if (const std::int64_t found = database_.whole("PRAGMA user_version"); found != version)
        throw InputError(file.string(), "", fmt::format("version {} of its format", found),
                         fmt::format("version {}", version));
}

std::size_t SweepResults::rows() const {
    return static_cast<std::size_t>(database_.whole("SELECT count(*) FROM result"));
}

std::optional<SweepRow> SweepResults::row(const std::string& key) const {
    Statement statement(database_, select + " WHERE key = ?");
    statement.bind(0, key);
    if (!statement.step()) return std::nullopt;
    return read(statement).row;
}

std::size_t SweepResults::put_all(std::span<const KeyedRow> rows) {
    std::string places = "?, ?";
    for (std::size_t k = 0; k < sweep_output_count; ++k) places += ", ?";
    Statement insert(database_, "INSERT INTO result (key, error" + output_columns("") + ") VALUES (" +
                                    places + ") ON CONFLICT DO NOTHING");
    std::size_t fresh = 0;
    for (const KeyedRow& entry : rows) {
        bind(insert, entry);
        insert.run();
        if (database_.changed_rows() > 0) {
            ++fresh;
        } else if (!same(entry.row, row(entry.key).value())) {
            throw InputError(database_.file(), entry.key, "another outcome of the same run",
                             "one: two programs or computers do not agree; keep their results apart");
        }
    }
    return fresh;
}

std::size_t SweepResults::put(std::span<const KeyedRow> rows) {
    if (rows.empty()) return 0;
    WriteTransaction transaction(database_);
    const std::size_t fresh = put_all(rows);
    transaction.commit();
    return fresh;
}

std::size_t SweepResults::merge(const SweepResults& other) {
    WriteTransaction transaction(database_);
    Statement all(other.database_, select + " ORDER BY key");
    constexpr std::size_t batch = 1000;
    std::vector<KeyedRow> rows;
    std::size_t fresh = 0;
    for (bool more = true; more;) {
        more = all.step();
        if (more) rows.push_back(read(all));
        if (rows.size() < batch && more) continue;
        fresh += put_all(rows);
        rows.clear();
    }
    transaction.commit();
    return fresh;
}

} // namespace sparecoat::study
