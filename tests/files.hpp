#pragma once
#include <catch2/catch.hpp>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>

namespace sparecoat::test {

inline std::string bytes_of(const std::filesystem::path& file) {
    std::ifstream in(file, std::ios::binary);
    REQUIRE(in);
    return {std::istreambuf_iterator<char>(in), {}};
}

inline void write_text(const std::filesystem::path& file, const std::string& text) {
    std::ofstream(file, std::ios::binary) << text;
}

} // namespace sparecoat::test
