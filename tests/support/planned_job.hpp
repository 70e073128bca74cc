#pragma once
// Shared by the tests of sheets.
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

namespace sparecoat::test::planned_job {
namespace fs = std::filesystem;
using namespace sparecoat::cli;
using namespace sparecoat::test;
using Catch::Matchers::Contains;
using nlohmann::json;

/// A PDF's words with single blanks, so that where a line was broken does not matter.
inline std::string words_of(const fs::path& pdf) {
    return std::regex_replace(said_by("pdftotext -raw " + shell_word(pdf) + " -"), std::regex("\\s+"), " ");
}

inline int pages_of(const fs::path& pdf) {
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

inline std::vector<PageOfWords> boxes_of(const fs::path& pdf) {
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
inline std::vector<std::string> faults_of(const fs::path& pdf) {
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
inline const std::vector<std::string> none;

/// Python's verdict on a sheet: well-formed XML but for its first line, and HTML whose tags close; all its
/// text.
inline std::string text_of_html(const fs::path& html) {
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

inline json rows_of_csv(const fs::path& csv) {
    const fs::path script = csv.parent_path() / "rows.py";
    write_text(script, "import csv, json, sys\nprint(json.dumps(list(csv.DictReader(open(sys.argv[1], "
                       "encoding='utf-8', newline=''), strict=True))))\n");
    return json::parse(said_by("python3 " + shell_word(script) + " " + shell_word(csv)));
}

// ---- a job ------------------------------------------------------------------------------------------

inline PlannedStep step(const std::string& words, int sets, std::vector<std::string> kept_off = {}) {
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

inline PanelPlan panel_plan(const std::string& name) {
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
    p.sure_share = 0.78, p.share_whole = {0.78, 0.83, 0.88}, p.open_keeping = 0.99,
    p.chance_of_keeping = 0.97, p.keeping_error = 0.004;
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

inline VehiclePlan vehicle_plan(const std::vector<std::string>& names) {
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

inline SheetTerms customer() {
    SheetTerms terms;
    terms.reader = SheetFor::customer;
    return terms;
}
inline SheetTerms on_letter(SheetTerms terms) {
    terms.page = PaperSize::letter;
    return terms;
}

inline void write_png(const fs::path& file, int width, int height) {
    Canvas(width, height, 1, Rgb{0.2, 0.2, 0.2}).write_png(file);
}

} // namespace sparecoat::test::planned_job
