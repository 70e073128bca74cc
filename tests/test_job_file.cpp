// The job file as a file: what its tables hold to, undo across restarts, two programs at once, what is
// refused.
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

namespace fs = std::filesystem;
using namespace sparecoat::cli;
using namespace sparecoat::test;
using Catch::Matchers::Contains;

namespace {

/// SQL straight at a file, past everything that watches over it.
void meddle(const fs::path& file, const std::string& sql) {
    sqlite3* handle = nullptr;
    REQUIRE(sqlite3_open(file.c_str(), &handle) == SQLITE_OK);
    const int code = sqlite3_exec(handle, sql.c_str(), nullptr, nullptr, nullptr);
    const std::string message = sqlite3_errmsg(handle);
    sqlite3_close(handle);
    INFO(sql << ": " << message);
    REQUIRE(code == SQLITE_OK);
}

std::string ask(const fs::path& file, const std::string& sql) {
    return Database(file, Database::Mode::read).text(sql);
}

/// What an edit is refused with, and that nothing of it stays.
InputError edit_refusal(JobFile& job, const std::function<void()>& body) {
    const std::string before = dump(job);
    const std::size_t edits = job.history().size();
    const InputError error = refusal([&] { job.edit("refused", body); });
    CHECK(dump(job) == before);
    CHECK(job.history().size() == edits);
    return error;
}

std::vector<std::string> names_in(const fs::path& folder) {
    std::vector<std::string> names;
    for (const auto& entry : fs::directory_iterator(folder))
        names.push_back(entry.path().filename().string());
    std::ranges::sort(names);
    return names;
}

} // namespace

// ---- making and opening ----------------------------------------------------------------------------

TEST_CASE("a new job is one file that says what it is and holds its vehicle", "[job]") {
    const ScratchFolder session;
    const fs::path file = session.path / "bus.sparecoat";
    {
        const JobFile job = JobFile::create(file, minibus());
        CHECK(job.vehicle() == minibus());
        CHECK(job.history().empty());
        CHECK(job.check().empty());
    }
    CHECK(names_in(session.path) == std::vector<std::string>{"bus.sparecoat"});
    // SQLite, Database File Format, 1.3: the application's id stands at byte 68, the user's version at 60.
    const std::string bytes = bytes_of(file);
    CHECK(bytes.substr(0, 16) == std::string("SQLite format 3\0", 16));
    CHECK(bytes.substr(68, 4) == "SPCO");
    CHECK(bytes.substr(60, 4) == std::string("\0\0\0\3", 4));
    // 1.3.3: 1 and 1 at bytes 18 and 19 are the rollback journal, 2 and 2 the write-ahead log.
    CHECK(bytes.substr(18, 2) == "\1\1");
}

TEST_CASE("a new job overwrites nothing", "[job]") {
    const ScratchFolder session;
    const fs::path file = session.path / "bus.sparecoat";
    write_text(file, "precious");
    CHECK_THAT(refusal([&] { JobFile::create(file, minibus()); }).what(), Contains("a file of that name"));
    CHECK(bytes_of(file) == "precious");
    CHECK(names_in(session.path).size() == 1);
    CHECK_THAT(
        refusal([&] { JobFile::create(session.path / "nowhere" / "bus.sparecoat", minibus()); }).what(),
        Contains("no such folder"));
}

TEST_CASE("a job that fails in the making leaves nothing behind", "[job]") {
    const ScratchFolder session;
    CHECK_THROWS_AS(JobFile::create(session.path / "bus.sparecoat", minibus(),
                                    [](JobFile&) { throw std::runtime_error("no"); }),
                    std::runtime_error);
    CHECK(names_in(session.path).empty());
}

TEST_CASE("what is no job file is refused in words, and stays as it is", "[job]") {
    const ScratchFolder session;
    const fs::path file = session.path / "bus.sparecoat";
    const auto said = [&] { return std::string(refusal([&] { JobFile::open(file); }).what()); };
    CHECK_THAT(said(), Contains("bus.sparecoat: found no such file") && Contains("job new"));
    fs::create_directory(file);
    CHECK_THAT(said(), Contains("found a folder"));
    fs::remove(file);
    write_text(file, "");
    CHECK_THAT(said(), Contains("an empty file"));
    write_text(file, "{\"kind\": \"job\"}");
    CHECK_THAT(said(), Contains("a file of another kind"));
    fs::remove(file);
    meddle(file, "CREATE TABLE recipes (name)");
    CHECK_THAT(said(), Contains("a database of another program"));
    CHECK(ask(file, "SELECT count(*) FROM recipes") == "0");
}

