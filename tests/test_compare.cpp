// Techniques compared: what is told apart, what is noise, and the report that says so.
#include "decide/open_cells.hpp"
#include "finish/step_marks.hpp"
#include "picture/compare_folder.hpp"
#include "picture/compare_maps.hpp"
#include "picture/compare_table.hpp"
#include "study/compare.hpp"
#include "support/files.hpp"
#include "support/nonempty.hpp"
#include "support/places.hpp"
#include "support/process.hpp"
#include "support/refusal.hpp"
#include "units/quantity.hpp"
#include <algorithm>
#include <cairo.h>
#include <catch2/catch.hpp>
#include <cmath>
#include <fmt/format.h>
#include <map>
#include <nlohmann/json.hpp>
#include <regex>

namespace test_compare {
using namespace sparecoat::cli;
using namespace sparecoat::test;
using Catch::Matchers::Contains;
using nlohmann::json;
namespace fs = std::filesystem;

namespace {

json technique(const std::string& name, const json& changes = json::object()) {
    json out = {
        {"kind", "technique"},
        {"name", name},
        {"machine", "da-mini-12"},
        {"pad", "medium-foam-75"},
        {"liquid", "polish"},
        {"force", "20 N"},
        {"speed", "4500/min"},
        {"arm_speed", "100 mm/s"},
        {"passes", 1},
        {"hand", {{"force", "8 %"}, {"arm_speed", "10 %"}, {"tilt", "0.5 deg"}, {"spacing", "5 mm"}}}};
    out.merge_patch(changes);
    return out;
}

/// A small plate and techniques as files, in a folder of the test's own.
struct ComparedPlate {
    ScratchFolder folder;
    Library library{source_at("presets")};
    CompareRequest request;

