#include "formats/whole_file.hpp"
#include "units/error.hpp"
#include <fmt/format.h>
#include <fstream>
#include <system_error>
#include <unistd.h>

namespace sparecoat::formats {

namespace fs = std::filesystem;

void write_whole(const fs::path& file, std::string_view bytes) {
    const fs::path fresh =
        file.parent_path() / fmt::format(".{}.partial-{}", file.filename().string(), ::getpid());
    std::ofstream out(fresh, std::ios::binary);
    out.write(bytes.data(), static_cast<std::streamsize>(bytes.size()));
    out.close();
    std::error_code failed = out ? std::error_code() : std::make_error_code(std::errc::io_error);
    if (!failed) fs::rename(fresh, file, failed);
    if (!failed) return;
    std::error_code ignored;
    fs::remove(fresh, ignored);
    throw InputError(file.string(), "", failed.message(), "a file that can be written");
}

} // namespace sparecoat::formats