TEST_CASE("a newer job file is refused politely and not touched", "[job]") {
    const ScratchFolder session;
    const fs::path file = session.path / "bus.sparecoat";
    JobFile::create(file, minibus());
    meddle(file, "PRAGMA user_version = 4; CREATE TABLE novelty (id INTEGER)");
    const std::string before = bytes_of(file);
    const InputError error = refusal([&] { JobFile::open(file); });
    CHECK_THAT(error.what(), Contains("version 4, made by a newer Sparecoat") && Contains("versions 1 to 3"));
    CHECK(bytes_of(file) == before);
    CHECK(names_in(session.path).size() == 1);
}

TEST_CASE("damage is found at opening, wherever it sits", "[job]") {
    const ScratchFolder session;
    const fs::path whole = session.path / "whole.sparecoat", file = session.path / "bus.sparecoat";
    {
        JobFile job = JobFile::create(whole, minibus());
        fill_every_table(job);
    }
    const std::string bytes = bytes_of(whole);
    const auto said = [&] { return std::string(refusal([&] { JobFile::open(file); }).what()); };
    SECTION("cut off in the middle") {
        write_text(file, bytes.substr(0, bytes.size() / 2));
        CHECK_THAT(said(), Contains("a damaged job file"));
    }
    SECTION("cut off within the header") {
        write_text(file, bytes.substr(0, 50));
        CHECK_THAT(said(), Contains("damaged"));
    }
    SECTION("a page overwritten") {
        // Every page in turn: those that hold the trees have to be noticed, whichever it is. A page's first
        // byte is its type (SQLite, Database File Format, 1.6); pages that only carry on a long text have
        // none to be wrong.
        int noticed = 0, pages = 0;
        for (std::size_t at = 4096; at + 4096 <= bytes.size(); at += 4096) {
            const auto type = static_cast<unsigned char>(bytes[at]);
            if (type != 2 && type != 5 && type != 10 && type != 13) continue;
            std::string broken = bytes;
            for (std::size_t k = 0; k < 4096; ++k) broken[at + k] = static_cast<char>(0xA5);
            write_text(file, broken);
            ++pages;
            try {
                JobFile::open(file);
            } catch (const InputError& error) {
                noticed += std::string(error.what()).find("damaged") != std::string::npos;
            }
        }
        CHECK(pages > 20);
        CHECK(noticed == pages);
    }
}

TEST_CASE("tables that this program did not make are refused, for a file may come from anywhere", "[job]") {
    const ScratchFolder session;
    const fs::path file = session.path / "bus.sparecoat";
    JobFile::create(file, minibus());
    SECTION("a trigger more") {
        meddle(file, "CREATE TRIGGER sly AFTER INSERT ON note BEGIN DELETE FROM reading; END");
    }
    SECTION("a rule less") {
        meddle(file, "PRAGMA writable_schema = ON; UPDATE sqlite_schema SET sql = replace(sql, 'film_um > 0 "
                     "AND ', '') "
                     "WHERE name = 'reading'");
    }
    CHECK_THAT(refusal([&] { JobFile::open(file); }).what(), Contains("tables that Sparecoat did not make"));
}

TEST_CASE("a job that may only be read is read, and refuses edits", "[job]") {
    const ScratchFolder session;
    const fs::path file = session.path / "bus.sparecoat";
    JobFile::create(file, minibus());
    const std::string before = bytes_of(file);
    JobFile job = JobFile::open(file, JobFile::Access::read);
    CHECK(job.read_only());
    CHECK(job.vehicle().name == "Minibus 3");
    CHECK_THAT(refusal([&] { add_visit(job, "2026-03-14"); }).what(), Contains("not to be written"));
    CHECK_THAT(refusal([&] { job.undo(); }).what(), Contains("not to be written"));
    CHECK(bytes_of(file) == before);
}

