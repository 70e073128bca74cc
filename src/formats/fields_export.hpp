#pragma once
#include "panel/panel.hpp"
#include <cstdint>
#include <filesystem>
#include <span>
#include <string>
#include <vector>

namespace sparecoat::formats {

/// A field with the name it gets in a file; the name ends in its unit ("film_lost_um").
struct NamedField {
    std::string name;
    std::span<const float> values; ///< grid.cells() long, u fastest
};

/// Writes a NumPy array file, format 1.0: shape (nv, nu), little-endian, C order, values as they are
/// (outside cells too; the mask goes into a file of its own with the second form).
/// Format: NEP 1, "A simple file format for NumPy arrays".
/// @throws std::invalid_argument where the length is not grid.cells(), InputError where the file cannot be
/// written.
void write_npy(const std::filesystem::path& npy, const Grid& grid, std::span<const float> values);
void write_npy(const std::filesystem::path& npy, const Grid& grid, std::span<const std::uint8_t> values);

/// Writes VTK XML image data (.vti) with the fields as cell data: one sheet of nu x nv square cells,
/// origin and spacing in m, arrays appended as raw little-endian float32. Outside cells are NaN.
/// Format: VTK File Formats, "XML File Formats", ImageData and AppendedData with header_type UInt64.
/// @param fields at least one, names unlike each other. @param inside 1 where a cell is painted panel.
/// @throws std::invalid_argument where lengths or names are wrong, InputError where the file cannot be
/// written.
void write_vti(const std::filesystem::path& vti, const Grid& grid, std::span<const std::uint8_t> inside,
               const std::vector<NamedField>& fields);

} // namespace sparecoat::formats
