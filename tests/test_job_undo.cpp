// A job file: undo and redo, two programs at once, its encodings.
#include "support/job_file_support.hpp"
#include <catch2/catch.hpp>

namespace test_job_undo {
namespace fs = std::filesystem;
using namespace sparecoat::cli;
using namespace sparecoat::test;
using Catch::Matchers::Contains;
using namespace sparecoat::test::job_file_support;

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

} // namespace test_job_undo
