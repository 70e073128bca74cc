#include "picture/compare_report.hpp"
#include "decide/cautions.hpp"
#include "formats/encoding.hpp"
#include "picture/chart.hpp"
#include "picture/compare_maps.hpp"
#include "picture/compare_table.hpp"
#include "picture/map_drawing.hpp"
#include <algorithm>
#include <fmt/format.h>

namespace sparecoat::picture {
namespace {

constexpr double margin = 42, foot = 30, column_gap = 10;
const TextStyle title_style{17, true, ink}, heading_style{11.5, true, ink}, body_style{9, false, ink},
    small_style{8, false, quiet_ink}, cell_style{8.5, false, ink}, head_style{8.5, true, ink};
/// Units of a map's drawing to points: its smallest writing then is 7 points high.
constexpr double map_points = 0.44;
constexpr double tallest_map = 215;

double line_height(const TextStyle& style) { return 1.34 * style.size; }

/// Pages that are written from the top down.
class Pages {
public:
    Pages(Sheet sheet, const std::string& title)
        : canvas_(PageFormat::pdf, sheet == Sheet::a4 ? a4_width_pt : letter_width_pt,
                  sheet == Sheet::a4 ? a4_height_pt : letter_height_pt, paper) {
        canvas_.describe(title, "Sparecoat");
    }

    const Canvas& canvas() const { return canvas_; }
    double width() const { return canvas_.width() - 2 * margin; }
    double y() const { return y_; }
    void go_down(double by) { y_ += by; }

    /// Goes on to the next page where so much does not fit any more.
    void keep_together(double height) {
        constexpr double rounding = 1e-6;
        if (y_ + height <= canvas_.height() - margin - foot + rounding || y_ <= margin) return;
        write_foot();
        canvas_.next_page();
        ++page_;
        y_ = margin;
    }

    /// The same, but what is taller than a page begins where it is: names and notes may be of any length.
    void keep_together_if_it_can(double height) {
        if (height <= most_height()) keep_together(height);
    }
    double most_height() const { return canvas_.height() - 2 * margin - foot; }

    void text(const std::string& words, const TextStyle& style, double indent = 0) {
        const std::vector<std::string> lines = wrap_text(words, style, width() - indent);
        keep_together_if_it_can(line_height(style) * static_cast<double>(lines.size()));
        for (const std::string& line : lines) {
            keep_together(line_height(style));
            canvas_.text(margin + indent, y_ + style.size, line, style);
            y_ += line_height(style);
        }
    }

    /// @param with_next height of what must not be parted from it.
    void heading(const std::string& words, double with_next) {
        keep_together(heading_height + with_next);
        y_ += 12;
        text(words, heading_style);
        y_ += 3;
    }

    void points(const std::vector<std::string>& lines) {
        for (const std::string& line : lines) {
            keep_together_if_it_can(line_height(body_style) *
                                    static_cast<double>(wrap_text(line, body_style, width() - 10).size()));
            canvas_.text(margin, y_ + body_style.size, "\u2022", body_style);
            text(line, body_style, 10);
            y_ += 1.5;
        }
    }

    /// Whole on a page where it fits on one; else with its head again on each, without which it is hard to
    /// read.
    void table(const TextTable& table, double first_share) {
        double whole = row_height(table.head, head_style, first_share);
        for (const std::vector<std::string>& cells : table.rows)
            whole += row_height(cells, cell_style, first_share);
        heading(table.title, whole <= most_height() - heading_height
                                 ? whole
                                 : 3 * row_height(table.head, head_style, first_share));
        row(table.head, head_style, first_share);
        for (const std::vector<std::string>& cells : table.rows) {
            const int before = page_;
            keep_together_if_it_can(row_height(cells, cell_style, first_share));
            if (page_ != before) row(table.head, head_style, first_share);
            row(cells, cell_style, first_share);
        }
    }

    void write(const std::filesystem::path& file) {
        write_foot();
        canvas_.write(file);
    }

private:
    void rule(double y) const {
        canvas_.set_colour(hairline);
        cairo_set_line_width(canvas_.cairo(), 0.5);
        cairo_move_to(canvas_.cairo(), margin, y);
        cairo_line_to(canvas_.cairo(), margin + width(), y);
        cairo_stroke(canvas_.cairo());
    }

