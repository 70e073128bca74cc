#pragma once
// Shared by the tests of job files.
#include "formats/encoding.hpp"
#include "support/files.hpp"
#include "support/job_world.hpp"
#include "support/refusal.hpp"
#include "support/skip.hpp"
#include "vehicle/database.hpp"
#include "vehicle/schema.hpp"
#include <algorithm>
#include <catch2/catch.hpp>
#include <filesystem>
#include <fmt/format.h>
#include <functional>
#include <nlohmann/json.hpp>
#include <random>
#include <rapidcheck.h>
#include <sqlite3.h>
#include <thread>
#include <unistd.h>

namespace sparecoat::test::job_file_support {
namespace fs = std::filesystem;
using namespace sparecoat::cli;
using namespace sparecoat::test;
using Catch::Matchers::Contains;

/// SQL straight at a file, past everything that watches over it.
inline void meddle(const fs::path& file, const std::string& sql) {
    sqlite3* handle = nullptr;
    REQUIRE(sqlite3_open(file.c_str(), &handle) == SQLITE_OK);
    const int code = sqlite3_exec(handle, sql.c_str(), nullptr, nullptr, nullptr);
    const std::string message = sqlite3_errmsg(handle);
    sqlite3_close(handle);
    INFO(sql << ": " << message);
    REQUIRE(code == SQLITE_OK);
}

inline std::string ask(const fs::path& file, const std::string& sql) {
    return Database(file, Database::Mode::read).text(sql);
}

/// What an edit is refused with, and that nothing of it stays.
inline InputError edit_refusal(JobFile& job, const std::function<void()>& body) {
    const std::string before = dump(job);
    const std::size_t edits = job.history().size();
    const InputError error = refusal([&] { job.edit("refused", body); });
    CHECK(dump(job) == before);
    CHECK(job.history().size() == edits);
    return error;
}

inline std::vector<std::string> names_in(const fs::path& folder) {
    std::vector<std::string> names;
    for (const auto& entry : fs::directory_iterator(folder))
        names.push_back(entry.path().filename().string());
    std::ranges::sort(names);
    return names;
}

} // namespace sparecoat::test::job_file_support
