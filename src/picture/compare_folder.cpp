#include "picture/compare_folder.hpp"
#include "picture/canvas.hpp"
#include "picture/chart/chart.hpp"
#include "picture/compare_maps.hpp"
#include "picture/compare_words.hpp"
#include "picture/run_folder.hpp"
#include <fmt/format.h>
#include <fstream>
#include <iterator>
#include <nlohmann/json.hpp>

namespace sparecoat::picture {
namespace {

/// A field of a CSV: in quotes where it holds what ends one.
std::string csv_field(const std::string& text) {
    if (text.find_first_of(",\"\r\n") == std::string::npos) return text;
    std::string quoted = "\"";
    for (const char c : text) quoted += c == '"' ? std::string("\"\"") : std::string(1, c);
    return quoted + '"';
}

std::string bytes_of(const std::filesystem::path& file) {
    std::ifstream in(file, std::ios::binary);
    return {std::istreambuf_iterator<char>(in), {}};
}

/// All measures beside each other, in rows of three.
void draw_measures(const std::filesystem::path& svg, const Comparison& comparison, FilmUnit unit) {
    constexpr int columns = 3;
    constexpr double width = 260, height = 160, gap = 14;
    const int rows = (static_cast<int>(all_measures.size()) + columns - 1) / columns;
    Canvas canvas(PageFormat::svg, columns * (width + gap) + gap, rows * (height + gap) + gap, {1, 1, 1});
    int at = 0;
    for (const Measure measure : all_measures) {
        draw_chart(
            canvas,
            {gap + at % columns * (width + gap), gap + at / columns * (height + gap), width, height, 9},
            measure_chart(comparison, measure, unit));
        ++at;
    }
    canvas.write(svg);
}

} // namespace

std::string comparison_csv(const Comparison& comparison) {
    std::string out = "measure,unit,letter,technique,against,value,low,high,p,p_adjusted,verdict\n";
    for (const Measure measure : all_measures) {
        const MeasureInfo& info = info_of(measure);
        const auto line = [&](std::size_t t, const char* against, const Estimate& e,
                              const std::string& rest) {
            out += fmt::format("{},{},{},{},{},{},{},{},{}\n", info.id, info.unit, letter_of(comparison, t),
                               csv_field(comparison.techniques[t].job.request.technique), against, e.mean,
                               e.low, e.high, rest);
        };
        for (std::size_t t = 0; t < comparison.techniques.size(); ++t)
            line(t, "", comparison.techniques[t].estimates[static_cast<std::size_t>(measure)], ",,");
        for (std::size_t t = 1; t < comparison.techniques.size(); ++t) {
            const ComparedDifference& d = comparison.difference(t, measure);
            line(t, "A", d.paired.estimate,
                 fmt::format("{},{},{}", d.paired.p, d.p_adjusted, noise_text(comparison, d)));
        }
    }
    return out;
}

nlohmann::json write_comparison(const std::filesystem::path& folder, const Comparison& comparison,
                                FilmUnit unit, PaperSize paper_size) {
    const ComparedMaps maps(comparison, unit);
    const std::string title =
        fmt::format("{}: film lost, mean of {} draws", comparison.panel().name, comparison.draws);
    std::vector<HeatmapSpec> lost;
    std::vector<document::Image> pictures;
    const auto take_in = [&](const std::string& words, const std::string& file,
                             const char* type = "image/png") {
        pictures.push_back({words, type, bytes_of(folder / file)});
    };
    for (std::size_t t = 0; t < comparison.techniques.size(); ++t) {
        lost.push_back(maps.lost(t));
        draw_heatmap(folder / fmt::format("film_lost-{}.png", letter_of(comparison, t)), lost.back());
    }
    draw_side_by_side(folder / "film_lost.png", {title, {ground_of(comparison)}, 2000}, lost);
    take_in("Where the film goes: mean over the draws", "film_lost.png");
    for (std::size_t t = 1; t < comparison.techniques.size(); ++t) {
        const std::string letter = letter_of(comparison, t), file = fmt::format("difference-{}.png", letter);
        draw_heatmap(folder / file, maps.over_first(t));
        take_in(fmt::format("What {} takes more (brown) and less (blue) than A", letter), file);
    }
    draw_measures(folder / "measures.svg", comparison, unit);
    take_in("Measures with their intervals", "measures.svg", "image/svg+xml");
    write_report_pdf(folder / "report.pdf", comparison, unit, paper_size);
    write_text_file(folder / "report.html", report_html(comparison, unit, pictures));
    write_text_file(folder / "compare.csv", comparison_csv(comparison));
    nlohmann::json document = comparison_json(comparison);
    write_json(folder / "compare.json", document);
    return document;
}

} // namespace sparecoat::picture
