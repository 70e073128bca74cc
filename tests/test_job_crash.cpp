// A program that edits a job and is killed, over and over: nothing is lost but the edit under way.
//
// What is relied on: a transaction of SQLite's happens as a whole or not at all, a program killed within one
// leaves a hot journal behind, and whoever opens the file next rolls it back (SQLite, Atomic Commit In
// SQLite, sections 3 and 4). A kill shows that; what a power cut adds (the disk's own order of writes) rests
// on PRAGMA synchronous = EXTRA and is not shown here.
#include "support/files.hpp"
#include "support/job_world.hpp"
#include <algorithm>
#include <catch2/catch.hpp>
#include <csignal>
#include <cstdint>
#include <fmt/format.h>
#include <random>
#include <sys/wait.h>
#include <unistd.h>

namespace test_job_crash {
namespace fs = std::filesystem;
using namespace sparecoat::cli;
using namespace sparecoat::test;

namespace {

/// Edits a job without end, three readings and the vehicle's count of edits at a time, and reports each edit
/// that was kept with a byte. Every fifth is an undo and redo, every seventh takes readings away and back.
[[noreturn]] void edit_until_killed(const fs::path& file, int report) {
    try {
        JobFile job = JobFile::open(file);
        const Id at = job.all<PanelVisit>().front().id;
        for (int k = std::stoi("0" + job.vehicle().note) + 1;; ++k) {
            job.edit(fmt::format("edit {}", k), [&] {
                for (int spot = 0; spot < 3; ++spot) job.add(reading(at, 0.001 * (3 * k + spot), 100 + spot));
                const Vehicle was = job.vehicle();
                Vehicle now = was;
                now.note = std::to_string(k);
                job.change(was, now);
            });
            if (::write(report, "+", 1) != 1) ::_exit(1);
            if (k % 5 == 0) job.undo(), job.redo();
        }
    } catch (...) {
        ::_exit(1);
    }
}

struct Killed {
    int reported = 0;
    bool mid_write = false; ///< a journal was left behind
};

Killed kill_an_editor(const fs::path& file, std::uint64_t after_us) {
    int pipe_ends[2];
    REQUIRE(::pipe(pipe_ends) == 0);
    const pid_t child = ::fork();
    REQUIRE(child >= 0);
    if (child == 0) {
        ::close(pipe_ends[0]);
        edit_until_killed(file, pipe_ends[1]);
    }
    ::close(pipe_ends[1]);
    Killed killed;
    char byte = 0;
    if (::read(pipe_ends[0], &byte, 1) == 1) ++killed.reported; // it is under way
    ::usleep(static_cast<useconds_t>(after_us));
    ::kill(child, SIGKILL);
    int status = 0;
    ::waitpid(child, &status, 0);
    CHECK((WIFSIGNALED(status) && WTERMSIG(status) == SIGKILL)); // it did not end by itself
    while (::read(pipe_ends[0], &byte, 1) == 1) ++killed.reported;
    ::close(pipe_ends[0]);
    killed.mid_write = fs::exists(file.string() + "-journal");
    return killed;
}

void kill_again_and_again(int times) {
    const ScratchFolder session;
    const fs::path file = session.path / "bus.sparecoat";
    {
        JobFile job = JobFile::create(file, minibus());
        const Id door = add_panel(job, "rear door", "rear-door"), visit = add_visit(job, "2026-03-14");
        job.edit("at the visit", [&] { job.at_visit(visit, door); });
    }
    std::mt19937 draw(20260314);
    int kept = 0, mid_write = 0;
    for (int k = 0; k < times; ++k) {
        const Killed killed = kill_an_editor(file, draw() % 80'000);
        mid_write += killed.mid_write;
        const JobFile job = JobFile::open(file);
        INFO("kill " << k << ": " << killed.reported << " edits reported, " << kept << " before");
        CHECK(job.check().empty());
        const int count = std::stoi("0" + job.vehicle().note);
        const auto readings = static_cast<int>(job.all<FilmReading>().size());
        // The byte that reports an edit comes after it, so one more may have been kept. An undo on its way to
        // being redone may have taken the last one back.
        CHECK(count >= kept + killed.reported - 1);
        CHECK(count <= kept + killed.reported + 1);
        if (count < kept + killed.reported) CHECK(job.history().back().undone);
        CHECK(readings == 3 * count); // never half an edit
        CHECK(static_cast<int>(std::ranges::count(job.history(), false, &Edit::undone)) ==
              std::min(count + 3, undo_depth));
        kept = count;
    }
    // A journal that a kill left before anything rested on it lies there until the next edit, and does no
    // harm.
    JobFile job = JobFile::open(file);
    add_visit(job, "2027-03-14");
    CHECK(std::distance(fs::directory_iterator(session.path), fs::directory_iterator()) == 1);
    WARN(fmt::format("{} kills, {} of them within a write; {} edits kept", times, mid_write, kept));
    CHECK(mid_write > 0); // else the kills came at no moment that matters
}

} // namespace

TEST_CASE("a job killed while it is edited loses nothing but the last edit", "[job]") {
    kill_again_and_again(20);
}

TEST_CASE("a job killed two hundred times while it is edited loses nothing but the last edit",
          "[job][long]") {
    kill_again_and_again(200);
}

} // namespace test_job_crash
