#pragma once
#include "rooms.hpp"
#include <cstdint>
#include <filesystem>
#include <optional>
#include <string>
#include <string_view>

struct sqlite3;
struct sqlite3_stmt;

namespace sparecoat::vehicle {

// SQLite's C interface behind a few words. SQL is always this program's own text; what comes from people or
// files is bound. Every failure is an InputError that names the database's file, worded for a person.

class Database;

/// A prepared statement. Parameters and columns count from 0.
class Statement {
public:
    Statement(const Database& database, const std::string& sql);
    ~Statement();
    Statement(const Statement&) = delete;
    Statement& operator=(const Statement&) = delete;

    void bind(int parameter, std::int64_t value);
    void bind(int parameter, int value) { bind(parameter, static_cast<std::int64_t>(value)); }
    void bind(int parameter, bool value) { bind(parameter, std::int64_t{value}); }
    void bind(int parameter, double value);
    void bind(int parameter, std::string_view value);
    void bind(int parameter, const std::string& value) { bind(parameter, std::string_view(value)); }
    void bind(int parameter, const char* value) { bind(parameter, std::string_view(value)); }
    void bind_null(int parameter);
    template <class T> void bind(int parameter, const std::optional<T>& value) {
        if (value) bind(parameter, *value);
        else bind_null(parameter);
    }

    /// Goes on to the next row. @return false when there is none
    bool step();
    /// Runs to the end and is ready to run again.
    void run();

    bool is_null(int column) const;
    std::int64_t whole(int column) const;
    double real(int column) const;
    std::string text(int column) const;

    void read(int column, std::int64_t& value) const { value = whole(column); }
    void read(int column, int& value) const { value = static_cast<int>(whole(column)); }
    void read(int column, bool& value) const { value = whole(column) != 0; }
    void read(int column, double& value) const { value = real(column); }
    void read(int column, std::string& value) const { value = text(column); }
    template <class T> void read(int column, std::optional<T>& value) const {
        if (is_null(column)) value.reset();
        else read(column, value.emplace());
    }

private:
    const Database& database_;
    sqlite3_stmt* statement_ = nullptr;
};

class Database {
public:
    enum class Mode { read, write, create };

    /// Opens a file, or one in memory where `file` is empty. @param shown the name for messages; else the
    /// file's.
    /// @param what it is, for messages.
    Database(const std::filesystem::path& file, Mode mode, const std::string& shown = {},
             std::string what = "job file");
    ~Database();
    Database(const Database&) = delete;
    Database& operator=(const Database&) = delete;

    const std::string& file() const { return file_; }
    bool read_only() const;
    bool in_transaction() const;

    /// Runs statements without parameters: text of this program alone.
    void execute(const std::string& sql) const;
    /// The first column of a statement's first row.
    std::int64_t whole(const std::string& sql) const;
    std::string text(const std::string& sql) const;
    std::int64_t last_row() const;
    std::int64_t changed_rows() const; ///< by the last statement, without what it brought in its train

    /// Copies another database, as it was last committed, over this one.
    void copy_from(const Database& source) const;

    /// @throws InputError that says what SQLite's result code means for a person.
    [[noreturn]] void fail(int code) const;

private:
    friend class Statement;
    std::string file_, what_;
    sqlite3* handle_ = nullptr;
};

/// What is written between its making and commit() is written as a whole or not at all. It waits its turn:
/// while another connection writes it stands in line, and what it then reads is what that one left.
class WriteTransaction {
public:
    explicit WriteTransaction(const Database& database);
    ~WriteTransaction();
    WriteTransaction(const WriteTransaction&) = delete;
    WriteTransaction& operator=(const WriteTransaction&) = delete;
    void commit();

private:
    const Database& database_;
    bool open_ = true;
};

/// How long a program waits for another that is writing to the same job before it gives up.
inline constexpr int patience_ms = 10'000;

} // namespace sparecoat::vehicle
