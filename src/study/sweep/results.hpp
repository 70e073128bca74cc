#pragma once
#include "study/sweep/row.hpp"
#include "vehicle/database.hpp"
#include <cstddef>
#include <filesystem>
#include <optional>
#include <span>
#include <string>

namespace sparecoat::study {

/// A run's row with its key.
struct KeyedRow {
    std::string key;
    SweepRow row;
};

/// Rows by their runs' keys in an SQLite file, of any number of sweeps. What has been put in is there
/// whatever ends the program next: every batch is one transaction. One thread at a time.
class SweepResults {
public:
    enum class Mode { read, write, create };
    /// @throws InputError: no such file (but for create), not a file of this kind, of a later version of it.
    SweepResults(const std::filesystem::path& file, Mode mode);

    std::size_t rows() const;
    std::optional<SweepRow> row(const std::string& key) const;
    /// In one transaction. Rows that are there already stay as they are. @return how many were new
    /// @throws InputError where one of them says something else than the row that is there.
    std::size_t put(std::span<const KeyedRow> rows);
    /// All rows of another file. @return, @throws as put()
    std::size_t merge(const SweepResults& other);

private:
    std::size_t put_all(std::span<const KeyedRow> rows);

    Database database_;
};

} // namespace sparecoat::study
