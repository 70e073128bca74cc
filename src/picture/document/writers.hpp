#pragma once
#include "picture/document/document.hpp"
#include <array>
#include <string>

namespace sparecoat::picture::document {

/// A text made safe for its format: what becomes of control characters.
using Clean = std::string (*)(const std::string&);

struct HeadingLook {
    TextStyle style;
    double gap = 0;                ///< over it, but not at the head of a page
    double inset = 0;              ///< over it always
    double between = 0, below = 0; ///< under each of its lines but the last, and under that
    bool ruled = false;
};

struct TableLook {
    TextStyle cell, head;
    double gap = 0; ///< over the head
    double pad = 0; ///< of a cell's text from the cell's sides, to the left and to the right:
    double pad_right = 0;
    double above = 0, below = 0; ///< over and under a row's text
    double blank_height = 0;     ///< of a row with boxes to write into, at the least
    double rule_up = 0;          ///< of the rule over the row's lower end
    double rule = 0.5, head_rule = 0.5;
    Rgb head_rule_colour;
    std::size_t most_lines = 1; ///< of a row that are never parted
    bool rows_whole = false;    ///< a row is not parted where a page has room for it
};

/// How a document is printed, in points.
struct PdfLook {
    double margin = 0, top = 0, foot = 0; ///< kept free at the sides, over and under the text
    double line_gap = 1.36, rise = 1; ///< between baselines, and from a line's upper end to its own; by size
    TextStyle title, shop, body, small, notice;
    bool title_ruled = false; ///< a title of one line with a rule; else broken into lines
    std::array<HeadingLook, 2> headings;
    double heading_room = 0; ///< that a heading takes of its page, where a section says what stays with it
    double paragraph_gap = 0;
    double item_indent = 0, item_gap = 0, item_below = 0, bullet = 0;
    double picture_gap = 0;
    bool text_whole = false; ///< a text is not parted where a page has room for it; else its ends are kept
    TableLook table;
    double foot_line = 0;         ///< of the running words over the paper's lower end
    bool numbers_of_all = true;   ///< "page 2 of 5"; else "page 2", written last on each page
    bool named_by_running = true; ///< the file's title goes on with the running words
    Clean clean = nullptr;
};

/// Pages of a size with numbers; headings stay with what they head, tables break between rows and repeat
/// their heads.
std::string pdf_of(const Document& document, PaperSize paper, const PdfLook& look);

/// How a document is written for a browser.
struct HtmlLook {
    const char* style = "";   ///< a style sheet
    bool spaced = true;       ///< what an element holds begins on a line of its own
    bool wide_tables = false; ///< a table wider than the window is moved under it
    bool named_by_running = true;
    Clean clean = nullptr;
    const char* signs = "&<>\"'"; ///< that are written as entities
};

/// One page for a browser that needs nothing else: pictures lie within, no scripts, no links; well-formed as
/// XML.
std::string html_of(const Document& document, const HtmlLook& look);

/// RFC 4180 with a head row; UTF-8.
std::string csv_of(const Table& table);

} // namespace sparecoat::picture::document
