#pragma once
#include "places.hpp"
#include "rooms.hpp"
#include <catch2/catch.hpp>
#include <cstdio>
#include <nlohmann/json.hpp>
#include <string>

namespace sparecoat::test {
using namespace cli;

/// What a script of tests/published/reference/ prints. Fails the test, saying why, where it cannot be run.
inline nlohmann::json reference_solution(const std::string& script) {
    const std::string command =
        "/usr/bin/python3 \"" + source_at("tests/published/reference/" + script).string() + "\"";
    std::string text;
    std::FILE* pipe = popen(command.c_str(), "r");
    if (pipe) {
        char part[4096];
        for (std::size_t n; (n = std::fread(part, 1, sizeof part, pipe)) > 0;) text.append(part, n);
    }
    const int status = pipe ? pclose(pipe) : -1;
    if (status != 0)
        FAIL("the reference solution did not run (" << command << ", status " << status
                                                    << "): it needs the Debian packages python3-numpy and "
                                                       "python3-scipy, which ./test installs");
    return nlohmann::json::parse(text);
}

} // namespace sparecoat::test
