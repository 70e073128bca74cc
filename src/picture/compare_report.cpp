#include "picture/compare_report.hpp"
#include "decide/cautions.hpp"
#include "picture/chart/chart.hpp"
#include "picture/chart/colour_bar.hpp"
#include "picture/compare_maps.hpp"
#include "picture/compare_table.hpp"
#include "picture/document/text.hpp"
#include "picture/document/writers.hpp"
#include "picture/map_drawing.hpp"
#include <algorithm>
#include <fmt/format.h>
#include <fmt/ranges.h>

namespace sparecoat::picture {
namespace {

using document::Document;
using document::Image;
using document::Items;
using document::Paragraph;
using document::PdfLook;
using document::Picture;
using document::Section;
using document::Table;

constexpr double margin = 42, column_gap = 10, report_line_gap = 1.34;
const TextStyle title_style{17, true, ink}, heading_style{11.5, true, ink}, body_style{9, false, ink},
    small_style{8, false, quiet_ink}, head_style{8.5, true, ink};
/// Units of a map's drawing to points: its smallest writing then is 7 points high.
constexpr double map_points = 0.44;
constexpr double tallest_map = 215;

double line_height(const TextStyle& style) { return report_line_gap * style.size; }

PdfLook made_pdf_look() {
    PdfLook look;
    look.margin = look.top = look.foot_line = margin, look.foot = margin + 30;
    look.line_gap = report_line_gap;
    look.title = title_style, look.body = body_style, look.small = small_style, look.notice = head_style;
    look.headings[0] = look.headings[1] = {heading_style, 0, 12, 0, 3, false};
    look.heading_room = 26;
    look.item_indent = 10, look.item_below = 1.5;
    look.text_whole = true;
    look.table.cell = {8.5, false, ink}, look.table.head = head_style;
    look.table.pad_right = column_gap, look.table.below = 3;
    look.table.rule_up = 1, look.table.head_rule_colour = hairline;
    look.table.rows_whole = true;
    look.numbers_of_all = look.named_by_running = false;
    look.clean = [](const std::string& text) { return text; };
    return look;
}

const PdfLook& pdf_look() {
    static const PdfLook look = made_pdf_look();
    return look;
}

// ---- maps -------------------------------------------------------------------------------------------

/// A map as it lies in a column of the page, so wide.
MapFrame frame_for(const Panel& panel, double width_pt) {
    constexpr double air = 26;
    const Bounds box = bounds_of_outline(panel);
    MapFrame frame;
    frame.width = width_pt / map_points - axis_gutter;
    frame.units_per_m =
        std::min((frame.width - 2 * air) / box.width(), (tallest_map / map_points - 2 * air) / box.height());
    frame.height = box.height() * frame.units_per_m + 2 * air;
    frame.middle = 0.5 * (box.low + box.high);
    return frame;
}

Scale scale_of(const HeatmapSpec& spec) {
    return locked_scale(spec.range->low_um * per_um(spec), spec.range->high_um * per_um(spec));
}

/// The colours from end to end in one line, with numbers below.
Picture legend(const HeatmapSpec& spec, const std::string& quantity, double page_width) {
    constexpr double height = 9, over = 12, under = 14;
    return {page_width, over + height + under, quantity,
            [spec, quantity, page_width](const Canvas& canvas, double x, double y) {
                const Scale scale = scale_of(spec);
                const double width = 0.6 * page_width, left = x + 0.2 * page_width;
                ColourBarLook look;
                look.upright = false, look.pieces = 128, look.overlap = 0.6;
                look.title = {{left + width / 2, y + 8}, {small_style}, Align::centre};
                look.numbers = {small_style}, look.lower = 9, look.align = Align::centre;
                paint(CanvasPainter(canvas), {*spec.colours, scale, quantity, unit_of(spec)},
                      {left, y + over, width, height}, look);
            }};
}

/// A map's title in as many lines as a title may have.
std::vector<std::string> title_lines(const std::string& title, double width) {
    constexpr std::size_t most = 4;
    std::vector<std::string> lines = wrap_text(title, head_style, width);
    if (lines.size() > most) {
        lines.resize(most);
        lines.back() += " \u2026";
    }
    return lines;
}

/// Two maps in a row under their titles, all of one scale, and the legend below them.
/// @param quantity that all of them show.
void add_maps(Section& section, const std::vector<HeatmapSpec>& maps, const std::string& quantity,
              double page_width) {
    const double column = (page_width - column_gap) / 2;
    const MapFrame shape = frame_for(maps.front().panel, column);
    const double map_height = (shape.height + axis_foot) * map_points;
    for (std::size_t k = 0; k < maps.size(); k += 2) {
        const std::vector<HeatmapSpec> row(maps.begin() + static_cast<std::ptrdiff_t>(k),
                                           maps.begin() +
                                               static_cast<std::ptrdiff_t>(std::min(k + 2, maps.size())));
        std::size_t lines = 1;
        for (const HeatmapSpec& map : row)
            lines = std::max(lines, title_lines(map.title, column - 2 * column_gap).size());
        const double titles = static_cast<double>(lines) * line_height(head_style) + 4;
        const auto draw = [=](const Canvas& canvas, double x, double top) {
            for (std::size_t n = 0; n < row.size(); ++n) {
                const double left = x + static_cast<double>(n) * (column + column_gap);
                double y = top;
                for (const std::string& line : title_lines(row[n].title, column - 2 * column_gap)) {
                    canvas.text(left, y + head_style.size, line, head_style);
                    y += line_height(head_style);
                }
                cairo_save(canvas.cairo());
                cairo_translate(canvas.cairo(), left, top + titles);
                cairo_scale(canvas.cairo(), map_points, map_points);
                MapFrame frame = shape;
                frame.x = axis_gutter;
                draw_map(canvas, row[n], scale_of(row[n]), frame);
                cairo_restore(canvas.cairo());
            }
        };
        // The legend stays with the last of them.
        section.blocks.push_back(
            Picture{page_width, titles + map_height, quantity, draw, k + 2 >= maps.size() ? 40.0 : 0.0});
    }
    section.blocks.push_back(legend(maps.front(), quantity, page_width));
}

constexpr const char* axes_words = "Each chart has its own axis, which need not begin at 0.";
constexpr const char* charts_words = "Measures with their intervals";

Section charts_section(const Comparison& comparison, FilmUnit unit, double page_width) {
    constexpr std::size_t columns = 3;
    constexpr double height = 96; // four rows of them below a map
    const double width = (page_width - (columns - 1) * column_gap) / columns;
    Section section{.heading = charts_words, .room = height + line_height(small_style)};
    section.blocks.push_back(Paragraph{axes_words, Paragraph::Tone::quiet});
    for (std::size_t from = 0; from < all_measures.size(); from += columns)
        section.blocks.push_back(Picture{
            page_width, height, charts_words, [=, &comparison](const Canvas& canvas, double x, double y) {
                for (std::size_t k = from; k < std::min(from + columns, all_measures.size()); ++k)
                    draw_chart(
                        canvas,
                        {x + static_cast<double>(k - from) * (width + column_gap), y, width, height - 8, 6.5},
                        measure_chart(comparison, all_measures[k], unit));
            }});
    return section;
}

std::string title_of(const Comparison& comparison) {
    return fmt::format("{}: {} techniques compared", comparison.panel().name, comparison.techniques.size());
}

std::vector<std::string> lines_of(std::span<const std::string_view> lines) {
    return {lines.begin(), lines.end()};
}

std::vector<std::string> compared_lines(const Comparison& comparison) {
    std::vector<std::string> lines;
    for (const ComparedTechnique& one : comparison.techniques)
        lines.push_back(fmt::format("{}  {}: {}", one.letter, one.job.step.technique.name, worked_with(one)));
    return lines;
}

/// First column's share of the width, the rest evenly.
Section table_section(const TextTable& text, double first_share) {
    Table table;
    for (std::size_t k = 0; k < text.head.size(); ++k)
        table.columns.push_back(
            {text.head[k],
             k == 0 ? first_share : (1 - first_share) / static_cast<double>(text.head.size() - 1)});
    table.rows = text.rows;
    return {.heading = text.title, .blocks = {std::move(table)}, .whole = true};
}

Section list_section(const char* heading, std::vector<std::string> lines) {
    return {.heading = heading,
            .blocks = {Items{std::move(lines)}},
            .whole = true,
            .room = 3 * line_height(body_style)};
}

/// Where the report is read: what is a list in a browser is lines on paper, which has less room.
enum class Medium { paper, browser };

Section what_was_compared(const Comparison& comparison, Medium medium) {
    using Tone = Paragraph::Tone;
    Section section;
    if (medium == Medium::browser) section.blocks.push_back(Items{compared_lines(comparison)});
    else
        for (const std::string& line : compared_lines(comparison))
            section.blocks.push_back(Paragraph{line, Tone::plain, section.blocks.empty() ? 4.0 : 0.0});
    section.blocks.push_back(Paragraph{ground_of(comparison)});
    section.blocks.push_back(Paragraph{std::string(estimate_notice), Tone::notice, 4});
    return section;
}

Section in_short(const Comparison& comparison, FilmUnit unit) {
    Section section{.heading = "In short", .room = 3 * line_height(body_style)};
    for (const std::string& warning : warnings_of(comparison))
        section.blocks.push_back(Paragraph{warning, Paragraph::Tone::notice});
    for (std::size_t t = 1; t < comparison.techniques.size(); ++t) {
        double above = 3;
        for (const std::string& sentence : what_differs(comparison, t, unit)) {
            section.blocks.push_back(Paragraph{sentence, Paragraph::Tone::plain, above});
            above = 0;
        }
    }
    if (comparison.settings.empty())
        section.blocks.push_back(Paragraph{"The techniques have the same settings."});
    return section;
}

Section highest_chances(const Comparison& comparison, Medium medium) {
    std::vector<std::string> weakest;
    for (std::size_t t = 0; t < comparison.techniques.size(); ++t)
        weakest.push_back(weakest_text(comparison, t));
    if (medium == Medium::browser)
        return {.blocks = {Paragraph{"Highest chance of burning through:"}, Items{std::move(weakest)}}};
    return {.blocks = {Paragraph{fmt::format("Highest chance: {}", fmt::join(weakest, "; ")),
                                 Paragraph::Tone::quiet}}};
}

/// The report but for its pictures, doubts and cautions.
Document figures_of(const Comparison& comparison, FilmUnit unit, Medium medium) {
    Document report;
    report.title = title_of(comparison);
    report.running = "Sparecoat. An estimate from a model: the film gauge decides.";
    report.sections = {what_was_compared(comparison, medium), in_short(comparison, unit)};
    if (!comparison.settings.empty())
        report.sections.push_back(table_section(settings_table(comparison), 0.25));
    report.sections.push_back(table_section(measures_table(comparison, unit), 0.3));
    report.sections.push_back(highest_chances(comparison, medium));
    for (std::size_t t = 1; t < comparison.techniques.size(); ++t)
        report.sections.push_back(table_section(differences_table(comparison, t, unit), 0.4));
    report.sections.push_back({.blocks = {Paragraph{interval_words(comparison), Paragraph::Tone::quiet}}});
    return report;
}

void add_doubts(Document& report, const Comparison& comparison, FilmUnit unit) {
    report.sections.push_back(list_section("What is unsure", doubts_of(comparison, unit)));
    report.sections.push_back(list_section("Cautions", lines_of(cautions)));
}

void add_maps(Document& report, const char* heading, const std::vector<HeatmapSpec>& maps,
              const char* quantity, const std::string& beyond, double page_width) {
    Section section{.heading = heading, .room = tallest_map};
    add_maps(section, maps, quantity, page_width);
    if (!beyond.empty()) section.blocks.push_back(Paragraph{beyond, Paragraph::Tone::quiet});
    report.sections.push_back(std::move(section));
}

constexpr const char* style_sheet =
    "body{font:15px/1.45 sans-serif;color:#21242b;max-width:1100px;margin:2em auto;padding:0 1em}"
    "table{border-collapse:collapse;margin:0 0 1em}th,td{text-align:left;vertical-align:top;padding:.25em "
    "1.2em .25em 0;"
    "border-bottom:1px solid #c7ccd1}img{max-width:100%;height:auto}figure{margin:1em 0}.quiet{color:#5c616b}"
    ".notice{font-weight:bold}.wide,figure{overflow-x:auto}"
    // On a telephone a picture keeps a size at which its writing can be read, and is moved under the glass.
    "@media screen and "
    "(max-width:640px){h1{font-size:1.5em}h2{font-size:1.2em}ul{padding-left:1.2em}td,th{padding-right:.6em}"
    "figure img{max-width:none;width:720px}}"
    "@media "
    "print{body{margin:0;max-width:none;font-size:10.5pt}.whole,tr,li{break-inside:avoid}h2{break-after:"
    "avoid}"
    "img{max-height:22cm;width:auto}}@page{margin:15mm}";

} // namespace

void write_report_pdf(const std::filesystem::path& file, const Comparison& comparison, FilmUnit unit,
                      PaperSize paper_size) {
    const ComparedMaps maps(comparison, unit);
    std::vector<HeatmapSpec> lost, over;
    for (std::size_t t = 0; t < comparison.techniques.size(); ++t) {
        lost.push_back(maps.lost(t));
        if (t > 0) over.push_back(maps.over_first(t));
    }
    const double page_width = (paper_size == PaperSize::a4 ? a4_width_pt : letter_width_pt) - 2 * margin;
    Document report = figures_of(comparison, unit, Medium::paper);
    add_maps(report, "Where the film goes: mean over the draws", lost, "film lost", maps.beyond_lost(),
             page_width);
    add_maps(report, "What is taken more (brown) and less (blue)", over, "film lost over A",
             maps.beyond_over(), page_width);
    report.sections.push_back(charts_section(comparison, unit, page_width));
    add_doubts(report, comparison, unit);
    write_picture(file, pdf_of(report, paper_size, pdf_look()));
}

std::string report_html(const Comparison& comparison, FilmUnit unit, const std::vector<Image>& pictures) {
    Document report = figures_of(comparison, unit, Medium::browser);
    for (const Image& picture : pictures) {
        Section section{.heading = picture.words, .whole = true};
        if (picture.media_type == "image/svg+xml")
            section.blocks.push_back(Paragraph{axes_words, Paragraph::Tone::quiet});
        section.blocks.push_back(picture);
        report.sections.push_back(std::move(section));
    }
    add_doubts(report, comparison, unit);
    return html_of(report, {.style = style_sheet,
                            .spaced = false,
                            .wide_tables = true,
                            .named_by_running = false,
                            .clean = document::without_controls});
}

} // namespace sparecoat::picture