    /// A table's row, its cells broken into lines.
    struct Row {
        double first, rest; ///< widths of the first column and of each of the others
        std::vector<std::vector<std::string>> lines;
        std::size_t most = 1;
    };
    Row broken(const std::vector<std::string>& cells, const TextStyle& style, double first_share) const {
        const double first = first_share * width();
        Row row{first, (width() - first) / static_cast<double>(cells.size() - 1), {}};
        for (std::size_t k = 0; k < cells.size(); ++k) {
            row.lines.push_back(wrap_text(cells[k], style, (k == 0 ? row.first : row.rest) - column_gap));
            row.most = std::max(row.most, row.lines.back().size());
        }
        return row;
    }
    double row_height(const std::vector<std::string>& cells, const TextStyle& style,
                      double first_share) const {
        return static_cast<double>(broken(cells, style, first_share).most) * line_height(style) + below_row;
    }

    void row(const std::vector<std::string>& cells, const TextStyle& style, double first_share) {
        const Row row = broken(cells, style, first_share);
        for (std::size_t n = 0; n < row.most; ++n) {
            keep_together(line_height(style) + below_row);
            for (std::size_t k = 0; k < cells.size(); ++k) {
                const double x = margin + (k == 0 ? 0 : row.first + static_cast<double>(k - 1) * row.rest);
                if (n < row.lines[k].size()) canvas_.text(x, y_ + style.size, row.lines[k][n], style);
            }
            y_ += line_height(style);
        }
        y_ += below_row;
        rule(y_ - 1);
    }

    void write_foot() const {
        const double y = canvas_.height() - margin;
        canvas_.text(margin, y, "Sparecoat. An estimate from a model: the film gauge decides.", small_style);
        canvas_.text(margin + width(), y, fmt::format("page {}", page_), small_style, Align::right);
    }

