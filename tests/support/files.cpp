#include "support/files.hpp"
#include <catch2/catch.hpp>
#include <fmt/format.h>
#include <fstream>
#include <iterator>
#include <unistd.h>

namespace sparecoat::test {

std::string bytes_of(const std::filesystem::path& file) {
    std::ifstream in(file, std::ios::binary);
    INFO(file);
    REQUIRE(in);
    return {std::istreambuf_iterator<char>(in), {}};
}

void write_text(const std::filesystem::path& file, const std::string& text) {
    if (file.has_parent_path()) std::filesystem::create_directories(file.parent_path());
    std::ofstream out(file, std::ios::binary);
    out << text;
    out.close();
    INFO(file);
    REQUIRE(out);
}

ScratchFolder::ScratchFolder() {
    static int count = 0;
    path = std::filesystem::temp_directory_path() / fmt::format("sparecoat-test-{}-{}", ::getpid(), count++);
    std::filesystem::remove_all(path); // one of a killed program that had this number
    std::filesystem::create_directories(path);
}

ScratchFolder::~ScratchFolder() {
    std::error_code ignored;
    std::filesystem::permissions(path, std::filesystem::perms::owner_all,
                                 ignored); // a test may have closed it
    std::filesystem::remove_all(path, ignored);
}

std::size_t ScratchFolder::entries() const {
    using Walk = std::filesystem::recursive_directory_iterator;
    return static_cast<std::size_t>(std::distance(Walk(path), Walk()));
}

} // namespace sparecoat::test