TEST_CASE("a job file closed to writing is opened to be read", "[job]") {
    if (::geteuid() == 0) skip("as root, no file is closed to writing");
    const ScratchFolder session;
    const fs::path file = session.path / "bus.sparecoat";
    JobFile::create(file, minibus());
    fs::permissions(file, fs::perms::owner_read);
    CHECK(JobFile::open(file).read_only());
}

TEST_CASE("a file with the write-ahead log switched on goes back to being one file", "[job]") {
    const ScratchFolder session;
    const fs::path file = session.path / "bus.sparecoat";
    JobFile::create(file, minibus());
    meddle(file, "PRAGMA journal_mode = WAL; UPDATE vehicle SET note = 'in the log'");
    CHECK(JobFile::open(file).vehicle().note == "in the log");
    CHECK(bytes_of(file).substr(18, 2) == "\1\1");
    CHECK(names_in(session.path).size() == 1);
}

// ---- an older file ----------------------------------------------------------------------------------

TEST_CASE("a version 1 file is brought up to date after a copy was put beside it", "[job]") {
    const ScratchFolder session;
    const fs::path file = session.path / "bus.sparecoat", backup = session.path / "bus.v1-backup.sparecoat";
    make_version_1(file);
    const std::string old_content = ask(file, "SELECT group_concat(film_um) FROM reading");
    {
        const JobFile job = JobFile::open(file);
        CHECK(job.backup() == backup);
        CHECK(job.check().empty());
        const std::vector<Visit> visits = job.all<Visit>();
        REQUIRE(visits.size() == 1);
        CHECK(visits.front().date == "2025-09-01");
        const JobPanel door = job.panel_named("rear door").value();
        const PanelVisit at = job.panel_visit(visits.front().id, door.id).value();
        CHECK(at.clean);
        CHECK(job.get<Document>(*at.defects).reference == "light");
        const std::vector<FilmReading> readings = job.all<FilmReading>();
        REQUIRE(readings.size() == 2);
        CHECK((readings[0].film_um == 112.5 && !readings[0].after_work && readings[0].n == 3));
        CHECK((readings[1].film_um == 111.25 && readings[1].after_work));
        CHECK(job.all<Note>().size() == 2);
        CHECK(job.vehicle().reserve_um == 12);
        CHECK(job.vehicle().allowance_um == 10);
    }
    CHECK(ask(backup, "PRAGMA user_version") == "1");
    CHECK(ask(backup, "SELECT group_concat(film_um) FROM reading") == old_content);
    // Once is enough, and it is then a file like any other.
    JobFile again = JobFile::open(file);
    CHECK_FALSE(again.backup());
    add_visit(again, "2026-09-01");
    CHECK(again.undo()->label == "visit 2026-09-01");
    CHECK(names_in(session.path).size() == 2);
}

TEST_CASE("a version 2 file keeps every row and gains room for the vehicle's plan", "[job]") {
    const ScratchFolder session;
    const fs::path file = session.path / "bus.sparecoat", backup = session.path / "bus.v2-backup.sparecoat",
                   fresh = session.path / "fresh.sparecoat";
    make_version_2(file);
    {
        JobFile job = JobFile::create(fresh, minibus());
        fill_every_table(job);
    }
    {
        JobFile job = JobFile::open(file);
        CHECK(job.backup() == backup);
        CHECK(job.check().empty());
        CHECK(dump(job) == dump(JobFile::open(fresh)));
        CHECK(job.history().empty()); // begins anew
        const Visit spring = job.all<Visit>().front();
        CHECK_FALSE(spring.plan);
        job.edit("a plan", [&] {
            Visit planned = spring;
            planned.plan = "{}";
            job.change(spring, planned);
        });
        CHECK(job.undo()->label == "a plan");
        CHECK(dump(job) == dump(JobFile::open(fresh)));
    }
    CHECK(ask(backup, "PRAGMA user_version") == "2");
    CHECK(ask(backup, "SELECT count(*) FROM pragma_table_info('visit') WHERE name = 'plan'") == "0");
    CHECK_FALSE(JobFile::open(file).backup()); // it is a file like any other
}

