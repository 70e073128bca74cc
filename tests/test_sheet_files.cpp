// Sheets of a job: as HTML and CSV, with little to say, of a shop, as a command.
#include "support/planned_job.hpp"
#include <catch2/catch.hpp>

namespace test_sheet_files {
namespace fs = std::filesystem;
using namespace sparecoat::cli;
using namespace sparecoat::test;
using Catch::Matchers::Contains;
using nlohmann::json;
using namespace sparecoat::test::planned_job;

// ---- HTML and CSV ---------------------------------------------------------------------------------------

TEST_CASE("a sheet as HTML is well formed, stands alone and says what the PDF says", "[sheet]") {
    PlannedJob session({"left flap", "right flap"});
    session.read(0, 3);
    for (const SheetTerms& terms : {SheetTerms{}, customer()}) {
        const fs::path html = session.sheet("sheet.html", terms);
        const std::string page = bytes_of(html), text = text_of_html(html);
        for (const char* outside : {"http", "<script", "<link", "url(", "@import"})
            CHECK_THAT(page, !Contains(outside));
        for (const char* words : {"Minibus 3", "left flap", "right flap", "2026-03-14, spring"})
            CHECK_THAT(text, Contains(words));
        if (terms.reader == SheetFor::customer) continue;
        CHECK_THAT(page, Contains("src=\"data:image/svg+xml;base64,"));
        for (const char* words : {"hold the pad's rim back 20 mm from the left edge",
                                  "polish on medium foam 150 mm", "6 mm from the left edge", "28 points"})
            CHECK_THAT(text, Contains(words));
    }
}

TEST_CASE("a sheet as CSV has a row for each panel, step and reading", "[sheet]") {
    PlannedJob session({"left flap", "right flap"});
    session.read(0, 2), session.read(0, 1, true);
    const json rows = rows_of_csv(session.sheet("sheet.csv"));
    REQUIRE(rows.size() == 2 + 4 + 3);
    CHECK(rows[0]["row"] == "panel");
    CHECK(rows[0]["what"] == "less than the target");
    const json& polish = rows[1];
    CHECK(polish["row"] == "step");
    CHECK(polish["what"] == "polish on medium foam 150 mm");
    CHECK(polish["kept_off"] ==
          "hold the pad's rim back 20 mm from the left edge; tape 12 mm along the top edge");
    using Cells = std::vector<std::pair<const char*, const char*>>;
    for (const auto& [key, value] : Cells{{"sets", "2"},
                                          {"passes", "6"},
                                          {"arm_speed_mm_s", "40"},
                                          {"force_n", "45"},
                                          {"pad_speed_per_min", "4500"},
                                          {"minutes", "30"},
                                          {"film", "1.8"},
                                          {"film_unit", "um"},
                                          {"machine", "da-15"}})
        CHECK(polish[key] == value);
    const json& reading = rows[3];
    CHECK(reading["row"] == "reading");
    for (const auto& [key, value] : Cells{{"what", "before"},
                                          {"of", "total"},
                                          {"film", "112"},
                                          {"x_mm", "50"},
                                          {"y_mm", "60"},
                                          {"readings", "3"}})
        CHECK(reading[key] == value);
    SheetTerms mil = customer();
    mil.unit = FilmUnit::mil;
    const json for_customer = rows_of_csv(session.sheet("sheet.csv", mil));
    REQUIRE(for_customer.size() == 2);
    CHECK(for_customer[0]["film_unit"] == "mil");
    CHECK(std::stod(for_customer[0]["film"].get<std::string>()) ==
          Approx(2 / 25.4).epsilon(1e-4)); // 2 µm lost at the spot read twice
    CHECK(bytes_of(session.sheet("sheet.csv")).find("\r\n") != std::string::npos);
}

TEST_CASE("names with quotes, commas, angle brackets, line breaks and umlauts come out as they are",
          "[sheet]") {
    const std::string name = "Tür \"links\", <hinten> & unten";
    PlannedJob session({name});
    session.job.edit("a note", [&] {
        Note note;
        note.panel = session.panels[0], note.text = "first\nsecond \x01 <b>'bold'</b>";
        session.job.add(note);
    });
    CHECK_THAT(words_of(session.sheet("sheet.pdf")),
               Contains(name) && Contains("first second") && Contains("<b>'bold'</b>"));
    CHECK_THAT(text_of_html(session.sheet("sheet.html")),
               Contains(name) && Contains("first second") && Contains("<b>'bold'</b>"));
    CHECK(rows_of_csv(session.sheet("sheet.csv"))[0]["panel"] == name);
}

// ---- little to say ------------------------------------------------------------------------------------

TEST_CASE("a visit without a plan gives a sheet of what there is, and says so", "[sheet]") {
    PlannedJob session({"flap"}, "test-plate", false);
    session.read(0, 2);
    const std::string bench = words_of(session.sheet("sheet.pdf"));
    CHECK_THAT(bench, Contains("This visit has no plan yet") && Contains("112.00 µm on average") &&
                          Contains("all of the allowance of 10.00 µm"));
    CHECK_THAT(bench, Contains("eye protection") && !Contains("Order of work"));
    CHECK_THAT(words_of(session.sheet("sheet.pdf", customer())),
               Contains("No work is planned yet for this visit") && Contains("nothing planned yet"));
    CHECK(rows_of_csv(session.sheet("sheet.csv")).size() == 3);
    text_of_html(session.sheet("sheet.html"));
}

TEST_CASE("a plan of a file that kept panels alone is printed without an order of work", "[sheet]") {
    PlannedJob session({"flap"});
    session.job.edit("as version 2 had it", [&] {
        const Visit was = session.visit();
        Visit now = was;
        now.plan.reset();
        session.job.change(was, now);
    });
    CHECK_THAT(words_of(session.sheet("sheet.pdf")),
               Contains("kept no order of work") &&
                   Contains("hold the pad's rim back 20 mm from the left edge"));
}

TEST_CASE("a job without readings and one without panels print", "[sheet]") {
    const PlannedJob unread({"flap"});
    CHECK_THAT(words_of(unread.sheet("sheet.pdf")), Contains("Nothing was read on this visit"));
    CHECK_THAT(words_of(unread.sheet("sheet.pdf", customer())),
               Contains("Not measured on this visit; the clear coat is taken as 38.00 ± 3.00 µm"));
    const PlannedJob bare({}, "test-plate", false);
    for (const SheetTerms& terms : {SheetTerms{}, customer()}) {
        CHECK(faults_of(bare.sheet("sheet.pdf", terms)) == none);
        CHECK_THAT(words_of(bare.sheet("sheet.pdf", terms)), Contains("panel"));
        CHECK(rows_of_csv(bare.sheet("sheet.csv", terms)).empty());
        text_of_html(bare.sheet("sheet.html", terms));
    }
}

TEST_CASE("a sheet of an earlier visit tells what was then", "[sheet]") {
    PlannedJob session({"flap"});
    const Visit last_year = session.job.all<Visit>().front();
    session.job.edit("work", [&] {
        Work work;
        work.panel_visit = session.job.at_visit(last_year.id, session.panels[0]).id,
        work.done = "one set of polish";
        work.gauge = GaugeColumns(GaugePair{112, 110.5, 12, 12, 1});
        session.job.add(work);
    });
    write_sheet(session.folder.path / "then.pdf", session.job, last_year, {});
    CHECK_THAT(words_of(session.folder.path / "then.pdf"), Contains("one set of polish") &&
                                                               Contains("8.50 ± 0.41 µm of the allowance") &&
                                                               !Contains("2026"));
    CHECK_THAT(words_of(session.sheet("now.pdf")),
               Contains("2025-05-02, last year one set of polish 1.50 ± 0.41 8.50 ± 0.41"));
}

// ---- the shop -----------------------------------------------------------------------------------------

TEST_CASE("the shop's name, lines and logo stand over the first page", "[sheet]") {
    const PlannedJob session({"flap"});
    const fs::path shop = session.folder.path / "shop.json";
    write_png(session.folder.path / "logo.png", 400, 100);
    write_text(
        shop,
        R"({"kind": "shop", "name": "Coach & Paint Workshop", "lines": ["1 Depot Yard", "Telephone 555"],
            "logo": "logo.png"})");
    SheetTerms terms;
    terms.shop = load_shop(shop);
    CHECK(terms.shop.logo == session.folder.path / "logo.png");
    const fs::path pdf = session.sheet("sheet.pdf", terms);
    CHECK_THAT(words_of(pdf), Contains("Coach & Paint Workshop 1 Depot Yard Telephone 555 Job sheet"));
    CHECK_THAT(said_by("pdfimages -list " + shell_word(pdf)), Contains("400"));
    CHECK(faults_of(pdf) == none);
    CHECK_THAT(bytes_of(session.sheet("sheet.html", terms)),
               Contains("src=\"data:image/png;base64,") && Contains("Coach &amp; Paint Workshop"));
    CHECK_THAT(said_by("pdfimages -list " + shell_word(session.sheet("bare.pdf"))), !Contains("400"));
}

