#pragma once
#include "picture/canvas.hpp"
#include "picture/sheet/logo.hpp"
#include <functional>
#include <optional>
#include <string>
#include <utility>
#include <variant>
#include <vector>

namespace sparecoat::picture::sheet {

// A sheet between what it says and how it is written: PDF, HTML and CSV are made from the same document, so
// that nothing is said twice. Text is UTF-8 as people entered it; a writer makes it safe for its format.

struct Paragraph {
    std::string text;
    bool quiet = false; ///< an aside
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

/// Drawn at its own size, pt, with its upper left corner at a place on the page.
struct Picture {
    double width = 0, height = 0;
    std::string words; ///< for those who do not see it
    std::function<void(const Canvas&, double x, double y)> draw;
};

/// Boxes to write into by hand, side by side.
struct Blanks {
    std::vector<std::string> labels;
};

using Block = std::variant<Paragraph, Facts, Table, Items, Picture, Blanks>;

struct Section {
    std::string heading;
    int level = 1;         ///< 2: within the one before
    bool own_page = false; ///< begins on a page of its own
    std::vector<Block> blocks;
};

struct Sheet {
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

} // namespace sparecoat::picture::sheet