TEST_CASE("an older file with a table that is none of ours stays as it was", "[job]") {
    const ScratchFolder session;
    const fs::path file = session.path / "bus.sparecoat";
    make_version_2(file);
    meddle(file, "CREATE TABLE intruder (id INTEGER)");
    CHECK_THAT(refusal([&] { JobFile::open(file); }).what(), Contains("tables that Sparecoat did not make"));
    CHECK(ask(file, "PRAGMA user_version") == "2");
    CHECK(ask(file, "SELECT count(*) FROM reading") == "3");
}

TEST_CASE("a backup overwrites no earlier one", "[job]") {
    const ScratchFolder session;
    const fs::path file = session.path / "bus.sparecoat";
    make_version_1(file);
    write_text(session.path / "bus.v1-backup.sparecoat", "an earlier one");
    CHECK(JobFile::open(file).backup() == session.path / "bus.v1-backup-2.sparecoat");
    CHECK(bytes_of(session.path / "bus.v1-backup.sparecoat") == "an earlier one");
}

TEST_CASE("an older file that cannot be taken over stays as it was", "[job]") {
    const ScratchFolder session;
    const fs::path file = session.path / "bus.sparecoat";
    make_version_1(file);
    meddle(file, "UPDATE reading SET film_um = -4 WHERE id = 2");
    CHECK_THAT(refusal([&] { JobFile::open(file); }).what(), Contains("film over 0 up to 2000 µm"));
    CHECK(ask(file, "PRAGMA user_version") == "1");
    CHECK(ask(file, "SELECT count(*) FROM reading") == "2");
    CHECK(ask(file, "SELECT count(*) FROM sqlite_schema WHERE name = 'visit'") == "0");
}

TEST_CASE("an older file opened for reading alone is refused with the way out", "[job]") {
    const ScratchFolder session;
    const fs::path file = session.path / "bus.sparecoat";
    make_version_1(file);
    CHECK_THAT(refusal([&] { JobFile::open(file, JobFile::Access::read); }).what(),
               Contains("version 1 that is not to be written") &&
                   Contains("open it once where it can be written"));
    CHECK(names_in(session.path).size() == 1);
}

// ---- rules of the tables ----------------------------------------------------------------------------

TEST_CASE("values out of range, doubles and loose ends are refused and leave nothing", "[job]") {
    const ScratchFolder session;
    JobFile job = JobFile::create(session.path / "bus.sparecoat", minibus());
    fill_every_table(job);
    const JobPanel door = job.panel_named("rear door").value();
    const Visit spring = job.all<Visit>().front();
    const PanelVisit at = job.panel_visit(spring.id, door.id).value();
    const auto said = [&](const std::function<void()>& body) {
        return std::string(edit_refusal(job, body).what());
    };

    for (const double film : {0.0, -3.0, 2000.5, std::nan(""), HUGE_VAL})
        CHECK_THAT(said([&] { job.add(reading(at.id, 0.5, film)); }), Contains("bus.sparecoat"));
    CHECK_THAT(said([&] { job.add(reading(at.id, 0.5, -3)); }), Contains("film over 0 up to 2000 µm"));
    CHECK_THAT(said([&] { job.add(reading(at.id, 11, 100)); }), Contains("x of -10 to 10 m"));
    CHECK_THAT(said([&] { job.add(reading(at.id, 0.3, 100)); }), Contains("a second entry"));
    CHECK_THAT(said([&] { job.add(reading(4711, 0.5, 100)); }), Contains("leads nowhere"));
    for (const char* date : {"2026-02-30", "14.3.2026", "2026-3-14", ""})
        CHECK_THAT(said([&] {
                       Visit visit;
                       visit.date = date;
                       job.add(visit);
                   }),
                   Contains("a date such as 2026-03-14"));
    CHECK_THAT(said([&] { job.add(spring); }), Contains("visit.date, visit.label"));
    CHECK_THAT(said([&] {
                   JobPanel second = door;
                   job.add(second);
               }),
               Contains("second entry of the same panel.name"));
    CHECK_THAT(said([&] { job.add(at); }), Contains("second entry"));
    CHECK_THAT(said([&] {
                   TryRow half;
                   half.square = job.all<SquareRow>().front().id, half.step = "a+b+c",
                   half.gauge.before_um = 110;
                   job.add(half);
               }),
               Contains("all or none"));
    CHECK_THAT(said([&] {
                   Work second;
                   second.panel_visit = at.id;
                   job.add(second);
               }),
               Contains("work.panel_visit"));
    CHECK_THAT(said([&] {
                   PanelVisit bad = at;
                   bad.plan = "{not json";
                   job.change(at, bad);
               }),
               Contains("a plan as JSON"));
    CHECK_THAT(said([&] { job.remove<Document>(door.shape); }), Contains("leads nowhere"));
    CHECK_THAT(said([&] { job.remove<Note>(4711); }), Contains("no note 4711"));
    CHECK_THAT(said([&] {
                   Document sly = document_row("paint", "../../sly", nlohmann::json::object());
                   job.add(sly);
               }),
               Contains("without folders"));
    CHECK_THROWS_AS(job.add(reading(at.id, 0.5, 100)), std::logic_error); // outside an edit
}