TEST_CASE("a logo that is none is refused in words, and no sheet is left", "[sheet]") {
    const PlannedJob session({"flap"});
    const fs::path logo = session.folder.path / "logo.png";
    const auto said = [&](const fs::path& file) {
        SheetTerms terms;
        terms.shop.logo = file;
        return std::string(refusal([&] { session.sheet("sheet.pdf", terms); }).what());
    };
    CHECK_THAT(said(logo), Contains("logo.png") && Contains("no such file"));
    CHECK_THAT(said(session.folder.path), Contains("a folder"));
    write_text(logo, "GIF89a and so on");
    CHECK_THAT(said(logo),
               Contains("a file that is no PNG") && Contains("a PNG of up to 4 MiB and 4000 pixels a side"));
    write_png(logo, 64, 64);
    const std::string whole = bytes_of(logo);
    write_text(logo, whole.substr(0, 12));
    CHECK_THAT(said(logo), Contains("cut off"));
    write_text(logo, whole.substr(0, whole.size() / 2));
    CHECK_THAT(said(logo), Contains("a damaged PNG"));
    write_png(logo, 4001, 2);
    CHECK_THAT(said(logo), Contains("4001 x 2 pixels"));
    write_text(logo, std::string(5U << 20U, 'x'));
    CHECK_THAT(said(logo), Contains("a file of 5242880 bytes"));
    CHECK_FALSE(fs::exists(session.folder.path / "sheet.pdf"));
}

