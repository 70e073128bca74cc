// Sheets of a job: the plan that a job keeps, and sheets on paper.
#include "support/planned_job.hpp"
#include <catch2/catch.hpp>

namespace test_sheet {
namespace fs = std::filesystem;
using namespace sparecoat::cli;
using namespace sparecoat::test;
using Catch::Matchers::Contains;
using nlohmann::json;
using namespace sparecoat::test::planned_job;

// ---- the plan in the job file -----------------------------------------------------------------------

TEST_CASE("a plan that a job keeps reads back as it was stored", "[sheet][job][plan]") {
    PlannedJob session({"flap", "lid"});
    const KeptPlan kept = kept_plan(session.job, session.visit()).value();
    CHECK(kept.whole);
    CHECK(kept.assumed == std::vector<std::string>{"flap: its film is what an earlier visit left"});
    CHECK(kept.asked.a_hv == session.asked.a_hv);
    REQUIRE(kept.asked.others.size() == 1);
    CHECK((kept.asked.others[0].what == "sander" && kept.asked.others[0].a_hv_m_s2 == 4 &&
           kept.asked.others[0].time_s == 1800));
    // Written again it is the same document; what makes up a spot's loss is not kept.
    const auto without_factors = [](json plan) {
        for (json& panel : plan["panels"])
            for (json& spot : panel["at_risk"]) spot.erase("factors"), spot.erase("against_open_panel");
        return plan;
    };
    CHECK(without_factors(plan_json(kept.plan)) == without_factors(plan_json(vehicle_plan({"flap", "lid"}))));
    session.job.undo();
    CHECK_FALSE(kept_plan(session.job, session.visit()));
}

TEST_CASE("a kept plan follows its panel's name and says which machines are rotaries", "[sheet][job][plan]") {
    PlannedJob session({"flap", "lid"});
    VehiclePlan plan = vehicle_plan({"flap", "lid"});
    plan.panels[1].steps[0].machine = "rotary-1000";
    session.job.edit("a kit", [&] {
        bring_in(session.job, shipped_presets(), "machine", "rotary-1000"),
            bring_in(session.job, shipped_presets(), "machine", "da-15");
    });
    session.keep(plan);
    const JobPanel lid = session.job.panel_named("lid").value();
    session.job.edit("another name", [&] {
        JobPanel bonnet = lid;
        bonnet.name = "bonnet";
        session.job.change(lid, bonnet);
    });
    const KeptPlan kept = kept_plan(session.job, session.visit()).value();
    CHECK(kept.plan.panels[1].name == "bonnet");
    CHECK(kept.plan.order[0].panels == std::vector<std::size_t>{0, 1});
    CHECK(kept.plan.panels[1].steps[0].rotary);
    CHECK_FALSE(kept.plan.panels[0].steps[0].rotary);
    CHECK_THAT(words_of(session.sheet("sheet.pdf")), Contains("a rotary catches on edges"));
}

TEST_CASE("a visit's plan goes out as JSON and in again", "[sheet][job][plan]") {
    const PlannedJob session({"flap", "lid"});
    const JobFile copy =
        job_from_json(session.folder.path / "copy.sparecoat", job_json(session.job), "job.json");
    REQUIRE(session.visit().plan);
    CHECK(copy.last_visit()->plan == session.visit().plan);
}

TEST_CASE("a plan that is none of ours is refused with where it stands", "[sheet][job][plan]") {
    PlannedJob session({"flap"}, "test-plate", false);
    session.job.edit("a plan from elsewhere", [&] {
        const PanelVisit was = session.job.panel_visit(session.visit().id, session.panels[0]).value();
        PanelVisit now = was;
        now.plan = R"({"steps": [{"sets": 2}]})";
        session.job.change(was, now);
    });
    const InputError error = refusal([&] { session.sheet("sheet.pdf"); });
    CHECK_THAT(error.what(), Contains("bus.sparecoat") && Contains("the plan of 2026-03-14") &&
                                 Contains("\"job plan\" makes it anew"));
    CHECK_FALSE(fs::exists(session.folder.path / "sheet.pdf"));
}

// ---- PDF ----------------------------------------------------------------------------------------------

TEST_CASE("a bench sheet has every panel, step, setting, hold-back and spot at risk", "[sheet]") {
    PlannedJob session({"left flap", "right flap"});
    session.read(0, 3), session.read(0, 2, true);
    for (const SheetTerms& terms : {SheetTerms{}, on_letter({})}) {
        const fs::path pdf = session.sheet("sheet.pdf", terms);
        const std::string text = words_of(pdf);
        for (const char* words : {"Minibus 3",
                                  "2026-03-14, spring",
                                  "left flap",
                                  "right flap",
                                  "polish on medium foam 150 mm",
                                  "finishing polish on soft foam 150 mm",
                                  "hold the pad's rim back 20 mm from the left edge",
                                  "tape 12 mm along the top edge",
                                  "no hold-back and no tape",
                                  "6 mm from the left edge",
                                  "3.1 % ± 0.4 %",
                                  "Film readings",
                                  "112.00 µm on average",
                                  "no gauge readings",
                                  "have it resprayed",
                                  "3 x Medium foam 150 mm",
                                  "2 x P2000",
                                  "Polish 96 ml",
                                  "1 h 47 min",
                                  "its film is what an earlier visit left",
                                  "reserve",
                                  "dust mask",
                                  "estimates from a model"})
            CHECK_THAT(text, Contains(words));
        // 40 mm/s, 45 N, 4500/min, 6 passes, 2 sets, in the order of the columns.
        CHECK_THAT(text, Contains("2 6 40 45 4500 30 min"));
        const int pages = pages_of(pdf);
        for (int page = 1; page <= pages; ++page)
            CHECK_THAT(text, Contains(fmt::format("page {} of {}", page, pages)));
        CHECK_THAT(
            said_by("pdfinfo " + shell_word(pdf)),
            Contains(terms.page == PaperSize::a4 ? "595.276 x 841.89 pts (A4)" : "612 x 792 pts (letter)"));
    }
}

TEST_CASE("a bench sheet adds up the day's vibration and says what it leaves out", "[sheet]") {
    const PlannedJob session({"flap"});
    const std::string text = words_of(session.sheet("sheet.pdf"));
    // ISO 5349-1:2001: a T/8h of 3.5 m/s² for 30 min and 4 m/s² for 30 min: sqrt((3.5² + 4²) / 16) = 1.329
    // m/s²; points 100 (a/2.5)² T/8h: 12.25 and 16.
    CHECK_THAT(text, Contains("da-15 3.5 30 min 12") && Contains("sander 4 30 min 16") &&
                         Contains("A(8) 1.3 m/s², 28 points: under the action value"));
    CHECK_THAT(text, Contains("action 2.5 m/s² or 100 points, limit 5 m/s² or 400 points") &&
                         Contains("rotary-1000: no value was given"));
    CHECK_THAT(text, Contains("A measurement and local rules come first"));
}

TEST_CASE("a customer's sheet says what was found, done and left in plain words", "[sheet]") {
    PlannedJob session({"left flap", "right flap"});
    session.read(0, 2), session.read(0, 2, true);
    session.job.edit("work", [&] {
        Work work;
        work.panel_visit = session.at(0), work.done = "polished twice";
        session.job.add(work);
    });
    const std::string text = words_of(session.sheet("sheet.pdf", customer()));
    // Two spots that lost 2 µm each, of 3 readings of 1 µm before and after: sd sqrt(4 x 1/3)/2 = 0.58; 10 -
    // 2 = 8 of the allowance; another 2 each, and both rest on the same readings, so that one more of them
    // makes the allowance a whole number: 10/(2 + 1.645 x 0.58) - 1 = 2.4 and 10/(2 - 1.645 x 0.58) - 1
    // = 8.5, whole times.
    CHECK_THAT(text, Contains("polished twice") && Contains("2.00 ± 0.58 µm of clear coat") &&
                         Contains("8.00 ± 0.58 µm of the allowance of 10.00 µm (about 80 %)"));
    CHECK_THAT(text, Contains("enough for the same work about 2 to 8 times more"));
    // Planned: 1.8 of 10, with (2.4 - 1.3)/3.29 for the sd.
    CHECK_THAT(text,
               Contains("8.20 ± 0.33 µm of the allowance of 10.00 µm (about 82 %), once the work is done"));
    CHECK_THAT(text, Contains("About 83 in 100 marks go, edges and all (78 to 88)") &&
                         Contains("Fine circular scratches from washing"));
    CHECK_THAT(text, Contains("too thin here to polish all marks out") && Contains("About 4 stone chips") &&
                         Contains("resprayed"));
    CHECK_THAT(text, Contains("Care of the result") && Contains("are estimates"));
    for (const char* jargon : {"haze", "A(8)", "rim", "/min", "kit", "sets", "reserve", "u, mm"})
        CHECK_THAT(text, !Contains(jargon));
}

TEST_CASE("a customer is not promised film that has to stay", "[sheet]") {
    PlannedJob session({"flap"}, "test-plate", false);
    VehiclePlan plan = vehicle_plan({"flap"});
    plan.panels[0].clear_um = 18.8,
    plan.panels[0].clear_sd_um = 1; // of which 15 have to stay and 1.8 (sd 0.33) go: 2 are left, not 8.2
    session.keep(plan);
    const std::string text = words_of(session.sheet("sheet.pdf", customer()));
    CHECK_THAT(
        text,
        Contains("only 2.00 ± 1.05 µm until the clear coat is down to the 15.00 µm that have to stay") &&
            !Contains("8.20"));
    CHECK_THAT(
        text, Contains("whether that is enough for the same work once more is not sure")); // 0.1 to 2.5 times
}

TEST_CASE("no printed word lies outside the page or upon another", "[sheet]") {
    PlannedJob session({"left rear door", "right rear door"}, "rear-door");
    session.read(0, 12), session.read(0, 5, true);
    for (const SheetTerms& reader : {SheetTerms{}, customer()})
        for (const SheetTerms& terms : {reader, on_letter(reader)})
            CHECK(faults_of(session.sheet("sheet.pdf", terms)) == none);
}

TEST_CASE("a panel's map names its edges and lines", "[sheet]") {
    const PlannedJob session({"rear door"}, "rear-door");
    const auto without_blanks = [](const std::string& text) {
        return std::regex_replace(text, std::regex(" "), "");
    }; // slanted words come out in pieces
    const std::string text = without_blanks(words_of(session.sheet("sheet.pdf")));
    for (const char* name : {"bottom", "window sill", "window left", "window top", "window right",
                             "waist line", "handle recess rim"})
        CHECK_THAT(text, Contains(without_blanks(name)));
    CHECK_THAT(text, !Contains(without_blanks("no room for")));
}

TEST_CASE("long names, long notes and forty readings stay on their pages", "[sheet]") {
    const std::string longest = "the rear door on the pavement side with the long name that goes on " +
                                std::string(150, 'x') + " and on";
    PlannedJob session({longest, "lid"});
    session.read(0, 40);
    session.job.edit("a long story", [&] {
        Note note;
        note.panel = session.panels[0];
        for (int k = 0; k < 400; ++k) note.text += fmt::format("sentence {} of the story. ", k);
        session.job.add(note);
        Work work;
        work.panel_visit = session.at(1);
        for (int k = 0; k < 300; ++k) work.done += fmt::format("pass {}, ", k);
        session.job.add(work);
        const Vehicle was = session.job.vehicle();
        Vehicle now = was;
        now.name = longest;
        session.job.change(was, now);
    });
    for (const SheetTerms& terms : {on_letter({}), customer()}) {
        const fs::path pdf = session.sheet("sheet.pdf", terms);
        CHECK(faults_of(pdf) == none);
        CHECK_THAT(words_of(pdf), Contains("pass 299,"));
    }
    const std::string bench = words_of(session.sheet("sheet.pdf"));
    CHECK_THAT(bench, Contains("sentence 399 of the story") && Contains("40 215 420"));
    // The readings go over a page's foot: there the table's head stands again.
    const std::string head = "No. u, mm v, mm Film Before, µm";
    const auto first = bench.find(head);
    REQUIRE(first != std::string::npos);
    CHECK(bench.find(head, first + 1) != std::string::npos);
}

TEST_CASE("no heading stands alone at a page's foot", "[sheet]") {
    int headings = 0;
    for (int spots = 0; spots < 24; spots += 6) { // the pages break somewhere else each time
        PlannedJob session({"lid"});
        session.read(0, spots);
        const fs::path pdf = session.sheet("sheet.pdf");
        const std::string text = said_by("pdftotext -layout " + shell_word(pdf) + " -");
        std::istringstream pages(text);
        for (std::string page; std::getline(pages, page, '\f');) {
            std::vector<std::string> lines;
            std::istringstream in(page);
            for (std::string line; std::getline(in, line);)
                if (line.find_first_not_of(' ') != std::string::npos) lines.push_back(line);
            if (lines.size() < 2) continue;
            const std::string last = lines[lines.size() - 2]; // above the foot's own line
            for (const char* heading :
                 {"Steps", "Spots at risk", "What to expect", "Unsure",
                  "What is left, and what else could be done", "Film readings",
                  "Done, and film over the vehicle's life", "Hand-arm vibration of the day",
                  "Noise, dust and other cautions", "Signed off", "No. u, mm"}) {
                CHECK(last.substr(last.find_first_not_of(' ')) != heading);
                headings += page.find(heading) != std::string::npos ? 1 : 0;
            }
        }
    }
    CHECK(headings > 30);
}

TEST_CASE("the same job gives the same sheet, byte for byte", "[sheet]") {
    const PlannedJob session({"lid"});
    for (const char* ending : {"pdf", "html", "csv"})
        CHECK(bytes_of(session.sheet(fmt::format("one.{}", ending))) ==
              bytes_of(session.sheet(fmt::format("two.{}", ending))));
}

} // namespace test_sheet
