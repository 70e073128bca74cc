// A job file: making and opening it, older files, the rules of its tables.
#include "support/job_file_support.hpp"
#include <catch2/catch.hpp>

namespace test_job_file {
namespace fs = std::filesystem;
using namespace sparecoat::cli;
using namespace sparecoat::test;
using Catch::Matchers::Contains;
using namespace sparecoat::test::job_file_support;

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

} // namespace test_job_file
