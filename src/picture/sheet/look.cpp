#include "picture/sheet/look.hpp"
#include "picture/document/text.hpp"
#include "picture/inks.hpp"

namespace sparecoat::picture::sheet {
namespace {

constexpr const char* style = R"(
body { font: 11pt/1.45 "DejaVu Sans", Verdana, sans-serif; color: #212227; background: #fff;)"
                              R"( max-width: 50em; margin: 2em auto; padding: 0 1em;
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

document::PdfLook made_pdf_look() {
    document::PdfLook look;
    look.margin = 51, look.top = 48, look.foot = 56, look.foot_line = 30;
    look.line_gap = 1.36, look.rise = 1.02;
    look.title = {19, true, ink}, look.title_ruled = true;
    look.shop = {11, true, ink};
    look.body = {9, false, ink}, look.small = {7.5, false, quiet_ink}, look.notice = {9, true, ink};
    look.headings = {{{{13, true, ink}, 16, 0, 1, 5, true}, {{10, true, ink}, 9, 0, 1, 1, false}}};
    look.paragraph_gap = 4;
    look.item_indent = 11, look.item_gap = 2.5, look.bullet = 2;
    look.picture_gap = 8;
    document::TableLook& table = look.table;
    table.cell = {8, false, ink}, table.head = {7.5, true, quiet_ink};
    table.gap = 6;
    table.pad = table.pad_right = 3.5, table.above = table.below = table.pad - 1;
    table.blank_height = 15.5;
    table.rule = 0.4, table.head_rule = 0.9, table.head_rule_colour = quiet_ink;
    table.most_lines = 30; // a row that would not fit on a page goes on in the next
    look.clean = document::printable;
    return look;
}

} // namespace

const document::PdfLook& pdf_look() {
    static const document::PdfLook look = made_pdf_look();
    return look;
}

const document::HtmlLook& html_look() {
    static const document::HtmlLook look{.style = style, .clean = document::printable, .signs = "&<>\""};
    return look;
}

} // namespace sparecoat::picture::sheet
