#pragma once
// Shared by the tests of the window.
#include "formats/fields_export.hpp"
#include "formats/path_csv.hpp"
#include "support/files.hpp"
#include "support/places.hpp"
#include "support/process.hpp"
#include "support/window.hpp"
#include "units/error.hpp"
#include "units/quantity.hpp"
#include "view/app/app.hpp"
#include "view/render/shot.hpp"
#include <GLFW/glfw3.h>
#include <algorithm>
#include <array>
#include <catch2/catch.hpp>
#include <chrono>
#include <cstdlib>
#include <cstring>
#include <fmt/format.h>
#include <functional>
#include <iostream>
#include <map>
#include <set>
#include <sstream>
#include <string>
#include <thread>

namespace sparecoat::test::window_desk {
using namespace sparecoat::cli;
using namespace sparecoat::test;
namespace fs = std::filesystem;

inline RunRequest plate_request() {
    RunRequest request;
    request.panel = "test-plate", request.technique = "polish-da-15", request.grid_m = 0.004;
    return request;
}

inline bool same_bytes(const std::vector<float>& a, const std::vector<float>& b) {
    return a.size() == b.size() && std::memcmp(a.data(), b.data(), a.size() * sizeof(float)) == 0;
}

inline bool same_path(const ArmPath& a, const ArmPath& b) {
    return a.samples.size() == b.samples.size() &&
           std::equal(a.samples.begin(), a.samples.end(), b.samples.begin(),
                      [](const ArmSample& p, const ArmSample& q) {
                          return p.t_s == q.t_s && p.at.x == q.at.x && p.at.y == q.at.y &&
                                 p.force_n == q.force_n && p.tilt_rad.x == q.tilt_rad.x &&
                                 p.tilt_rad.y == q.tilt_rad.y && p.down == q.down;
                      });
}

} // namespace sparecoat::test::window_desk
