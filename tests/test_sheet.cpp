// The printed job sheet, read back with other programs: poppler's pdftotext and pdfinfo, Python's XML, HTML
// and CSV readers.
#include "library/shop.hpp"
#include "picture/canvas.hpp"
#include "picture/sheet.hpp"
#include "support/files.hpp"
#include "support/job_world.hpp"
#include "support/places.hpp"
#include "support/process.hpp"
#include "support/refusal.hpp"
#include "units/quantity.hpp"
#include "vehicle/film_life.hpp"
#include "vehicle/job_json.hpp"
#include "vehicle/job_plan.hpp"
#include <algorithm>
#include <array>
#include <catch2/catch.hpp>
#include <fmt/format.h>
#include <nlohmann/json.hpp>
#include <regex>
#include <sstream>

namespace fs = std::filesystem;
using namespace sparecoat::cli;
using namespace sparecoat::test;
using Catch::Matchers::Contains;
using nlohmann::json;

namespace {

/// A PDF's words with single blanks, so that where a line was broken does not matter.
std::string words_of(const fs::path& pdf) {
    return std::regex_replace(said_by("pdftotext -raw " + shell_word(pdf) + " -"), std::regex("\\s+"), " ");
}

int pages_of(const fs::path& pdf) {
    const std::string info = said_by("pdfinfo " + shell_word(pdf));
    std::smatch found;
    REQUIRE(std::regex_search(info, found, std::regex("Pages: +(\\d+)")));
    return std::stoi(found[1]);
}

struct Word {
    double x0, y0, x1, y1;
    std::string text;
};
struct PageOfWords {
    double width, height;
    std::vector<Word> words;
};

std::vector<PageOfWords> boxes_of(const fs::path& pdf) {
    static const std::regex page("<page width=\"([0-9.]+)\" height=\"([0-9.]+)\">"),
        word("<word xMin=\"([-0-9.]+)\" yMin=\"([-0-9.]+)\" xMax=\"([-0-9.]+)\" "
             "yMax=\"([-0-9.]+)\">(.*)</word>");
    std::vector<PageOfWords> pages;
    std::istringstream lines(said_by("pdftotext -bbox " + shell_word(pdf) + " -"));
    std::smatch found;
    for (std::string line; std::getline(lines, line);) {
        if (std::regex_search(line, found, page))
            pages.push_back({std::stod(found[1]), std::stod(found[2]), {}});
        else if (std::regex_search(line, found, word))
            pages.back().words.push_back({std::stod(found[1]), std::stod(found[2]), std::stod(found[3]),
                                          std::stod(found[4]), found[5]});
    }
    return pages;
}

/// Words beyond 16 mm from the sides, 14 mm from head and foot; words that lie upon each other.
std::vector<std::string> faults_of(const fs::path& pdf) {
    constexpr double side = 45, head = 39,
                     touching = 0.6; // pt; glyph boxes of neighbouring lines may meet by less
    std::vector<std::string> faults;
    for (const PageOfWords& page : boxes_of(pdf))
        for (std::size_t a = 0; a < page.words.size(); ++a) {
            const Word& one = page.words[a];
            if (one.x0 < side || one.x1 > page.width - side || one.y0 < head - 14 ||
                one.y1 > page.height - 22)
                faults.push_back(fmt::format("\"{}\" at {}, {} lies outside", one.text, one.x0, one.y0));
            for (std::size_t b = a + 1; b < page.words.size(); ++b) {
                const Word& other = page.words[b];
                const double wide = std::min(one.x1, other.x1) - std::max(one.x0, other.x0),
                             high = std::min(one.y1, other.y1) - std::max(one.y0, other.y0);
                if (wide > touching && high > touching)
                    faults.push_back(
                        fmt::format("\"{}\" and \"{}\" at {}, {}", one.text, other.text, one.x0, one.y0));
            }
        }
    return faults;
}
const std::vector<std::string> none;

/// Python's verdict on a sheet: well-formed XML but for its first line, and HTML whose tags close; all its
/// text.
std::string text_of_html(const fs::path& html) {
    const fs::path script = html.parent_path() / "read.py";
    write_text(script, R"(
import sys, xml.etree.ElementTree as tree
from html.parser import HTMLParser
page = open(sys.argv[1], encoding='utf-8').read()
root = tree.fromstring(page.split('\n', 1)[1])
open_tags = []
class Reader(HTMLParser):
    def handle_starttag(self, tag, attributes): open_tags.append(tag)
    def handle_startendtag(self, tag, attributes): pass
    def handle_endtag(self, tag): assert open_tags.pop() == tag
reader = Reader()
reader.feed(page)
reader.close()
assert not open_tags
print(' '.join(' '.join(root.find('body').itertext()).split()))
)");
    return said_by("python3 " + shell_word(script) + " " + shell_word(html));
}

json rows_of_csv(const fs::path& csv) {
    const fs::path script = csv.parent_path() / "rows.py";
    write_text(script, "import csv, json, sys\nprint(json.dumps(list(csv.DictReader(open(sys.argv[1], "
                       "encoding='utf-8', newline=''), strict=True))))\n");
    return json::parse(said_by("python3 " + shell_word(script) + " " + shell_word(csv)));
}

// ---- a job ------------------------------------------------------------------------------------------

PlannedStep step(const std::string& words, int sets, std::vector<std::string> kept_off = {}) {
    PlannedStep s;
    s.id = "da-15+medium-foam-150+polish", s.words = words, s.machine = "da-15", s.pad = "Medium foam 150 mm",
    s.liquid = "Polish";
    s.sets = sets, s.kept_off = std::move(kept_off);
    s.technique.name = words, s.technique.machine = "da-15", s.technique.pad = "medium-foam-150",
    s.technique.liquid = "polish";
    s.technique.force_n = 45, s.technique.speed_rad_s = 4500 * per_min, s.technique.arm_speed_m_s = 40 * mm,
    s.technique.passes = 6;
    s.open_um = 0.9 * sets, s.time_s = 900.0 * sets, s.peak_film_c = 41, s.charges = 8 * sets,
    s.liquid_ml = 48.0 * sets;
    s.lost_mean_um = 0.8, s.lost_median_um = 0.8, s.lost_worst_um = 3.1;
    s.summary = std::make_shared<const json>(json{{"kind", "sparecoat-run"}});
    return s;
}

PanelPlan panel_plan(const std::string& name) {
    PanelPlan p;
    p.name = name, p.panel.panel = "test-plate", p.area_m2 = 0.3;
    p.decision = PanelDecision::less, p.limited_by = PlanLimit::reserve;
    p.reason = "As far as it goes: 2 sets of polish clear 86 % (72 to 94 %) for 1.80 µm of film.";
    p.doubts = {"no gauge readings: the clear coat is the paint's nominal"};
    p.steps = {step("polish on medium foam 150 mm", 2,
                    {"hold the pad's rim back 20 mm from the left edge", "tape 12 mm along the top edge"}),
               step("finishing polish on soft foam 150 mm", 1)};
    p.steps.front().technique.hold_back_edge_m["left"] = 20 * mm,
    p.steps.front().technique.tape_edge_m["top"] = 12 * mm;
    p.outlook.share = {0.72, 0.86, 0.94}, p.outlook.film_um = {1.3, 1.8, 2.4}, p.outlook.haze = 1.4;
    p.outlook.chance_of_target = 0.31, p.outlook.chance_of_keeping = 0.99;
    p.sure_share = 0.78, p.share_whole = 0.83, p.open_keeping = 0.99, p.chance_of_keeping = 0.97,
    p.keeping_error = 0.004;
    p.weakest = "6 mm from the left edge";
    RegionAtRisk region;
    region.spot.at = {0.02, 0.2}, region.spot.place = "6 mm from the left edge";
    region.spot.removed_um = 12, region.spot.clear_before_um = 30, region.spot.clear_left_um = 18;
    region.chance = 0.031, region.standard_error = 0.004, region.area_m2 = 3e-4;
    p.at_risk = {region};
    p.clear_um = 38, p.clear_sd_um = 3, p.chips = 4, p.allowance_left_um = 8.5;
    p.options = {{"leave it as it is", 0.0, 0.0, 0.0},
                 {"have it resprayed: a new clear coat, every mark gone", {}, 1.0, {}}};
    p.time_s = 3200;
    return p;
}

VehiclePlan vehicle_plan(const std::vector<std::string>& names) {
    VehiclePlan plan;
    plan.name = "Minibus 3";
    for (const std::string& name : names) plan.panels.push_back(panel_plan(name));
    std::vector<std::size_t> all;
    for (std::size_t p = 0; p < names.size(); ++p) all.push_back(p);
    plan.order = {
        {"da-15+medium-foam-150+polish", "polish on medium foam 150 mm", all, 4000},
        {"da-15+soft-foam-150+finishing-polish", "finishing polish on soft foam 150 mm", all, 2400}};
    plan.time_s = 6400, plan.film_um = 1.8, plan.share = 0.78;
    plan.pads = {{"Medium foam 150 mm", 3}, {"Soft foam 150 mm", 2}},
    plan.liquids_ml = {{"Polish", 96}, {"Finishing polish", 48}};
    plan.papers = {{"P2000", 2}}, plan.machine_s = {{"da-15", 1800}, {"rotary-1000", 600}};
    plan.front = {{1.8, 0.78, 6400}, {2.4, 0.8, 7000}};
    plan.chosen = plan.front.front();
    return plan;
}

/// A job of panels of one shape, planned at a visit.
class PlannedJob {
public:
    explicit PlannedJob(const std::vector<std::string>& names, const std::string& shape = "test-plate",
                        bool planned = true)
        : job(JobFile::create(folder.path / "bus.sparecoat", minibus())), names_(names) {
        for (const std::string& name : names) panels.push_back(add_panel(job, name, shape));
        add_visit(job, "2025-05-02", "last year");
        add_visit(job, "2026-03-14", "spring");
        for (const Id panel : panels)
            job.edit("looked at", [&] {
                const PanelVisit was = job.at_visit(visit().id, panel);
                PanelVisit now = was;
                now.clean = true,
                now.defects = bring_in(job, shipped_presets(), "defects", "severe").document;
                job.change(was, now);
            });
        if (planned) keep(vehicle_plan(names));
    }

