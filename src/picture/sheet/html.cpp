#include "formats/encoding.hpp"
#include "picture/sheet/writers.hpp"
#include <fmt/format.h>

namespace sparecoat::picture::sheet {
namespace {

constexpr const char* style = R"(
body { font: 11pt/1.45 "DejaVu Sans", Verdana, sans-serif; color: #212227; background: #fff; max-width: 50em; margin: 2em auto; padding: 0 1em;
  overflow-wrap: anywhere; }
header.shop { display: flex; justify-content: space-between; gap: 2em; }
header.shop p { margin: 0; text-align: right; color: #5c616b; font-size: 85%; }
header.shop p.name { color: #212227; font-size: 110%; font-weight: bold; }
header.shop img { max-width: 13em; max-height: 5em; }
h1 { font-size: 170%; border-bottom: 2px solid #212227; }
h2 { font-size: 130%; border-bottom: 1px solid #c7ccd1; margin-top: 1.6em; }
h3 { font-size: 105%; margin-bottom: 0.3em; }
table { border-collapse: collapse; width: 100%; margin: 0.6em 0; font-size: 88%; }
th { text-align: left; color: #5c616b; border-bottom: 1.5px solid #5c616b; vertical-align: bottom; }
td { border-bottom: 1px solid #c7ccd1; vertical-align: top; }
th, td { padding: 0.25em 0.4em; }
.right { text-align: right; }
td.fill { border: 1px solid #5c616b; min-width: 3em; height: 1.6em; }
dl { display: grid; grid-template-columns: minmax(7em, max-content) 1fr; gap: 0.15em 1em; margin: 0.6em 0; }
dt { font-weight: bold; max-width: 11em; }
dd { margin: 0; }
img.map { max-width: 100%; display: block; margin: 0.8em 0; }
.quiet { color: #5c616b; font-size: 88%; }
.blanks { display: flex; gap: 0.8em; margin: 0.8em 0; }
.blanks div { flex: 1; color: #5c616b; font-size: 80%; }
.blanks span { display: block; border: 1px solid #5c616b; height: 2em; }
@media print {
  @page { margin: 18mm; }
  body { font-size: 9pt; margin: 0; max-width: none; padding: 0; }
  h2, h3 { break-after: avoid; }
  h2.own { break-before: page; }
  tr, img, .blanks { break-inside: avoid; }
  thead { display: table-header-group; }
}
)";

std::string escaped(const std::string& text) {
    std::string out;
    for (const char c : printable(text)) switch (c) {
        case '&': out += "&amp;"; break;
        case '<': out += "&lt;"; break;
        case '>': out += "&gt;"; break;
        case '"': out += "&quot;"; break;
        default: out += c;
        }
    return out;
}

class Page {
public:
    std::string write(const Sheet& sheet) {
        out_ = fmt::format(
            "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\"/>\n"
            "<meta name=\"viewport\" "
            "content=\"width=device-width\"/>\n<title>{}</title>\n<style>{}</style>\n</head>\n<body>\n",
            escaped(sheet.title + ": " + sheet.running), style);
        write_letterhead(sheet);
        out_ += fmt::format("<h1>{}</h1>\n", escaped(sheet.title));
        for (const Section& section : sheet.sections) write(section);
        return out_ + "</body>\n</html>\n";
    }

private:
    void write_letterhead(const Sheet& sheet) {
        if (sheet.shop.empty() && !sheet.logo) return;
        out_ += "<header class=\"shop\">\n<div>";
        if (sheet.logo)
            out_ += fmt::format("<img alt=\"{}\" src=\"data:image/png;base64,{}\"/>", escaped(sheet.shop),
                                to_base64(sheet.logo->png));
        out_ += "</div>\n<div>\n";
        if (!sheet.shop.empty()) out_ += fmt::format("<p class=\"name\">{}</p>\n", escaped(sheet.shop));
        for (const std::string& line : sheet.shop_lines) out_ += fmt::format("<p>{}</p>\n", escaped(line));
        out_ += "</div>\n</header>\n";
    }

    void write(const Section& section) {
        if (!section.heading.empty())
            out_ += fmt::format("<h{0}{1}>{2}</h{0}>\n", section.level + 1,
                                section.own_page ? " class=\"own\"" : "", escaped(section.heading));
        for (const Block& block : section.blocks) std::visit([this](const auto& one) { write(one); }, block);
    }

    void write(const Paragraph& paragraph) {
        out_ +=
            fmt::format("<p{}>{}</p>\n", paragraph.quiet ? " class=\"quiet\"" : "", escaped(paragraph.text));
    }
    void write(const Facts& facts) {
        if (facts.rows.empty()) return;
        out_ += "<dl>\n";
        for (const auto& [name, text] : facts.rows)
            out_ += fmt::format("<dt>{}</dt><dd>{}</dd>\n", escaped(name), escaped(text));
        out_ += "</dl>\n";
    }
    void write(const Items& items) {
        if (items.items.empty()) return;
        out_ += "<ul>\n";
        for (const std::string& item : items.items) out_ += fmt::format("<li>{}</li>\n", escaped(item));
        out_ += "</ul>\n";
    }
    void write(const Picture& picture) {
        Canvas canvas(PageFormat::svg, picture.width, picture.height, Rgb{1, 1, 1});
        picture.draw(canvas, 0, 0);
        out_ += fmt::format("<img class=\"map\" alt=\"{}\" width=\"{:.0f}\" height=\"{:.0f}\" "
                            "src=\"data:image/svg+xml;base64,{}\"/>\n",
                            escaped(picture.words), picture.width * 4 / 3, picture.height * 4 / 3,
                            to_base64(canvas.bytes())); // CSS: 96 pixels an inch
    }
    void write(const Blanks& blanks) {
        out_ += "<div class=\"blanks\">";
        for (const std::string& label : blanks.labels)
            out_ += fmt::format("<div>{}<span></span></div>", escaped(label));
        out_ += "</div>\n";
    }

    void write(const Table& table) {
        out_ += "<table>\n<thead><tr>";
        for (const Column& column : table.columns)
            out_ += fmt::format("<th{}>{}</th>", column.align == Align::right ? " class=\"right\"" : "",
                                escaped(column.heading));
        out_ += "</tr></thead>\n<tbody>\n";
        for (const std::vector<std::string>& row : table.rows) {
            out_ += "<tr>";
            for (std::size_t c = 0; c < row.size(); ++c) {
                const Column& column = table.columns[c];
                const char* kind = column.to_fill && row[c].empty() ? " class=\"fill\""
                                   : column.align == Align::right   ? " class=\"right\""
                                                                    : "";
                out_ += fmt::format("<td{}>{}</td>", kind, escaped(row[c]));
            }
            out_ += "</tr>\n";
        }
        out_ += "</tbody>\n</table>\n";
    }

    std::string out_;
};

} // namespace

std::string html_of(const Sheet& sheet) { return Page().write(sheet); }

} // namespace sparecoat::picture::sheet