TEST_CASE("a table keeps types: text is no number, whatever SQLite would let pass elsewhere", "[job]") {
    const ScratchFolder session;
    const fs::path file = session.path / "bus.sparecoat";
    JobFile::create(file, minibus());
    const Database database(file, Database::Mode::write);
    // SQLite, STRICT Tables, 2.
    CHECK_THROWS_AS(database.execute("UPDATE vehicle SET share = 'much'"), InputError);
    CHECK_THROWS_AS(
        database.execute("INSERT INTO vehicle SELECT 2, name, description, note, kit, share, haze, chance, "
                         "reserve_um, keep_chance, allowance_um FROM vehicle"),
        InputError);
}

// ---- undo and redo ----------------------------------------------------------------------------------

TEST_CASE("an edit is undone and redone under its label, across closing and opening", "[job]") {
    const ScratchFolder session;
    const fs::path file = session.path / "bus.sparecoat";
    std::string before, after;
    {
        JobFile job = JobFile::create(file, minibus());
        fill_every_table(job);
        before = dump(job);
        const PanelVisit at = job.all<PanelVisit>().front();
        job.edit("3 readings on the rear door", [&] {
            for (const double x : {0.5, 0.6, 0.7}) job.add(reading(at.id, x, 105));
        });
        after = dump(job);
    }
    {
        JobFile job = JobFile::open(file);
        CHECK(job.undo()->label == "3 readings on the rear door");
        CHECK(dump(job) == before);
        CHECK(job.history().back().undone);
    }
    JobFile job = JobFile::open(file);
    CHECK(job.redo()->label == "3 readings on the rear door");
    CHECK(dump(job) == after);
    CHECK_FALSE(job.redo());
}

TEST_CASE("a panel removed with all that hangs on it comes back whole", "[job]") {
    const ScratchFolder session;
    JobFile job = JobFile::create(session.path / "bus.sparecoat", minibus());
    fill_every_table(job);
    const std::string before = dump(job);
    job.edit("the rear door removed", [&] { job.remove<JobPanel>(job.panel_named("rear door")->id); });
    CHECK(job.all<FilmReading>().empty());
    CHECK(job.all<TryRow>().empty());
    CHECK(job.all<RunRow>().empty());
    CHECK(job.all<Photo>().size() == 1);
    const std::string without = dump(job);
    job.undo();
    CHECK(dump(job) == before);
    job.redo();
    CHECK(dump(job) == without);
    CHECK(job.check().empty());
}

TEST_CASE("a new edit drops what could have been redone, and one that changes nothing does not", "[job]") {
    const ScratchFolder session;
    JobFile job = JobFile::create(session.path / "bus.sparecoat", minibus());
    add_visit(job, "2026-03-14");
    job.undo();
    job.edit("nothing", [] {});
    CHECK(job.history().size() == 1);
    CHECK(job.redo());
    job.undo();
    add_visit(job, "2026-04-01");
    CHECK_FALSE(job.redo());
    CHECK(job.history().size() == 1);
}

