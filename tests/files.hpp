#pragma once
#include "units/error.hpp"
#include <catch2/catch.hpp>
#include <filesystem>
#include <fmt/format.h>
#include <fstream>
#include <functional>
#include <iterator>
#include <stdexcept>
#include <string>
#include <unistd.h>

namespace sparecoat::test {
using namespace cli;

inline std::string bytes_of(const std::filesystem::path& file) {
    std::ifstream in(file, std::ios::binary);
    REQUIRE(in);
    return {std::istreambuf_iterator<char>(in), {}};
}

inline void write_text(const std::filesystem::path& file, const std::string& text) {
    std::ofstream(file, std::ios::binary) << text;
}

/// A folder of a test's own, gone at its end.
struct ScratchFolder {
    std::filesystem::path path;
    ScratchFolder() {
        static int count = 0;
        path =
            std::filesystem::temp_directory_path() / fmt::format("sparecoat-test-{}-{}", ::getpid(), count++);
        std::filesystem::create_directories(path);
    }
    ~ScratchFolder() {
        std::error_code ignored;
        std::filesystem::remove_all(path, ignored);
    }
    ScratchFolder(const ScratchFolder&) = delete;
    ScratchFolder& operator=(const ScratchFolder&) = delete;
};

/// What a call refuses its input with.
inline InputError refusal(const std::function<void()>& call) {
    try {
        call();
    } catch (const InputError& error) {
        return error;
    }
    FAIL("accepted, where it should have been refused");
    throw std::logic_error("not reached");
}

} // namespace sparecoat::test
