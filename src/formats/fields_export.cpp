#include "formats/fields_export.hpp"
#include "formats/markup.hpp"
#include "units/error.hpp"
#include <algorithm>
#include <bit>
#include <cerrno>
#include <cmath>
#include <cstring>
#include <fmt/format.h>
#include <fstream>
#include <limits>
#include <stdexcept>
#include <system_error>

namespace sparecoat::formats {
namespace {

/// A file being written; every failure, also a disk that fills up at the last byte, becomes an InputError.
class BinaryFile {
public:
    explicit BinaryFile(const std::filesystem::path& path) : path_(path) {
        errno = 0;
        out_.open(path, std::ios::binary | std::ios::trunc);
        check();
    }

    void text(std::string_view bytes) {
        out_.write(bytes.data(), static_cast<std::streamsize>(bytes.size()));
    }

    void bytes(std::span<const std::uint8_t> values) {
        out_.write(reinterpret_cast<const char*>(values.data()), static_cast<std::streamsize>(values.size()));
    }

    void number(std::uint64_t value) { little_endian(value); }

    void number(float value) { little_endian(std::bit_cast<std::uint32_t>(value)); }

    void close() {
        out_.close();
        check();
    }

private:
    template <typename Unsigned> void little_endian(Unsigned value) {
        char raw[sizeof value];
        for (std::size_t n = 0; n < sizeof value; ++n) raw[n] = static_cast<char>((value >> (8 * n)) & 0xff);
        out_.write(raw, sizeof raw);
    }

    void check() {
        if (!out_)
            throw InputError(path_.string(), "", std::generic_category().message(errno ? errno : EIO),
                             "a file that can be written");
    }

    std::filesystem::path path_;
    std::ofstream out_;
};

void demand_one_a_cell(const Grid& grid, std::size_t count) {
    if (count != grid.cells())
        throw std::invalid_argument(fmt::format("{} values for a grid of {} x {}", count, grid.nu, grid.nv));
}

std::string npy_header(const Grid& grid, std::string_view type) {
    const std::string keys =
        fmt::format("{{'descr': '{}', 'fortran_order': False, 'shape': ({}, {}), }}", type, grid.nv, grid.nu);
    // Magic, version and length take 10 bytes; spaces and a newline bring the data to a multiple of 64.
    const std::size_t length = (10 + keys.size() + 1 + 63) / 64 * 64 - 10;
    std::string header = "\x93NUMPY";
    header += {'\1', '\0', static_cast<char>(length & 0xff), static_cast<char>(length >> 8)};
    return header + keys + std::string(length - keys.size() - 1, ' ') + '\n';
}

void demand_fields(const Grid& grid, const std::vector<NamedField>& fields) {
    if (fields.empty()) throw std::invalid_argument("write_vti: no fields");
    for (auto field = fields.begin(); field != fields.end(); ++field) {
        demand_one_a_cell(grid, field->values.size());
        const auto same_name = [&](const NamedField& other) { return other.name == field->name; };
        if (field->name.empty() || std::any_of(fields.begin(), field, same_name))
            throw std::invalid_argument("write_vti: field name empty or used twice: " + field->name);
    }
}

std::string vti_head(const Grid& grid, const std::vector<NamedField>& fields) {
    const std::string extent = fmt::format("0 {} 0 {} 0 0", grid.nu, grid.nv);
    // Points are cell corners, so the first one is half a cell before the centre of cell (0, 0).
    std::string xml = fmt::format(
        "<?xml version=\"1.0\"?>\n"
        "<VTKFile type=\"ImageData\" version=\"1.0\" byte_order=\"LittleEndian\" header_type=\"UInt64\">\n"
        "  <ImageData WholeExtent=\"{0}\" Origin=\"{1} {2} 0\" Spacing=\"{3} {3} {3}\">\n"
        "    <Piece Extent=\"{0}\">\n"
        "      <CellData Scalars=\"{4}\">\n",
        extent, grid.x0_m - grid.h_m / 2, grid.y0_m - grid.h_m / 2, grid.h_m,
        escaped(fields.front().name, "&<\""));
    const std::uint64_t block = sizeof(std::uint64_t) + grid.cells() * sizeof(float);
    for (std::size_t n = 0; n < fields.size(); ++n)
        xml += fmt::format(
            "        <DataArray type=\"Float32\" Name=\"{}\" format=\"appended\" offset=\"{}\"/>\n",
            escaped(fields[n].name, "&<\""), n * block);
    return xml + "      </CellData>\n    </Piece>\n  </ImageData>\n  <AppendedData encoding=\"raw\">\n_";
}

} // namespace

void write_npy(const std::filesystem::path& npy, const Grid& grid, std::span<const float> values) {
    demand_one_a_cell(grid, values.size());
    BinaryFile file(npy);
    file.text(npy_header(grid, "<f4"));
    for (const float value : values) file.number(value);
    file.close();
}

void write_npy(const std::filesystem::path& npy, const Grid& grid, std::span<const std::uint8_t> values) {
    demand_one_a_cell(grid, values.size());
    BinaryFile file(npy);
    file.text(npy_header(grid, "|u1"));
    file.bytes(values);
    file.close();
}

void write_vti(const std::filesystem::path& vti, const Grid& grid, std::span<const std::uint8_t> inside,
               const std::vector<NamedField>& fields) {
    demand_one_a_cell(grid, inside.size());
    demand_fields(grid, fields);
    BinaryFile file(vti);
    file.text(vti_head(grid, fields));
    for (const NamedField& field : fields) {
        file.number(static_cast<std::uint64_t>(grid.cells() * sizeof(float)));
        for (std::size_t k = 0; k < grid.cells(); ++k)
            file.number(inside[k] ? field.values[k] : std::numeric_limits<float>::quiet_NaN());
    }
    file.text("\n  </AppendedData>\n</VTKFile>\n");
    file.close();
}

} // namespace sparecoat::formats
