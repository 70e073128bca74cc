#include "support/reference_solution.hpp"
#include "support/places.hpp"
#include "support/process.hpp"
#include <catch2/catch.hpp>
#include <map>
#include <nlohmann/json.hpp>

namespace sparecoat::test {

nlohmann::json reference_solution(const std::string& script) {
    static std::map<std::string, nlohmann::json> solved; // some take seconds, and several cases read one
    if (const auto known = solved.find(script); known != solved.end()) return known->second;
    const Ended ended =
        run_program("/usr/bin/python3", {source_at("tests/published/reference/" + script).string()});
    if (ended.code != 0)
        FAIL("the reference solution " << script << " ended with " << ended.code << "\n"
                                       << ended.err << "It needs the Debian packages python3-numpy and "
                                       << "python3-scipy, which ./test installs");
    return solved[script] = nlohmann::json::parse(ended.out);
}

} // namespace sparecoat::test