TEST_CASE("only so many edits are remembered, the latest", "[job][long]") {
    const ScratchFolder session;
    JobFile job = JobFile::create(session.path / "bus.sparecoat", minibus());
    Note note;
    for (int k = 0; k < undo_depth + 7; ++k)
        job.edit(fmt::format("edit {}", k), [&] { note.text = "x", job.add(note); });
    CHECK(job.history().size() == undo_depth);
    CHECK(job.history().front().label == "edit 7");
    int undone = 0;
    while (job.undo()) ++undone;
    CHECK(undone == undo_depth);
    CHECK(job.all<Note>().size() == 7);
    CHECK(job.check().empty());
}

TEST_CASE("an edit within an edit is part of it, and an exception takes the whole back", "[job]") {
    const ScratchFolder session;
    JobFile job = JobFile::create(session.path / "bus.sparecoat", minibus());
    const std::string before = dump(job);
    job.edit("outer", [&] {
        add_visit(job, "2026-03-14");
        add_visit(job, "2026-03-15");
    });
    CHECK(job.history().size() == 1);
    job.undo();
    CHECK(dump(job) == before);
    edit_refusal(job, [&] {
        add_visit(job, "2026-03-14");
        add_visit(job, "no date");
    });
    CHECK(job.history().size() == 1); // what waits to be redone still does
}

namespace {

/// Random edits as a person might make them. Each is drawn from what is there.
class Hand {
public:
    Hand(JobFile& job, std::uint32_t seed) : job_(&job), draw_(seed) {}

    void edit(JobFile& job) {
        job_ = &job;
        job.edit("an edit", [&] {
            for (unsigned k = pick(3) + 1; k > 0; --k) change();
        });
    }

private:
    unsigned pick(unsigned below) { return static_cast<unsigned>(draw_() % below); }
    template <class Row> std::optional<Row> any() {
        const std::vector<Row> rows = job_->all<Row>();
        if (rows.empty()) return std::nullopt;
        return rows[pick(static_cast<unsigned>(rows.size()))];
    }
    template <class Row> void remove_any() {
        if (const auto row = any<Row>()) job_->remove<Row>(row->id);
    }
    std::string word() { return fmt::format("word {}", ++words_); }

    void change() {
        switch (pick(14)) {
        case 0:
        case 1: {
            Visit visit;
            visit.date = "2026-03-14", visit.label = word();
            job_->add(visit);
            return;
        }
        case 2:
        case 3: {
            JobPanel panel;
            panel.name = word();
            panel.shape =
                bring_in(*job_, shipped_presets(), "panel", pick(2) ? "rear-door" : "test-plate").document;
            panel.paint = bring_in(*job_, shipped_presets(), "paint", "typical").document;
            job_->add(panel);
            return;
        }
        case 4:
        case 5:
        case 6: {
            const auto visit = any<Visit>();
            const auto panel = any<JobPanel>();
            if (!visit || !panel) return;
            const Id at = job_->at_visit(visit->id, panel->id).id;
            ++words_;
            job_->add(reading(at, words_ * 1e-4, 100.1 + 0.1 * words_));
            SquareRow square;
            square.panel_visit = at;
            TryRow work;
            work.square = job_->add(square), work.step = word();
            job_->add(work);
            return;
        }
        case 7:
            if (const auto row = any<FilmReading>()) {
                FilmReading now = *row;
                now.film_um = row->film_um / 3 + 1.0 / (1 + pick(1000)),
                now.n = static_cast<int>(pick(9)) + 1;
                job_->change(*row, now);
            }
            return;
        case 8:
            if (const auto row = any<TryRow>()) {
                TryRow now = *row;
                now.seen = pick(2) ? std::optional(word()) : std::nullopt;
                if (pick(2)) now.gauge = GaugeColumns(GaugePair{101.0 / 3, 33.1, 5, 4, 0.7});
                job_->change(*row, now);
            }
            return;
        case 9: {
            Note note;
            note.text = word();
            if (const auto panel = any<JobPanel>()) note.panel = panel->id;
            job_->add(note);
            return;
        }
        case 10: return remove_any<FilmReading>();
        case 11: return remove_any<SquareRow>();
        case 12: return pick(2) ? remove_any<Visit>() : remove_any<Note>();
        default: return pick(3) ? remove_any<TryRow>() : remove_any<JobPanel>();
        }
    }