// ---- as a command -------------------------------------------------------------------------------------

TEST_CASE("job sheet writes what was asked for and refuses the rest", "[sheet][cli]") {
    const PlannedJob session({"left flap"});
    const std::string program =
        fmt::format("cd '{}' && XDG_CONFIG_HOME='{}' '{}' job sheet bus.sparecoat ",
                    session.folder.path.string(), (session.folder.path / "config").string(), built_program());
    fs::create_directories(session.folder.path / "config/sparecoat");
    write_text(session.folder.path / "config/sparecoat/shop.json",
               R"({"kind": "shop", "name": "Usual Workshop"})");
    write_text(session.folder.path / "other.json", R"({"kind": "shop", "name": "Other Workshop"})");
    CHECK_THAT(said_by(program + "--for bench --out sheet.pdf"), Contains("Written      sheet.pdf"));
    CHECK_THAT(words_of(session.folder.path / "sheet.pdf"),
               Contains("Usual Workshop") && Contains("Job sheet"));
    said_by(program +
            "--for customer --page letter --unit mil --settings other.json --visit spring --out sheet.pdf");
    CHECK_THAT(words_of(session.folder.path / "sheet.pdf"),
               Contains("Other Workshop") && Contains("0.3937 mil") && !Contains("Usual"));
    CHECK_THAT(said_by("pdfinfo " + shell_word(session.folder.path / "sheet.pdf")), Contains("letter"));
    const auto refused = [&](const std::string& words) {
        return said_by(program + words + "; [ $? -eq 2 ]");
    };
    CHECK_THAT(refused("--for nobody --out a.pdf"), Contains("--for") && Contains("bench"));
    CHECK_THAT(refused("--for bench --out a.docx"), Contains("a sheet that ends in .pdf, .html or .csv"));
    CHECK_THAT(refused("--for bench --page a5 --out a.pdf"), Contains("--page") && Contains("a4"));
    CHECK_THAT(refused("--for bench --settings none.json --out a.pdf"),
               Contains("none.json: found no such file"));
    CHECK_THAT(refused("--for bench --visit autumn --out a.pdf"), Contains("--visit"));
    CHECK_THAT(refused("--for bench"), Contains("--out"));
    CHECK_THAT(refused("--for bench --out missing/a.pdf"), Contains("missing/a.pdf"));
    write_text(session.folder.path / "bad.json", R"({"kind": "shop", "name": "X", "colour": "red"})");
    CHECK_THAT(refused("--for bench --settings bad.json --out a.pdf"), Contains("colour"));
    CHECK_FALSE(fs::exists(session.folder.path / "a.pdf"));
}

TEST_CASE("a customer's sheet affords as many corrections as the job shows, less the one that is planned",
          "[sheet][life]") {
    PlannedJob session({"flap"}, "test-plate", false);
    VehiclePlan plan = vehicle_plan({"flap"});
    plan.panels[0].outlook.film_um = {1.2, 1.8, 2.4}; // half of 90 % is 0.6
    session.keep(plan);
    const JobPanel panel = session.job.get<JobPanel>(session.panels[0]);
    const HowOften planned = film_life(session.job, panel).corrections.value();
    CHECK(planned.low == Approx(10 / (1.8 + 0.6)));  // 4.2
    CHECK(planned.high == Approx(10 / (1.8 - 0.6))); // 8.3
    CHECK_THAT(words_of(session.sheet("planned.pdf", customer())),
               Contains("once the work is done; that is enough for the same work about 3 to 7 times more"));

    // One spot, 2 µm of loss that the gauge can hardly tell from none: nobody knows how often that goes in.
    session.read(0, 1), session.read(0, 1, true);
    const HowOften read = film_life(session.job, panel).corrections.value();
    CHECK(read.low == Approx(10 / (2 + 1.6449 * std::sqrt(2.0 / 3)) - 1).epsilon(1e-4)); // 1.99
    CHECK(read.high == Approx(10 / (2 - 1.6449 * std::sqrt(2.0 / 3)) - 1).epsilon(1e-4));
    CHECK_THAT(words_of(session.sheet("read.pdf", customer())),
               Contains("enough for the same work about 1 to 14 times more"));
}

TEST_CASE("a sheet of an earlier visit knows nothing of later ones", "[sheet][life]") {
    PlannedJob session({"flap"});
    session.read(0, 2), session.read(0, 2, true);
    const SheetTerms terms = customer();
    const auto of_last_year = [&] {
        write_sheet(session.folder.path / "old.pdf", session.job, session.job.all<Visit>().front(), terms);
        return words_of(session.folder.path / "old.pdf");
    };
    CHECK_THAT(of_last_year(), Contains("all of it: 10.00 µm") && !Contains("times more"));
}

} // namespace test_sheet_files
