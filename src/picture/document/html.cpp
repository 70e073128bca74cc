#include "formats/encoding.hpp"
#include "formats/markup.hpp"
#include "picture/document/writers.hpp"
#include <fmt/format.h>

namespace sparecoat::picture::document {
namespace {

class Page {
public:
    explicit Page(const HtmlLook& look) : look_(look) {}

    std::string of(const Document& document) const {
        const std::string name = document.title + (look_.named_by_running ? ": " + document.running : "");
        const std::string head = "<meta charset=\"utf-8\"/>\n<meta name=\"viewport\" "
                                 "content=\"width=device-width\"/>\n" +
                                 element("title", text(name)) + element("style", look_.style);
        std::string body = letterhead(document) + element("h1", text(document.title));
        for (const Section& section : document.sections) body += of(section);
        return "<!DOCTYPE html>\n" +
               holder("html", holder("head", head) + holder("body", body), " lang=\"en\"");
    }

private:
    std::string text(const std::string& words) const { return escaped(look_.clean(words), look_.signs); }

    static std::string tagged(const char* name, const std::string& inner,
                              const std::string& attributes = "") {
        return fmt::format("<{0}{2}>{1}</{0}>", name, inner, attributes);
    }
    static std::string element(const char* name, const std::string& inner,
                               const std::string& attributes = "") {
        return tagged(name, inner, attributes) + "\n";
    }
    /// An element that holds others.
    std::string holder(const char* name, const std::string& inner, const std::string& attributes = "") const {
        return element(name, (look_.spaced ? "\n" : "") + inner, attributes);
    }
    /// One that stays on the line of what holds it.
    std::string part(const char* name, const std::string& inner, const std::string& attributes = "") const {
        return look_.spaced ? tagged(name, inner, attributes) : element(name, inner, attributes);
    }

    std::string letterhead(const Document& document) const {
        if (document.shop.empty() && !document.logo) return "";
        std::string logo, lines;
        if (document.logo)
            logo = fmt::format("<img alt=\"{}\" src=\"data:image/png;base64,{}\"/>", text(document.shop),
                               to_base64(document.logo->png));
        if (!document.shop.empty()) lines += element("p", text(document.shop), " class=\"name\"");
        for (const std::string& line : document.shop_lines) lines += element("p", text(line));
        return holder("header", element("div", logo) + holder("div", lines), " class=\"shop\"");
    }

    std::string of(const Section& section) const {
        std::string out;
        if (!section.heading.empty())
            out = element(section.level == 1 ? "h2" : "h3", text(section.heading),
                          section.own_page ? " class=\"own\"" : "");
        for (const Block& block : section.blocks)
            out += std::visit([this](const auto& one) { return of(one); }, block);
        return section.whole ? holder("div", out, " class=\"whole\"") : out;
    }

    std::string of(const Paragraph& paragraph) const {
        constexpr const char* classes[] = {"", " class=\"quiet\"", " class=\"notice\""};
        return element("p", text(paragraph.text), classes[static_cast<std::size_t>(paragraph.tone)]);
    }
    std::string of(const Facts& facts) const {
        std::string out;
        for (const auto& [name, words] : facts.rows)
            out += tagged("dt", text(name)) + element("dd", text(words));
        return out.empty() ? "" : holder("dl", out);
    }
    std::string of(const Items& items) const {
        std::string out;
        for (const std::string& item : items.items) out += element("li", text(item));
        return out.empty() ? "" : holder("ul", out);
    }
    std::string of(const Picture& picture) const {
        Canvas canvas(PageFormat::svg, picture.width, picture.height, Rgb{1, 1, 1});
        picture.draw(canvas, 0, 0);
        return fmt::format("<img class=\"map\" alt=\"{}\" width=\"{:.0f}\" height=\"{:.0f}\" "
                           "src=\"data:image/svg+xml;base64,{}\"/>\n",
                           text(picture.words), picture.width * 4 / 3, picture.height * 4 / 3,
                           to_base64(canvas.bytes())); // CSS: 96 pixels an inch
    }
    std::string of(const Image& image) const {
        return element("figure", fmt::format("<img alt=\"{}\" src=\"data:{};base64,{}\"/>", text(image.words),
                                             image.media_type, to_base64(image.bytes)));
    }
    std::string of(const Blanks& blanks) const {
        std::string out;
        for (const std::string& label : blanks.labels) out += tagged("div", text(label) + tagged("span", ""));
        return element("div", out, " class=\"blanks\"");
    }

    std::string of(const Table& table) const {
        std::string head, body;
        for (const Column& column : table.columns)
            head += part("th", text(column.heading), column.align == Align::right ? " class=\"right\"" : "");
        for (const std::vector<std::string>& row : table.rows) {
            std::string cells;
            for (std::size_t c = 0; c < row.size(); ++c) {
                const Column& column = table.columns[c];
                cells += part("td", text(row[c]),
                              column.to_fill && row[c].empty() ? " class=\"fill\""
                              : column.align == Align::right   ? " class=\"right\""
                                                               : "");
            }
            body += element("tr", cells);
        }
        const std::string all = holder("table", element("thead", part("tr", head)) + holder("tbody", body));
        return look_.wide_tables ? element("div", all, " class=\"wide\"") : all;
    }

    const HtmlLook& look_;
};

} // namespace

std::string html_of(const Document& document, const HtmlLook& look) { return Page(look).of(document); }

} // namespace sparecoat::picture::document
