#pragma once
#include "picture/canvas.hpp"
#include "picture/document/logo.hpp"
#include <functional>
#include <optional>
#include <string>
#include <utility>
#include <variant>
#include <vector>

namespace sparecoat::picture::document {

// A document between what it says and how it is written: PDF, HTML and CSV are made from the same one, so
// that nothing is said twice. Text is UTF-8 as people entered it; a writer makes it safe for its format.

struct Paragraph {
    enum class Tone { plain, quiet, notice }; ///< quiet: an aside; notice: not to be missed
    std::string text;
    Tone tone = Tone::plain;
    double above = 0; ///< left free over it in print, pt, besides what is usual
};

/// Names with what they stand for.
struct Facts {
    std::vector<std::pair<std::string, std::string>> rows;
    void add(std::string name, std::string text) {
        if (!text.empty()) rows.emplace_back(std::move(name), std::move(text));
    }
};

struct Column {
    std::string heading;
    double width = 1; ///< beside the others'
    Align align = Align::left;
    bool to_fill = false; ///< by hand: an empty cell shows as a box
};
struct Table {
    std::vector<Column> columns;
    std::vector<std::vector<std::string>> rows; ///< as many texts as columns
};

struct Items {
    std::vector<std::string> items;
};

/// Drawn in print and, as a picture of its own, for a browser: at its own size, pt, with its upper left
/// corner at a place on the page.
struct Picture {
    double width = 0, height = 0;
    std::string words; ///< for those who do not see it
    std::function<void(const Canvas&, double x, double y)> draw;
    double room_below = 0; ///< so much under it stays on its page, pt
};

/// A picture that is on file already, for a browser alone; its bytes are those of the file.
struct Image {
    std::string words; ///< for those who do not see it
    std::string media_type, bytes;
};

/// Boxes to write into by hand, side by side.
struct Blanks {
    std::vector<std::string> labels;
};

using Block = std::variant<Paragraph, Facts, Table, Items, Picture, Image, Blanks>;

struct Section {
    std::string heading = {};
    int level = 1;         ///< 2: within the one before
    bool own_page = false; ///< begins on a page of its own
    std::vector<Block> blocks = {};
    bool whole = false; ///< a table on one page with its heading, where one has room for it
    std::optional<double> room =
        {}; ///< so much that follows stays with the heading, pt; none: its first lines
};

struct Document {
    std::string shop;
    std::vector<std::string> shop_lines;
    std::optional<Logo> logo;
    std::string title;
    std::string running; ///< at the foot of every page
    std::vector<Section> sections;
    Table rows; ///< the same for a spreadsheet
};

/// Widest that a picture may be, pt: it fits between the margins of both page sizes.
inline constexpr double widest_pt = 480;

} // namespace sparecoat::picture::document