    JobFile* job_;
    std::mt19937 draw_;
    unsigned words_ = 0;
};

} // namespace

namespace {

/// Random edits, closed and opened and undone in between; then all undone and all redone, each state
/// compared.
/// @return what did not hold; empty where all did
std::string undone_and_redone(std::uint32_t seed, int edits) {
    std::mt19937 draw(seed);
    const ScratchFolder session;
    const fs::path file = session.path / "bus.sparecoat";
    std::optional<JobFile> job = JobFile::create(file, minibus());
    const auto reopen = [&] {
        job.reset();
        job = JobFile::open(file);
    };
    const auto standing = [&] { return std::ranges::count(job->history(), false, &Edit::undone); };
    Hand hand(*job, seed);
    std::vector<std::string> states{dump(*job)}; // after each edit that stands
    for (int k = 0; k < edits; ++k) {
        if (draw() % 4 == 0) reopen();
        if (draw() % 5 == 0 && job->undo()) {
            states.pop_back();
            if (dump(*job) != states.back()) return fmt::format("edit {} undone at once", k);
            continue;
        }
        const auto before = standing();
        hand.edit(*job);
        if (standing() > before) states.push_back(dump(*job));
    }
    while (job->redo()) states.push_back(dump(*job)); // what undoing at the end has left
    reopen();
    for (std::size_t k = states.size(); k-- > 0;) {
        if (dump(*job) != states[k]) return fmt::format("state {} of {} on the way back", k, states.size());
        if (job->undo().has_value() != (k > 0)) return fmt::format("the way back ends at {}", k);
    }
    reopen();
    for (std::size_t k = 0; k < states.size(); ++k) {
        if (dump(*job) != states[k]) return fmt::format("state {} of {} on the way forth", k, states.size());
        if (job->redo().has_value() != (k + 1 < states.size()))
            return fmt::format("the way forth ends at {}", k);
    }
    const std::vector<std::string> faults = job->check();
    return faults.empty() ? "" : faults.front();
}

} // namespace

TEST_CASE("whatever is edited, all undone is the file as it was, all redone as it became", "[job]") {
    for (std::uint32_t seed = 1; seed <= 4; ++seed) {
        INFO("seed " << seed);
        CHECK(undone_and_redone(seed, 10).empty());
    }
}

TEST_CASE("undo and redo hold for any edits", "[job][long]") {
    CHECK(rc::check([] {
        const auto seed = *rc::gen::arbitrary<std::uint32_t>();
        const int edits = *rc::gen::inRange(1, 30);
        const std::string fault = undone_and_redone(seed, edits);
        if (!fault.empty()) RC_FAIL(fault);
    }));
}

// ---- two programs at once ---------------------------------------------------------------------------

TEST_CASE("two programs on one job see each other's edits and history", "[job]") {
    const ScratchFolder session;
    const fs::path file = session.path / "bus.sparecoat";
    JobFile one = JobFile::create(file, minibus()), two = JobFile::open(file);
    CHECK_FALSE(two.changed_elsewhere());
    add_visit(one, "2026-03-14");
    CHECK(two.changed_elsewhere());
    CHECK_FALSE(two.changed_elsewhere());
    CHECK_FALSE(one.changed_elsewhere());
    CHECK(two.all<Visit>().size() == 1);
    CHECK(two.revision() == 1);
    CHECK(two.undo()->label == "visit 2026-03-14");
    CHECK(one.all<Visit>().empty());
    CHECK(one.revision() == 2);
}

TEST_CASE("a change to what another program changed meanwhile is refused, to another part of it is kept",
          "[job]") {
    const ScratchFolder session;
    const fs::path file = session.path / "bus.sparecoat";
    JobFile one = JobFile::create(file, minibus()), two = JobFile::open(file);
    const Vehicle seen_by_both = one.vehicle();
    Vehicle of_one = seen_by_both, of_two = seen_by_both;
    of_one.note = "from one", of_two.description = "from two";
    one.edit("a note", [&] { one.change(seen_by_both, of_one); });
    two.edit("a description", [&] { two.change(seen_by_both, of_two); });
    CHECK(one.vehicle().note == "from one");
    CHECK(one.vehicle().description == "from two");
    of_two = seen_by_both;
    of_two.note = "from two";
    CHECK_THROWS_AS(two.edit("another note", [&] { two.change(seen_by_both, of_two); }), ChangedElsewhere);
    CHECK(one.vehicle().note == "from one");
}