    ComparedPlate() {
        json plate = {
            {"kind", "panel"}, {"name", "Plate"}, {"substrate", "steel"}, {"outline", json::array()}};
        const std::pair<const char*, const char*> corners[] = {
            {"0 mm", "0 mm"}, {"240 mm", "0 mm"}, {"240 mm", "200 mm"}, {"0 mm", "200 mm"}};
        const char* edges[] = {"bottom", "right", "top", "left"};
        for (std::size_t k = 0; k < 4; ++k)
            plate["outline"].push_back({{"at", {corners[k].first, corners[k].second}}, {"edge", edges[k]}});
        write_text(folder.path / "plate.json", plate.dump());
        request.run.panel = (folder.path / "plate.json").string();
        request.run.grid_m = 4 * mm;
        request.terms.replicates = 6;
    }
    std::string add(const std::string& file, const json& content) const {
        write_text(folder.path / file, content.dump());
        return (folder.path / file).string();
    }
    Comparison compare(const std::vector<std::string>& techniques, int threads = 2) {
        request.techniques = techniques;
        return compare_techniques(library, request, threads);
    }
};

const ComparedDifference& difference(const Comparison& c, Measure measure, std::size_t t = 1) {
    return c.difference(t, measure);
}
double mean(const Comparison& c, std::size_t t, Measure m) {
    return c.techniques[t].estimates[static_cast<std::size_t>(m)].mean;
}

/// All numbers in a line of the report, a true minus being one.
std::vector<double> numbers_in(std::string line) {
    for (std::size_t at; (at = line.find("\u2212")) != std::string::npos;) line.replace(at, 3, "-");
    std::vector<double> out;
    const std::regex number(R"([+-]?\d+(\.\d+)?)");
    for (std::sregex_iterator it(line.begin(), line.end(), number), end; it != end; ++it)
        out.push_back(std::stod(it->str()));
    return out;
}

std::vector<std::string> lines_of(const std::string& text) {
    std::vector<std::string> lines{""};
    for (const char c : text) {
        if (c == '\n') lines.emplace_back();
        else lines.back() += c;
    }
    return lines;
}

} // namespace

TEST_CASE("a technique against itself differs by exactly nothing, and that is noise", "[compare]") {
    ComparedPlate world;
    const json same = technique("Wipe");
    const Comparison c = world.compare({world.add("one.json", same), world.add("other.json", same)});
    for (const Measure measure : all_measures) {
        INFO(info_of(measure).id);
        const ComparedDifference& d = difference(c, measure);
        CHECK(d.paired.estimate.mean == 0);
        CHECK(d.paired.estimate.low == 0);
        CHECK(d.paired.estimate.high == 0);
        CHECK(d.p_adjusted == 1);
        CHECK_FALSE(d.more_than_noise);
        CHECK(noise_text(c, d) == "within noise");
    }
    for (const float over : lost_over_first_um(c, 1)) CHECK((std::isnan(over) || over == 0));
    CHECK(c.settings.empty());
    CHECK_THAT(what_differs(c, 1, FilmUnit::um).front(), Contains("does nothing otherwise"));
}

TEST_CASE("a compound takes more film and clears more marks than a polish, and that is more than noise",
          "[compare]") {
    ComparedPlate world;
    const Comparison c =
        world.compare({world.add("polish.json", technique("Polish")),
                       world.add("cut.json", technique("Cut", {{"liquid", "cutting-compound"}}))});
    for (const Measure measure : {Measure::film_open, Measure::film_worst, Measure::cleared, Measure::haze}) {
        INFO(info_of(measure).id);
        CHECK(difference(c, measure).more_than_noise);
        CHECK(difference(c, measure).paired.estimate.low > 0);
        CHECK(mean(c, 1, measure) > mean(c, 0, measure));
    }
    // The arm goes the same way in the same draws, so that time cannot differ at all.
    CHECK(difference(c, Measure::time).paired.estimate.mean == 0);
    REQUIRE(c.settings.size() == 1);
    CHECK(c.settings.front().name == "liquid");
    CHECK(c.settings.front().values.front() != c.settings.front().values.back());
    const std::string says = what_differs(c, 1, FilmUnit::um).front();
    CHECK_THAT(says, Contains("Against A, B takes") && Contains("more off the open panel") &&
                         Contains("more of the marks"));
}

TEST_CASE("a faster arm takes less time and less film, and only the hand's own part varies", "[compare]") {
    ComparedPlate world;
    const Comparison c =
        world.compare({world.add("slow.json", technique("Slow")),
                       world.add("fast.json", technique("Fast", {{"arm_speed", "150 mm/s"}}))});
    CHECK(difference(c, Measure::time).paired.estimate.high < 0);
    CHECK(difference(c, Measure::film_open).paired.estimate.high < 0);
    const Estimate& film = c.techniques[0].estimates[static_cast<std::size_t>(Measure::film_open)];
    CHECK(film.low < film.mean);
    CHECK(film.mean < film.high);
    // Common draws: what both sides share drops out, so the difference is surer than either figure alone
    // would make it.
    const auto& a = c.techniques[0].draws[static_cast<std::size_t>(Measure::film_open)];
    const auto& b = c.techniques[1].draws[static_cast<std::size_t>(Measure::film_open)];
    std::vector<double> turned(b.begin() + 1, b.end());
    turned.push_back(b.front());
    const auto width = [](const PairedDifference& d) { return d.estimate.high - d.estimate.low; };
    CHECK(width(paired_difference(a, b, 0.95)) < width(paired_difference(a, turned, 0.95)));
}

TEST_CASE("one more draw leaves the earlier ones as they are", "[compare]") {
    ComparedPlate world;
    const std::vector<std::string> both{world.add("a.json", technique("A")),
                                        world.add("b.json", technique("B", {{"force", "28 N"}}))};
    const Comparison six = world.compare(both);
    world.request.terms.replicates = 7;
    const Comparison seven = world.compare(both);
    for (const Measure measure : {Measure::film_open, Measure::peak, Measure::time}) {
        const auto& few = six.techniques[1].draws[static_cast<std::size_t>(measure)];
        const auto& more = seven.techniques[1].draws[static_cast<std::size_t>(measure)];
        REQUIRE(more.size() == 7);
        CHECK(std::equal(few.begin(), few.end(), more.begin()));
    }
}

TEST_CASE("a comparison is the same for one, two and four threads, to the last bit", "[compare]") {
    ComparedPlate world;
    const std::vector<std::string> three{
        world.add("a.json", technique("A")),
        world.add("b.json", technique("B", {{"liquid", "cutting-compound"}})),
        world.add("c.json", technique("C", {{"force", "28 N"}}))};
    world.request.terms.replicates = 9; // more than there are sums
    world.request.terms.reserve_um = 38;
    const Comparison one = world.compare(three, 1);
    CHECK(mean(one, 1, Measure::chance) > 0.01);
    for (const int threads : {2, 4}) {
        const Comparison again = world.compare(three, threads);
        CHECK(comparison_json(again) == comparison_json(one));
        for (std::size_t t = 0; t < 3; ++t)
            for (std::size_t k = 0; k < one.panel().grid.cells(); ++k)
                if (one.panel().inside[k])
                    REQUIRE(again.techniques[t].mean_removed_um[k] == one.techniques[t].mean_removed_um[k]);
    }
}

TEST_CASE("a steady hand is run once and leaves no noise to hide in", "[compare]") {
    ComparedPlate world;
    const json steady = {{"hand", nullptr}};
    const Comparison c =
        world.compare({world.add("a.json", technique("A", steady)),
                       world.add("b.json", technique("B", {{"hand", nullptr}, {"force", "25 N"}}))});
    CHECK_FALSE(c.hand_varies);
    CHECK(c.draws == 1);
    CHECK(noise_text(c, difference(c, Measure::film_open)) == "differs");
    CHECK(noise_text(c, difference(c, Measure::time)) == "the same");
    CHECK(comparison_json(c)["terms"]["draws"] == 0);
}

TEST_CASE("the highest chance is that of a single run where there is nothing to draw", "[compare]") {
    ComparedPlate world;
    world.request.terms.reserve_um = 38.5;
    const json steady = {{"hand", nullptr}, {"liquid", "cutting-compound"}};
    const Comparison c = world.compare({world.add("a.json", technique("A", steady)),
                                        world.add("b.json", technique("B", {{"hand", nullptr}}))});
    const ComparedTechnique& cut = c.techniques.front();
    ChanceTerms terms;
    terms.reserve_um = 38.5, terms.cut_sd = world.request.terms.cut_sd;
    const CellChance chance(terms);
    const RunResult result = simulate(cut.job);
    LossDoubt doubt(terms.cut_sd);
    doubt.add_step(result.fields, cut.job.step.liquid);
    double most = 0;
    std::size_t where = 0;
    for (std::size_t k = 0; k < cut.mean_removed_um.size(); ++k) {
        if (!c.panel().inside[k]) continue;
        const double at = chance.at(static_cast<double>(c.panel().clear_um[k]),
                                    static_cast<double>(c.panel().clear_sd_um[k]),
                                    static_cast<double>(cut.mean_removed_um[k]), doubt.sd_at(k));
        if (at > most) most = at, where = k;
    }
    CHECK(most > 0.1);
    CHECK(cut.weakest_cell == where);
    CHECK(mean(c, 0, Measure::chance) == Approx(most).epsilon(1e-6)); // kept as a float for each draw
}

TEST_CASE("too few, too many and twice the same are refused in words", "[compare]") {
    ComparedPlate world;
    const std::string a = world.add("a.json", technique("A")), b = world.add("b.json", technique("B"));
    CHECK_THAT(refusal([&] { world.compare({a}); }).what(),
               Contains("found one; allowed: 2 to 4 techniques"));
    CHECK_THAT(refusal([&] {
                   world.compare({a, b, "heavy-cut", "finishing-pass", "polish-da-15"});
               }).what(),
               Contains("found 5"));
    CHECK_THAT(refusal([&] { world.compare({a, b, a}); }).what(), Contains("a.json\" twice"));
    CHECK_THAT(refusal([&] { world.compare({a, "heavy-cat"}); }).what(), Contains("heavy-cut"));
    world.request.defects = "sevre";
    CHECK_THAT(refusal([&] { world.compare({a, b}); }).what(), Contains("severe"));
}

TEST_CASE("a comparison can be stopped", "[compare]") {
    ComparedPlate world;
    world.request.techniques = {world.add("a.json", technique("A")), world.add("b.json", technique("B"))};
    CHECK_THROWS_AS(compare_techniques(world.library, world.request, 1, [](double) { return false; }),
                    Stopped);
    double last = 0;
    compare_techniques(world.library, world.request, 1, [&](double share) { return last = share, true; });
    CHECK(last == Approx(1));
}

TEST_CASE("the report's numbers are the document's", "[compare]") {
    ComparedPlate world;
    const Comparison c = world.compare(
        {world.add("a.json", technique("A")),
         world.add("b.json", technique("B", {{"liquid", "cutting-compound"}, {"force", "28 N"}}))});
    const fs::path folder = world.folder.path / "out";
    fs::create_directory(folder);
    const json document = write_comparison(folder, c, FilmUnit::um, PaperSize::a4);
    CHECK(document == json::parse(bytes_of(folder / "compare.json")));
    const std::vector<std::string> lines =
        lines_of(said_by("pdftotext -layout '" + (folder / "report.pdf").string() + "' - 2>/dev/null"));
    const std::map<std::string, double> factors{{"um", 1}, {"share", 100}, {"GU", 1},
                                                {"C", 1},  {"s", 1},       {"", 1}};
    for (const json& measure : nonempty(document["measures"])) {
        const bool minutes = measure["id"] == "time";
        const double factor = minutes ? 1.0 / 60 : factors.at(measure["unit"]);
        std::vector<std::vector<double>> wanted(2);
        for (const json& t : measure["techniques"])
            for (const char* key : {"mean", "low", "high"})
                wanted[0].push_back(factor * t[key].get<double>());
        for (const char* key : {"difference", "low", "high"})
            wanted[1].push_back(factor * measure["against_first"][0][key].get<double>());
        // The heading is followed by the numbers: once in the table of measures, once in that of differences.
        std::size_t found = 0;
        for (const std::string& line : lines) {
            const std::string name = measure["name"];
            const std::size_t at = line.find(name);
            if (at == std::string::npos || line.find('(', at) == std::string::npos || found == 2) continue;
            const std::vector<double> shown = numbers_in(line.substr(at + name.size()));
            INFO(line);
            REQUIRE(shown.size() == wanted[found].size());
            // Every one of them is rounded to the digits it is shown with: two at the most, one at the least.
            for (std::size_t k = 0; k < shown.size(); ++k)
                CHECK(std::abs(shown[k] - wanted[found][k]) < 0.0501);
            ++found;
        }
        const bool has_width = wanted[0][1] < wanted[0][2] || wanted[1][1] < wanted[1][2];
        INFO(measure["id"]);
        CHECK((found == 2 || !has_width || measure["against_first"][0]["difference"] == 0));
    }
}

TEST_CASE("nothing in the report lies outside of its pages, on either paper", "[compare]") {
    ComparedPlate world;
    std::string long_name = "A technique with a name that goes on for very much longer than any column of a "
                            "table is wide, andthenaddsawordthatisquitetoolongtobebroken";
    for (int n = 0; n < 100; ++n) long_name += ", and it goes on and on, which takes more than a page";
    const Comparison c = world.compare({world.add("a.json", technique(long_name)),
                                        world.add("b.json", technique("B", {{"force", "28 N"}})),
                                        world.add("c.json", technique("C", {{"passes", 2}})),
                                        world.add("d.json", technique("D", {{"overlap", "60 %"}}))});
    for (const auto& [sheet, width, height] :
         {std::tuple{PaperSize::a4, 595.28, 841.89}, std::tuple{PaperSize::letter, 612.0, 792.0}}) {
        const fs::path pdf = world.folder.path / "report.pdf";
        write_report_pdf(pdf, c, FilmUnit::um, sheet);
        const std::string boxes = said_by("pdftotext -bbox '" + pdf.string() + "' - 2>/dev/null");
        const std::regex word(
            R"rx(<word xMin="([-\d.]+)" yMin="([-\d.]+)" xMax="([-\d.]+)" yMax="([-\d.]+)")rx");
        std::size_t words = 0;
        for (std::sregex_iterator it(boxes.begin(), boxes.end(), word), end; it != end; ++it, ++words) {
            const auto at = [&](std::size_t n) { return std::stod((*it)[n].str()); };
            // 30 points of margin are kept free of text on every side.
            if (at(1) < 30 || at(2) < 30 || at(3) > width - 30 || at(4) > height - 30) FAIL_CHECK(it->str());
        }
        CHECK(words > 300);
        CHECK_THAT(boxes, Contains(fmt::format("<page width=\"{:.0f}", std::floor(width))));
        // Pictures too: rendered, the outermost centimetre is blank.
        const fs::path stem = world.folder.path / "page";
        said_by("pdftoppm -png -r 36 '" + pdf.string() + "' '" + stem.string() + "' 2>/dev/null");
        int pages = 0;
        for (const auto& entry : fs::directory_iterator(world.folder.path)) {
            if (!entry.path().filename().string().starts_with("page")) continue;
            ++pages;
            cairo_surface_t* image = cairo_image_surface_create_from_png(entry.path().c_str());
            const int w = cairo_image_surface_get_width(image), h = cairo_image_surface_get_height(image);
            const unsigned char* data = cairo_image_surface_get_data(image);
            int inked = 0;
            for (int y = 0; y < h; ++y)
                for (int x = 0; x < w; ++x)
                    if ((x < 14 || y < 14 || x >= w - 14 || y >= h - 14) &&
                        data[y * cairo_image_surface_get_stride(image) + 4 * x] < 250)
                        ++inked;
            CHECK(inked == 0);
            cairo_surface_destroy(image);
            fs::remove(entry.path());
        }
        CHECK(pages > 2);
    }
}

TEST_CASE("a table whose rows take several lines is whole on its page, with its head", "[compare]") {
    ComparedPlate world;
    const Comparison c = world.compare({world.add("a.json", technique("A")),
                                        world.add("b.json", technique("B", {{"force", "28 N"}})),
                                        world.add("c.json", technique("C", {{"passes", 2}})),
                                        world.add("d.json", technique("D", {{"overlap", "60 %"}}))});
    const fs::path pdf = world.folder.path / "report.pdf";
    write_report_pdf(pdf, c, FilmUnit::um, PaperSize::a4);
    const std::string text = said_by("pdftotext -layout '" + pdf.string() + "' - 2>/dev/null");
    const std::size_t head = text.find("What it comes to"),
                      last = text.find("unevenness of the open panel", head);
    REQUIRE(last != std::string::npos);
    CHECK(text.substr(head, last - head).find('\f') == std::string::npos); // a page's end
}

TEST_CASE("a report warns of what burns through or gets too hot before it gives any figure", "[compare]") {
    ComparedPlate world;
    world.request.terms.reserve_um = 39.5; // of 40 that the paint has, so that nearly any loss is too much
    const Comparison c = world.compare({world.add("a.json", technique("A", {{"hand", nullptr}})),
                                        world.add("b.json", technique("B", {{"hand", nullptr},
                                                                            {"machine", "rotary-mini"},
                                                                            {"liquid", "cutting-compound"},
                                                                            {"speed", "3000/min"},
                                                                            {"force", "40 N"},
                                                                            {"arm_speed", "15 mm/s"},
                                                                            {"passes", 2}}))});
    CHECK(mean(c, 1, Measure::chance) > 0.5);
    CHECK(mean(c, 1, Measure::peak) > 60);
    const std::vector<std::string> warnings = warnings_of(c);
    REQUIRE(warnings.size() >= 2);
    CHECK_THAT(warnings[warnings.size() - 2], Contains("B is likely to burn through") && Contains("tape it"));
    CHECK_THAT(warnings.back(), Contains("B heats the film to") && Contains("too hot"));
    const std::string html = report_html(c, FilmUnit::um, {});
    CHECK(html.find("is likely to burn through") < html.find("Against A"));

    world.request.terms.reserve_um = 15;
    CHECK(warnings_of(world.compare({world.add("a.json", technique("A")),
                                     world.add("b.json", technique("B", {{"force", "22 N"}}))}))
              .empty());
}

TEST_CASE("names are text in the report and the table, whatever is in them", "[compare]") {
    ComparedPlate world;
    const std::string wild = "<script>alert(\"x\")</script> & 'so on'";
    const Comparison c = world.compare({world.add("a, \"b\".json", technique(wild)),
                                        world.add("b.json", technique("B", {{"force", "28 N"}}))});
    const fs::path folder = world.folder.path / "out";
    fs::create_directory(folder);
    write_comparison(folder, c, FilmUnit::mil, PaperSize::a4);
    const std::string html = bytes_of(folder / "report.html");
    CHECK_THAT(html, Contains("&lt;script&gt;alert(&quot;x&quot;)&lt;/script&gt; &amp; &#39;so on&#39;"));
    CHECK(html.find("<script") == std::string::npos);
    for (const char* outside : {"http:", "https:", "src=\"/", "url("})
        CHECK(html.find(outside) == std::string::npos);
    // Expat, by way of Python, takes it as XML.
    const std::string parsed =
        said_by("python3 -c \"import sys,xml.etree.ElementTree as e; r=e.parse(sys.argv[1]).getroot(); "
                "print(r.tag, len(list(r.iter('table'))), len(list(r.iter('img'))))\" '" +
                (folder / "report.html").string() + "' 2>&1");
    CHECK(parsed == "html 3 3\n");
    CHECK_THAT(said_by("pdftotext '" + (folder / "report.pdf").string() + "' - 2>/dev/null"),
               Contains("<script>"));
    // Python's csv module reads the file's name as it is.
    const std::string rows = said_by(
        "python3 -c \"import csv,sys; r=list(csv.DictReader(open(sys.argv[1]))); "
        "print(len(r), r[0]['technique'].endswith('a, \\\"b\\\".json'), all(None not in x for x in r))\" '" +
        (folder / "compare.csv").string() + "' 2>&1");
    CHECK(rows == "33 True True\n");
}

TEST_CASE("maps share their scales, and the differences have nothing in the middle", "[compare]") {
    ComparedPlate world;
    const Comparison c = world.compare(
        {world.add("a.json", technique("A")), world.add("b.json", technique("B", {{"force", "28 N"}})),
         world.add("c.json", technique("C", {{"liquid", "cutting-compound"}}))});
    const ComparedMaps maps(c, FilmUnit::um);
    for (std::size_t t = 0; t < 3; ++t) {
        CHECK(maps.lost(t).range->high_um == maps.lost(0).range->high_um);
        for (const float um : c.techniques[t].mean_removed_um)
            if (std::isfinite(um)) REQUIRE(static_cast<double>(um) <= maps.lost(t).range->high_um);
    }
    CHECK(maps.over_first(1).range->low_um == -maps.over_first(2).range->high_um);
    CHECK(maps.over_first(1).range->high_um == maps.over_first(2).range->high_um);
    const std::vector<float> over = lost_over_first_um(c, 2);
    for (std::size_t k = 0; k < over.size(); ++k)
        if (c.panel().inside[k])
            REQUIRE(over[k] == c.techniques[2].mean_removed_um[k] - c.techniques[0].mean_removed_um[k]);
}

// ---- what the measures are ------------------------------------------------------------------------

TEST_CASE("film and unevenness of the open panel are median and deviation over what is clear of edges by the "
          "largest pad",
          "[compare]") {
    ComparedPlate world;
    const Comparison c = world.compare(
        {world.add("a.json",
                   technique("A", {{"hand", nullptr}, {"machine", "da-15"}, {"pad", "medium-foam-150"}})),
         world.add("b.json", technique("B", {{"hand", nullptr}}))});
    for (std::size_t t = 0; t < 2; ++t) {
        const RunJob& job = c.techniques[t].job;
        const Fields fields = simulate(job.panel, setup_of(job), job.path).fields; // a steady hand's one draw
        std::vector<double> lost;
        for (const std::size_t k : open_cells(c.panel(), fields, 0.075).cells)
            lost.push_back(static_cast<double>(fields.removed_um[k]));
        std::ranges::sort(lost);
        CHECK(mean(c, t, Measure::film_open) == lost[(lost.size() - 1) / 2]);
        double sum = 0, squares = 0;
        for (const double um : lost) sum += um, squares += um * um;
        const double n = static_cast<double>(lost.size());
        CHECK(mean(c, t, Measure::unevenness) ==
              Approx(std::sqrt(squares / n - sum / n * sum / n) / (sum / n)).epsilon(1e-7));
        // No pad moves on by more than a sixth of its radius in a step.
        const double most_m = (t == 0 ? 0.075 : 0.0375) / 6;
        const std::vector<ArmSample>& path = job.path.samples;
        for (std::size_t k = 0; k + 1 < path.size(); ++k)
            if (norm(path[k + 1].at - path[k].at) > most_m * (1 + 1e-9)) FAIL_CHECK("step " << k);
    }
}

TEST_CASE("a pad that stalls is counted as standing, and what is off the panel has no film to lose",
          "[compare]") {
    ComparedPlate world;
    world.request.run.panel = "bumper-corner";
    const auto steady = [&](const char* name, const char* force) {
        json document = json::parse(bytes_of(source_at("docs/compare/corner-80.json")));
        document.erase("hand"), document["force"] = force, document["passes"] = 1;
        return world.add(name, document);
    };
    const Comparison c = world.compare({steady("light.json", "40 N"), steady("heavy.json", "80 N")});
    CHECK(mean(c, 0, Measure::stalled) == 0);
    CHECK(mean(c, 1, Measure::stalled) > 1);
    CHECK(mean(c, 1, Measure::turning) + mean(c, 1, Measure::stalled) ==
          Approx(mean(c, 0, Measure::turning))); // the same arm
    int off = 0;
    for (std::size_t k = 0; k < c.panel().inside.size(); ++k) {
        if (c.panel().inside[k]) continue;
        ++off;
        CHECK(std::isnan(c.techniques[0].mean_removed_um[k]));
    }
    CHECK(off > 0);
}

TEST_CASE("an interval keeps to what its measure can be, and a difference counts among all others",
          "[compare]") {
    ComparedPlate world;
    const json wild = {{"hand", {{"force", "30 %"}, {"arm_speed", "30 %"}, {"spacing", "20 mm"}}},
                       {"liquid", "cutting-compound"}};
    bool below = false, above = false, by_holm_alone = false;
    for (const double reserve_um : {24.0, 36.0}) { // a burn-through is a matter of one tail or the other
        world.request.terms.reserve_um = reserve_um;
        const Comparison c =
            world.compare({world.add("a.json", technique("A", wild)), world.add("b.json", technique("B"))});
        for (const ComparedTechnique& one : c.techniques)
            for (const Measure measure : all_measures) {
                const auto m = static_cast<std::size_t>(measure);
                const Estimate& estimate = one.estimates[m];
                const Estimate free = mean_estimate(one.draws[m], c.request.terms.confidence);
                below = below || free.low < info_of(measure).least,
                above = above || free.high > info_of(measure).most;
                CHECK(estimate.low >= info_of(measure).least);
                CHECK(estimate.high <= info_of(measure).most);
            }
        for (const ComparedDifference& d : c.differences) {
            CHECK(d.more_than_noise == (d.p_adjusted <= 0.05));
            const double widest = info_of(d.measure).most - info_of(d.measure).least;
            CHECK((d.paired.estimate.low >= -widest && d.paired.estimate.high <= widest));
            by_holm_alone = by_holm_alone || (d.paired.p < 0.05 && !d.more_than_noise);
        }
    }
    CHECK((below && above)); // as Student's intervals they would not
    CHECK(by_holm_alone);    // one of the differences is surer than 5 % by itself, and not among eleven
}

TEST_CASE("haze counts the marks that a worn abrasive leaves, not those of a fresh one", "[compare]") {
    ComparedPlate world;
    const json steady = {{"hand", nullptr}, {"liquid", "cutting-compound"}, {"force", "30 N"}, {"passes", 4}};
    const Comparison c = world.compare({world.add("a.json", technique("A", steady)),
                                        world.add("b.json", technique("B", {{"hand", nullptr}}))});
    const RunJob& job = c.techniques[0].job;
    const RunResult result = simulate(job.panel, setup_of(job), job.path);
    const auto haze_after = [&](double work_j) {
        MarkedPanel marked(job.panel, c.defects.marks);
        marked.step(result.fields.removed_um,
                    step_marks(job.step.liquid, job.step.pad, work_j, job.paint.softness));
        double sum = 0, cells = 0;
        for (std::size_t k = 0; k < job.panel.inside.size(); ++k)
            if (job.panel.inside[k]) sum += marked.finish_at(k).haze, ++cells;
        return sum / cells;
    };
    const double worn = haze_after(work_since_fresh_j(job.path, result.trace)), fresh = haze_after(0);
    CHECK(fresh > 1.1 * worn);
    CHECK(mean(c, 0, Measure::haze) ==
          Approx(worn).epsilon(0.02)); // 400 cells of 3,000, spread over the panel
}

} // namespace test_compare