    static constexpr double heading_height = 26, below_row = 3;
    Canvas canvas_;
    double y_ = margin;
    int page_ = 1;
};

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
void draw_legend(Pages& pages, const HeatmapSpec& spec, const std::string& quantity) {
    constexpr double height = 9;
    const Scale scale = scale_of(spec);
    const double width = 0.6 * pages.width(), left = margin + 0.2 * pages.width(), top = pages.y() + 12;
    const Canvas& canvas = pages.canvas();
    canvas.text(left + width / 2, pages.y() + 8, fmt::format("{}, {}", quantity, unit_of(spec)), small_style,
                Align::centre);
    constexpr int pieces = 128;
    for (int n = 0; n < pieces; ++n) {
        canvas.set_colour(spec.colours->at((n + 0.5) / pieces));
        // Each a little wider than its place, so that no paper shows between them.
        cairo_rectangle(canvas.cairo(), left + width * n / pieces, top,
                        width / pieces + (n + 1 < pieces ? 0.6 : 0), height);
        cairo_fill(canvas.cairo());
    }
    for (const double tick : scale.ticks)
        canvas.text(left + width * scale.share(tick), top + height + 9, tick_text(tick, scale.step),
                    small_style, Align::centre);
    pages.go_down(height + 12 + 14);
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
void draw_maps(Pages& pages, const std::vector<HeatmapSpec>& maps, const std::string& quantity) {
    const double column = (pages.width() - column_gap) / 2;
    const MapFrame shape = frame_for(maps.front().panel, column);
    const double map_height = (shape.height + axis_foot) * map_points;
    for (std::size_t k = 0; k < maps.size(); k += 2) {
        const std::size_t end = std::min(k + 2, maps.size());
        std::size_t lines = 1;
        for (std::size_t n = k; n < end; ++n)
            lines = std::max(lines, title_lines(maps[n].title, column - 2 * column_gap).size());
        const double titles = static_cast<double>(lines) * line_height(head_style) + 4;
        pages.keep_together(titles + map_height + (end == maps.size() ? 40 : 0));
        for (std::size_t n = k; n < end; ++n) {
            const double left = margin + static_cast<double>(n - k) * (column + column_gap);
            double y = pages.y();
            for (const std::string& line : title_lines(maps[n].title, column - 2 * column_gap)) {
                pages.canvas().text(left, y + head_style.size, line, head_style);
                y += line_height(head_style);
            }
            cairo_t* cairo = pages.canvas().cairo();
            cairo_save(cairo);
            cairo_translate(cairo, left, pages.y() + titles);
            cairo_scale(cairo, map_points, map_points);
            MapFrame frame = shape;
            frame.x = axis_gutter;
            draw_map(pages.canvas(), maps[n], scale_of(maps[n]), frame);
            cairo_restore(cairo);
        }
        pages.go_down(titles + map_height);
    }
    draw_legend(pages, maps.front(), quantity);
}

constexpr const char* axes_words = "Each chart has its own axis, which need not begin at 0.";

void draw_charts(Pages& pages, const Comparison& comparison, FilmUnit unit) {
    constexpr std::size_t columns = 3;
    constexpr double height = 96; // four rows of them below a map
    const double width = (pages.width() - (columns - 1) * column_gap) / columns;
    pages.heading("Measures with their intervals", height + 1.34 * small_style.size);
    pages.text(axes_words, small_style);
    for (std::size_t k = 0; k < all_measures.size(); ++k) {
        const std::size_t column = k % columns;
        if (column == 0) pages.keep_together(height);
        const double left = margin + static_cast<double>(column) * (width + column_gap);
        draw_chart(pages.canvas(), {left, pages.y(), width, height - 8, 6.5},
                   measure_chart(comparison, all_measures[k], unit));
        if (column + 1 == columns || k + 1 == all_measures.size()) pages.go_down(height);
    }
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

} // namespace

void write_report_pdf(const std::filesystem::path& file, const Comparison& comparison, FilmUnit unit,
                      Sheet sheet) {
    const ComparedMaps maps(comparison, unit);
    const std::size_t count = comparison.techniques.size();
    Pages pages(sheet, title_of(comparison));
    pages.text(title_of(comparison), title_style);
    pages.go_down(4);
    for (const std::string& line : compared_lines(comparison)) pages.text(line, body_style);
    pages.text(ground_of(comparison), body_style);
    pages.go_down(4);
    pages.text(std::string(estimate_notice), head_style);

    pages.heading("In short", 3 * line_height(body_style));
    for (const std::string& warning : warnings_of(comparison)) pages.text(warning, head_style);
    for (std::size_t t = 1; t < count; ++t) {
        pages.go_down(3);
        for (const std::string& sentence : what_differs(comparison, t, unit))
            pages.text(sentence, body_style);
    }

    if (comparison.settings.empty()) pages.text("The techniques have the same settings.", body_style);
    else pages.table(settings_table(comparison), 0.25);
    pages.table(measures_table(comparison, unit), 0.3);
    pages.text(
        "Highest chance: " +
            [&] {
                std::string all;
                for (std::size_t t = 0; t < count; ++t)
                    all += (t > 0 ? "; " : "") + weakest_text(comparison, t);
                return all;
            }(),
        small_style);
    for (std::size_t t = 1; t < count; ++t) pages.table(differences_table(comparison, t, unit), 0.4);
    pages.text(interval_words(comparison), small_style);

    std::vector<HeatmapSpec> lost, over;
    for (std::size_t t = 0; t < count; ++t) {
        lost.push_back(maps.lost(t));
        if (t > 0) over.push_back(maps.over_first(t));
    }
    pages.heading("Where the film goes: mean over the draws", tallest_map);
    draw_maps(pages, lost, "film lost");
    if (const std::string beyond = maps.beyond_lost(); !beyond.empty()) pages.text(beyond, small_style);
    pages.heading("What is taken more (brown) and less (blue)", tallest_map);
    draw_maps(pages, over, "film lost over A");
    if (const std::string beyond = maps.beyond_over(); !beyond.empty()) pages.text(beyond, small_style);
    draw_charts(pages, comparison, unit);
    pages.heading("What is unsure", 3 * line_height(body_style));
    pages.points(doubts_of(comparison, unit));
    pages.heading("Cautions", 3 * line_height(body_style));
    pages.points(lines_of(cautions));
    pages.write(file);
}

// ---- HTML -------------------------------------------------------------------------------------------

std::string html_text(std::string_view text) {
    std::string out;
    for (const char c : valid_utf8(text)) {
        switch (c) {
        case '&': out += "&amp;"; break;
        case '<': out += "&lt;"; break;
        case '>': out += "&gt;"; break;
        case '"': out += "&quot;"; break;
        case '\'': out += "&#39;"; break;
        default:
            if (static_cast<unsigned char>(c) >= 0x20 || c == '\n' || c == '\t') out += c;
        }
    }
    return out;
}

namespace {

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

std::string element(const char* name, const std::string& inner, const char* attributes = "") {
    return fmt::format("<{}{}>{}</{}>\n", name, attributes, inner, name);
}

std::string html_table(const TextTable& table) {
    const auto row = [](const std::vector<std::string>& cells, const char* kind) {
        std::string out;
        for (const std::string& cell : cells) out += element(kind, html_text(cell));
        return element("tr", out);
    };
    std::string body;
    for (const std::vector<std::string>& cells : table.rows) body += row(cells, "td");
    return element(
        "div",
        element("h2", html_text(table.title)) +
            element("div", element("table", element("thead", row(table.head, "th")) + element("tbody", body)),
                    " class=\"wide\""),
        " class=\"whole\"");
}

std::string html_list(const std::vector<std::string>& lines) {
    std::string items;
    for (const std::string& line : lines) items += element("li", html_text(line));
    return element("ul", items);
}

} // namespace

std::string report_html(const Comparison& comparison, FilmUnit unit,
                        const std::vector<InlinePicture>& pictures) {
    const std::size_t count = comparison.techniques.size();
    std::string body = element("h1", html_text(title_of(comparison)));
    body += html_list(compared_lines(comparison));
    body += element("p", html_text(ground_of(comparison)));
    body += element("p", html_text(estimate_notice), " class=\"notice\"");
    body += element("h2", "In short");
    for (const std::string& warning : warnings_of(comparison))
        body += element("p", html_text(warning), " class=\"notice\"");
    for (std::size_t t = 1; t < count; ++t)
        for (const std::string& sentence : what_differs(comparison, t, unit))
            body += element("p", html_text(sentence));
    body += comparison.settings.empty() ? element("p", "The techniques have the same settings.")
                                        : html_table(settings_table(comparison));
    body += html_table(measures_table(comparison, unit));
    std::vector<std::string> weakest;
    for (std::size_t t = 0; t < count; ++t) weakest.push_back(weakest_text(comparison, t));
    body += element("p", "Highest chance of burning through:") + html_list(weakest);
    for (std::size_t t = 1; t < count; ++t) body += html_table(differences_table(comparison, t, unit));
    body += element("p", html_text(interval_words(comparison)), " class=\"quiet\"");
    for (const InlinePicture& picture : pictures) {
        const std::string image =
            fmt::format("<img alt=\"{}\" src=\"data:{};base64,{}\"/>", html_text(picture.title),
                        picture.media_type, to_base64(picture.bytes));
        const bool charts = picture.media_type == "image/svg+xml";
        body += element("div",
                        element("h2", html_text(picture.title)) +
                            (charts ? element("p", axes_words, " class=\"quiet\"") : "") +
                            element("figure", image),
                        " class=\"whole\"");
    }
    const auto whole = [](const char* heading, const std::vector<std::string>& lines) {
        return element("div", element("h2", heading) + html_list(lines), " class=\"whole\"");
    };
    body += whole("What is unsure", doubts_of(comparison, unit));
    body += whole("Cautions", lines_of(cautions));
    const std::string head =
        "<meta charset=\"utf-8\"/>\n<meta name=\"viewport\" content=\"width=device-width\"/>\n" +
        element("title", html_text(title_of(comparison))) + element("style", style_sheet);
    return "<!DOCTYPE html>\n" +
           element("html", element("head", head) + element("body", body), " lang=\"en\"");
}

} // namespace sparecoat::picture