TEST_CASE("writers take turns and lose nothing of each other's", "[job]") {
    const ScratchFolder session;
    const fs::path file = session.path / "bus.sparecoat";
    JobFile::create(file, minibus());
    constexpr int writers = 3, edits = 15;
    std::vector<std::thread> threads;
    for (int writer = 0; writer < writers; ++writer)
        threads.emplace_back([&file] {
            JobFile job = JobFile::open(file);
            for (int k = 0; k < edits; ++k)
                job.edit("count", [&] {
                    // Read and written in one edit: whoever comes second reads what the first left.
                    const Vehicle was = job.vehicle();
                    Vehicle now = was;
                    now.note = std::to_string(was.note.empty() ? 1 : std::stoi(was.note) + 1);
                    job.change(was, now);
                });
        });
    for (std::thread& thread : threads) thread.join();
    const JobFile job = JobFile::open(file);
    CHECK(job.vehicle().note == std::to_string(writers * edits));
    CHECK(job.history().size() == writers * edits);
    CHECK(job.check().empty());
}

TEST_CASE("an undo waits for another program's edit, and takes that back", "[job]") {
    const ScratchFolder session;
    const fs::path file = session.path / "bus.sparecoat";
    JobFile one = JobFile::create(file, minibus()), two = JobFile::open(file);
    add_visit(two, "2026-03-14");
    // Which edit is the last is read before anything is written: only who stands in line from the start reads
    // it right.
    std::string undone;
    std::thread other;
    two.edit("a slow one", [&] {
        Visit visit;
        visit.date = "2026-03-15";
        two.add(visit);
        other = std::thread([&] {
            try {
                undone = one.undo()->label;
            } catch (const std::exception& error) {
                undone = error.what();
            }
        });
        std::this_thread::sleep_for(std::chrono::milliseconds(100)); // time enough to come too early
    });
    other.join();
    CHECK(undone == "a slow one");
    CHECK(two.all<Visit>().size() == 1);
}

TEST_CASE("what is read at one moment stays, while another program writes", "[job]") {
    const ScratchFolder session;
    const fs::path file = session.path / "bus.sparecoat";
    JobFile one = JobFile::create(file, minibus());
    const JobFile two = JobFile::open(file);
    std::thread writer;
    two.at_one_moment([&] {
        CHECK(two.all<Visit>().empty());
        writer = std::thread([&one] { add_visit(one, "2026-03-14"); });
        std::this_thread::sleep_for(std::chrono::milliseconds(50));
        CHECK(two.all<Visit>().empty());
    });
    writer.join();
    CHECK(two.all<Visit>().size() == 1);
}

// ---- encodings --------------------------------------------------------------------------------------

TEST_CASE("SHA-256 and base64 are those of their standards", "[job]") {
    // NIST, FIPS 180-2, appendix B.1 and B.2, and the empty message of the CAVP short message tests.
    CHECK(sha256("abc") == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    CHECK(sha256("abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq") ==
          "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1");
    CHECK(sha256("") == "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");
    // RFC 4648, section 10.
    const std::pair<const char*, const char*> vectors[] = {{"", ""},
                                                           {"f", "Zg=="},
                                                           {"fo", "Zm8="},
                                                           {"foo", "Zm9v"},
                                                           {"foob", "Zm9vYg=="},
                                                           {"fooba", "Zm9vYmE="},
                                                           {"foobar", "Zm9vYmFy"}};
    for (const auto& [bytes, text] : vectors) {
        CHECK(to_base64(bytes) == text);
        CHECK(from_base64(text) == bytes);
    }
    const std::string all_bytes("\0\x01\x7f\x80\xff\xfe\n", 7);
    CHECK(from_base64(to_base64(all_bytes)) == all_bytes);
    for (const char* bad : {"Zg=", "Z!==", "====", "Zg==Zg=="})
        CHECK_THROWS_AS(from_base64(bad), std::invalid_argument);
}
