#pragma once
#include <nlohmann/json_fwd.hpp>
#include <string>

namespace sparecoat::test {

/// What a script of tests/published/reference/ prints. Fails the test, saying why, where it cannot be run.
nlohmann::json reference_solution(const std::string& script);

} // namespace sparecoat::test