    Visit visit() const { return *job.last_visit(); }
    Id at(std::size_t panel) { return job.panel_visit(visit().id, panels[panel])->id; }
    void keep(const VehiclePlan& plan) {
        JobForPlan from;
        from.panels = job.all<JobPanel>(),
        from.assumed = {(names_.empty() ? "" : names_.front()) + ": its film is what an earlier visit left"};
        store_plan(job, visit(), from, plan, asked);
    }
    void read(std::size_t panel, int spots, bool after_work = false) {
        const Id here = at(panel);
        job.edit("readings", [&] {
            for (int k = 0; k < spots; ++k) {
                FilmReading row = reading(here, 0.05 + 0.055 * (k % 9), after_work ? 110 : 112, after_work);
                row.y_m = 0.06 + 0.09 * (k / 9), row.n = 3;
                job.add(row);
            }
        });
    }
    fs::path sheet(const std::string& name, SheetTerms terms = {}) const {
        write_sheet(folder.path / name, job, visit(), terms);
        return folder.path / name;
    }

    ScratchFolder folder;
    JobFile job;
    std::vector<Id> panels;
    AskedExposure asked{{{"da-15", 3.5}}, {{"sander", 4, 1800}}};

private:
    std::vector<std::string> names_;
};

SheetTerms customer() {
    SheetTerms terms;
    terms.reader = SheetFor::customer;
    return terms;
}
SheetTerms on_letter(SheetTerms terms) {
    terms.page = SheetPage::letter;
    return terms;
}

void write_png(const fs::path& file, int width, int height) {
    Canvas(width, height, 1, Rgb{0.2, 0.2, 0.2}).write_png(file);
}

} // namespace

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
            Contains(terms.page == SheetPage::a4 ? "595.276 x 841.89 pts (A4)" : "612 x 792 pts (letter)"));
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
    CHECK_THAT(text, Contains("About 86 in 100 marks go (72 to 94)") &&
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
        R"({"kind": "shop", "name": "Coach & Paint Workshop", "lines": ["1 Depot Yard", "Telephone 555"], "logo": "logo.png"})");
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
