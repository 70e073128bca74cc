#include "picture/document/writers.hpp"
#include "picture/inks.hpp"
#include <algorithm>
#include <fmt/format.h>
#include <memory>

namespace sparecoat::picture::document {
namespace {

constexpr double box_height = 20; // points, as all lengths here

/// A strip of the page that is never cut.
struct Piece {
    double height = 0;
    std::function<void(const Canvas&, double y)> draw;
    double gap = 0;   ///< above it, but not at the head of a page
    double below = 0; ///< under it
    /// Room that the page has to have for it; none: for itself and what stays with it.
    std::optional<double> needs = {};
    bool stays_with_next = false;
    bool on_new_page = false;
    std::shared_ptr<const Piece> head; ///< drawn again above it where it begins a page
};

/// The document as strips of a page's width.
class Strips {
public:
    /// @param page_height that the text of a page may have
    Strips(double width, double page_height, const PdfLook& look)
        : width_(width), page_height_(page_height), look_(look) {}

    std::vector<Piece> lay(const Document& document) {
        add_letterhead(document);
        add_title(document.title);
        for (const Section& section : document.sections) add(section);
        return std::move(pieces_);
    }

private:
    double pitch(const TextStyle& style) const { return look_.line_gap * style.size; }
    /// A line's baseline below its upper end.
    double rise(const TextStyle& style) const { return look_.rise * style.size; }
    std::vector<std::string> lines_of(const std::string& text, const TextStyle& style, double width) const {
        return wrap_text(look_.clean(text), style, width);
    }

    Piece& put(double height, std::function<void(const Canvas&, double y)> draw, double gap = 0,
               bool stays_with_next = false) {
        Piece piece;
        piece.height = height, piece.draw = std::move(draw), piece.gap = gap;
        piece.stays_with_next = stays_with_next;
        pieces_.push_back(std::move(piece));
        return pieces_.back();
    }

    void add_letterhead(const Document& document) {
        constexpr double logo_width = 130, logo_height = 54;
        const TextStyle &small = look_.small, &shop = look_.shop;
        std::vector<std::string> lines;
        for (const std::string& line : document.shop_lines)
            for (std::string& part : lines_of(line, small, 0.45 * width_)) lines.push_back(std::move(part));
        const std::vector<std::string> name = lines_of(document.shop, shop, 0.45 * width_);
        const auto logo = document.logo;
        const double scale =
            logo ? std::min({logo_width / logo->width_px, logo_height / logo->height_px, 1.0}) : 0;
        const double words =
            static_cast<double>(name.size()) * pitch(shop) + static_cast<double>(lines.size()) * pitch(small);
        const double height = std::max(words, logo ? scale * logo->height_px : 0.0);
        if (!(height > 0)) return;
        put(
            height + 8,
            [=, this](const Canvas& canvas, double y) {
                if (logo) draw_logo(canvas, *logo, look_.margin, y, scale);
                double at = y;
                const double right = look_.margin + width_;
                for (const std::string& part : name)
                    canvas.text(right, at + rise(shop), part, shop, Align::right), at += pitch(shop);
                for (const std::string& part : lines)
                    canvas.text(right, at + rise(small), part, small, Align::right), at += pitch(small);
            },
            0, true);
    }

    void add_title(const std::string& title) {
        if (!look_.title_ruled) return add_lines(title, look_.title, 0, 0, {});
        put(
            pitch(look_.title) + 6,
            [=, this](const Canvas& canvas, double y) {
                canvas.text(look_.margin, y + rise(look_.title), title, look_.title);
                rule(canvas, y + pitch(look_.title) + 2, 1.4, ink);
            },
            0, true);
    }

    static void draw_logo(const Canvas& canvas, const Logo& logo, double x, double y, double scale) {
        cairo_t* cairo = canvas.cairo();
        cairo_save(cairo);
        cairo_translate(cairo, x, y);
        cairo_scale(cairo, scale, scale);
        cairo_set_source_surface(cairo, logo.surface.get(), 0, 0);
        cairo_paint(cairo);
        cairo_restore(cairo);
    }

    void rule(const Canvas& canvas, double y, double thick, Rgb colour) const {
        canvas.set_colour(colour);
        cairo_set_line_width(canvas.cairo(), thick);
        cairo_move_to(canvas.cairo(), look_.margin, y);
        cairo_line_to(canvas.cairo(), look_.margin + width_, y);
        cairo_stroke(canvas.cairo());
    }

    void add(const Section& section) {
        if (!section.heading.empty()) add_heading(section);
        for (const Block& block : section.blocks) std::visit([this](const auto& one) { add(one); }, block);
    }

    /// What has to be on a heading's page with it, where the section says so.
    std::optional<double> room_of(const Section& section) const {
        const Table* table = section.blocks.empty() ? nullptr : std::get_if<Table>(&section.blocks.front());
        if (!section.whole || !table) return section.room;
        const double whole = table_height(*table);
        if (whole <= page_height_ - look_.heading_room) return whole;
        return 3 * head_piece(cells_of(*table), *table).height;
    }

    void add_heading(const Section& section) {
        const HeadingLook& look = look_.headings[section.level == 1 ? 0 : 1];
        const TextStyle& style = look.style;
        const std::vector<std::string> lines = lines_of(section.heading, style, width_);
        const std::optional<double> room = room_of(section);
        for (std::size_t k = 0; k < lines.size(); ++k) {
            const bool last = k + 1 == lines.size(), ruled = look.ruled && last;
            const double inset = k == 0 ? look.inset : 0;
            Piece& piece = put(
                inset + pitch(style) + (last ? look.below : look.between),
                [=, this, line = lines[k]](const Canvas& canvas, double y) {
                    canvas.text(look_.margin, y + inset + rise(style), line, style);
                    if (ruled) rule(canvas, y + inset + pitch(style) + 0.5, 0.6, hairline);
                },
                k == 0 ? look.gap : 0, true);
            piece.on_new_page = section.own_page && k == 0;
            if (room && k == 0) piece.needs = look_.heading_room + *room;
        }
    }

    /// Lines at an indent, that stay together as the look says.
    void add_lines(const std::string& text, const TextStyle& style, double indent, double gap,
                   const std::function<void(const Canvas&, double y)>& beside, double below = 0) {
        const std::vector<std::string> lines = lines_of(text, style, width_ - indent);
        const double all = pitch(style) * static_cast<double>(lines.size());
        for (std::size_t k = 0; k < lines.size(); ++k) {
            const bool ends = lines.size() > 1 && (k == 0 || k + 2 == lines.size());
            Piece& piece = put(
                pitch(style),
                [=, this, line = lines[k], first = k == 0](const Canvas& canvas, double y) {
                    if (first && beside) beside(canvas, y);
                    canvas.text(look_.margin + indent, y + rise(style), line, style);
                },
                k == 0 ? gap : 0, ends && !look_.text_whole);
            if (k + 1 == lines.size()) piece.below = below;
            if (k == 0 && look_.text_whole && all <= page_height_) piece.needs = all;
        }
    }

    void add(const Paragraph& paragraph) {
        const TextStyle* const styles[] = {&look_.body, &look_.small, &look_.notice};
        add_lines(paragraph.text, *styles[static_cast<std::size_t>(paragraph.tone)], 0,
                  look_.paragraph_gap + paragraph.above, {});
    }

    void add(const Facts& facts) {
        const TextStyle bold{look_.body.size, true, look_.body.colour};
        double indent = 0; // names are the program's own and short
        for (const auto& [name, text] : facts.rows)
            indent = std::max(indent, text_width(look_.clean(name), bold) + 10);
        for (const auto& [name, text] : facts.rows)
            add_lines(text, look_.body, indent, 2.5,
                      [=, this, label = look_.clean(name)](const Canvas& canvas, double y) {
                          canvas.text(look_.margin, y + rise(bold), label, bold);
                      });
    }

    void add(const Items& items) {
        for (const std::string& item : items.items)
            add_lines(
                item, look_.body, look_.item_indent, look_.item_gap,
                [this](const Canvas& canvas, double y) {
                    canvas.text(look_.margin + look_.bullet, y + rise(look_.body), "\u2022", look_.body);
                },
                look_.item_below);
    }

    void add(const Picture& picture) {
        Piece& piece = put(
            picture.height,
            [=, this](const Canvas& canvas, double y) { picture.draw(canvas, look_.margin, y); },
            look_.picture_gap);
        if (picture.room_below > 0) piece.needs = picture.height + picture.room_below;
    }
    void add(const Image&) {}

    void add(const Blanks& blanks) {
        const TextStyle& small = look_.small;
        const double each = width_ / static_cast<double>(blanks.labels.size());
        if (!pieces_.empty()) pieces_.back().stays_with_next = true; // boxes alone on a page say nothing
        put(
            pitch(small) + box_height,
            [=, this](const Canvas& canvas, double y) {
                for (std::size_t k = 0; k < blanks.labels.size(); ++k) {
                    const double x = look_.margin + static_cast<double>(k) * each;
                    canvas.text(x, y + rise(small), look_.clean(blanks.labels[k]), small);
                    frame(canvas, x, y + pitch(small), each - 8, box_height - 2);
                }
            },
            6);
    }

    static void frame(const Canvas& canvas, double x, double y, double width, double height) {
        canvas.set_colour(quiet_ink);
        cairo_set_line_width(canvas.cairo(), 0.7);
        cairo_rectangle(canvas.cairo(), x, y, width, height);
        cairo_stroke(canvas.cairo());
    }

    // ---- tables -----------------------------------------------------------------------------------------

    struct Cells {
        std::vector<double> x, width;
        std::vector<Align> align;
        std::vector<bool> to_fill;
    };

    Cells cells_of(const Table& table) const {
        Cells cells;
        double all = 0;
        for (const Column& column : table.columns) all += column.width;
        double x = look_.margin;
        for (const Column& column : table.columns) {
            const double width = width_ * column.width / all;
            cells.x.push_back(x), cells.width.push_back(width);
            cells.align.push_back(column.align), cells.to_fill.push_back(column.to_fill);
            x += width;
        }
        return cells;
    }

    using Lines = std::vector<std::vector<std::string>>; ///< per column

    Lines wrapped(const Cells& cells, const std::vector<std::string>& texts, const TextStyle& style) const {
        Lines lines;
        for (std::size_t c = 0; c < texts.size(); ++c)
            lines.push_back(
                lines_of(texts[c], style, cells.width[c] - look_.table.pad - look_.table.pad_right));
        return lines;
    }

    static std::size_t most_of(const Lines& lines) {
        std::size_t most = 1;
        for (const std::vector<std::string>& cell : lines) most = std::max(most, cell.size());
        return most;
    }

    /// @param ends whether the row ends with it: a row of many lines is several pieces
    Piece row_piece(const Cells& cells, Lines lines, const TextStyle& style, bool is_head, bool ends) const {
        const TableLook& look = look_.table;
        bool blank = false;
        for (std::size_t c = 0; c < lines.size(); ++c)
            blank = blank || (cells.to_fill[c] && lines[c].empty() && !is_head);
        const double height = std::max(static_cast<double>(most_of(lines)) * pitch(style) + look.above +
                                           (ends ? look.below : 0),
                                       blank ? look.blank_height : 0.0);
        Piece piece;
        piece.height = height;
        piece.draw = [=, this](const Canvas& canvas, double y) {
            for (std::size_t c = 0; c < lines.size(); ++c) {
                if (cells.to_fill[c] && lines[c].empty() && !is_head)
                    frame(canvas, cells.x[c] + 2, y + 2, cells.width[c] - 4, height - 4);
                double at = y + look.above;
                for (const std::string& line : lines[c]) {
                    const double x = cells.align[c] == Align::right
                                         ? cells.x[c] + cells.width[c] - look.pad_right
                                         : cells.x[c] + look.pad;
                    canvas.text(x, at + rise(style), line, style, cells.align[c]);
                    at += pitch(style);
                }
            }
            if (ends)
                rule(canvas, y + height - look.rule_up, is_head ? look.head_rule : look.rule,
                     is_head ? look.head_rule_colour : hairline);
        };
        return piece;
    }

    double row_height(const Lines& lines, const TextStyle& style) const {
        return static_cast<double>(most_of(lines)) * pitch(style) + look_.table.above + look_.table.below;
    }

    double table_height(const Table& table) const {
        const Cells cells = cells_of(table);
        double whole = head_piece(cells, table).height;
        for (const std::vector<std::string>& row : table.rows)
            whole += row_height(wrapped(cells, row, look_.table.cell), look_.table.cell);
        return whole;
    }

    /// Drawn a line at a time from its left to its right, as its rows are.
    Piece head_piece(const Cells& cells, const Table& table) const {
        std::vector<std::string> headings;
        for (const Column& column : table.columns) headings.push_back(column.heading);
        Lines rest = wrapped(cells, headings, look_.table.head);
        std::vector<Piece> parts;
        do {
            Lines part = first_lines(rest);
            const bool ends = all_empty(rest);
            parts.push_back(row_piece(cells, std::move(part), look_.table.head, true, ends));
        } while (!all_empty(rest));
        Piece head;
        for (const Piece& part : parts) head.height += part.height;
        head.draw = [parts](const Canvas& canvas, double y) {
            for (const Piece& part : parts) part.draw(canvas, y), y += part.height;
        };
        return head;
    }

    static bool all_empty(const Lines& lines) {
        return std::ranges::all_of(lines, [](const auto& cell) { return cell.empty(); });
    }
    /// Takes as many lines of each cell as are never parted.
    Lines first_lines(Lines& rest) const {
        Lines part(rest.size());
        for (std::size_t c = 0; c < rest.size(); ++c) {
            const auto cut = rest[c].begin() +
                             static_cast<std::ptrdiff_t>(std::min(look_.table.most_lines, rest[c].size()));
            part[c].assign(rest[c].begin(), cut);
            rest[c].erase(rest[c].begin(), cut);
        }
        return part;
    }

    void add(const Table& table) {
        const TableLook& look = look_.table;
        const Cells cells = cells_of(table);
        auto head = std::make_shared<Piece>(head_piece(cells, table));
        Piece first = *head;
        first.gap = look.gap, first.stays_with_next = true;
        pieces_.push_back(std::move(first));
        for (const std::vector<std::string>& row : table.rows) {
            Lines rest = wrapped(cells, row, look.cell);
            const double whole = row_height(rest, look.cell);
            bool begun = false;
            do {
                Lines part = first_lines(rest);
                const bool ends = all_empty(rest);
                // Without the rest of its row, a line needs the rule's room all the same.
                Piece piece = row_piece(cells, std::move(part), look.cell, false, ends || !look.rows_whole);
                if (look.rows_whole)
                    piece.needs = !begun && whole <= page_height_ ? whole : pitch(look.cell) + look.below;
                if (!begun || !look.rows_whole) piece.head = head;
                pieces_.push_back(std::move(piece));
                begun = true;
            } while (!all_empty(rest));
        }
    }

    double width_, page_height_;
    const PdfLook& look_;
    std::vector<Piece> pieces_;
};

/// Strips down the pages of a PDF.
class Pages {
public:
    Pages(double width, double height, const std::string& running, int total, const PdfLook& look)
        : canvas_(PageFormat::pdf, width, height, paper), running_(look.clean(running)), total_(total),
          look_(look), y_(look.top) {}

    /// @return how many pages there are
    int print(const std::vector<Piece>& pieces) {
        constexpr double rounding = 1e-6;
        if (look_.numbers_of_all) write_foot();
        for (std::size_t k = 0; k < pieces.size(); ++k) {
            const Piece& piece = pieces[k];
            const bool begun = y_ > look_.top;
            const double needs = piece.needs ? piece.gap + *piece.needs : height_with_next(pieces, k);
            if (begun && (piece.on_new_page || y_ + needs > canvas_.height() - look_.foot + rounding))
                turn(piece.head.get());
            if (y_ > look_.top) y_ += piece.gap;
            piece.draw(canvas_, y_);
            y_ += piece.height + piece.below;
        }
        if (!look_.numbers_of_all) write_foot();
        return page_;
    }
    Canvas& canvas() { return canvas_; }

private:
    /// Of a piece and all that stay with it, but no more than a page has: then it is broken all the same.
    double height_with_next(const std::vector<Piece>& pieces, std::size_t k) const {
        double height = pieces[k].gap + pieces[k].height;
        while (pieces[k].stays_with_next && k + 1 < pieces.size() && !pieces[k + 1].on_new_page) {
            ++k;
            height += pieces[k].gap + pieces[k].height;
        }
        return std::min(height, canvas_.height() - look_.foot - look_.top);
    }

    void turn(const Piece* head) {
        if (!look_.numbers_of_all) write_foot();
        canvas_.next_page();
        ++page_;
        y_ = look_.top;
        if (look_.numbers_of_all) write_foot();
        if (!head) return;
        head->draw(canvas_, y_);
        y_ += head->height;
    }

    void write_foot() const {
        const std::string number = look_.numbers_of_all ? fmt::format("page {} of {}", page_, total_)
                                                        : fmt::format("page {}", page_);
        const double y = canvas_.height() - look_.foot_line, room = canvas_.width() - 2 * look_.margin;
        const auto write_number = [&] {
            canvas_.text(canvas_.width() - look_.margin, y, number, look_.small, Align::right);
        };
        if (look_.numbers_of_all) write_number();
        const double left = room - text_width(number, look_.small) - 20;
        if (const auto lines = wrap_text(running_, look_.small, left); !lines.empty())
            canvas_.text(look_.margin, y, lines.front(), look_.small);
        if (!look_.numbers_of_all) write_number();
    }

    Canvas canvas_;
    std::string running_;
    int total_, page_ = 1;
    const PdfLook& look_;
    double y_;
};

} // namespace

std::string pdf_of(const Document& document, PaperSize size, const PdfLook& look) {
    const bool a4 = size == PaperSize::a4;
    const double width = a4 ? a4_width_pt : letter_width_pt, height = a4 ? a4_height_pt : letter_height_pt;
    Strips strips(width - 2 * look.margin, height - look.foot - look.top, look);
    const std::vector<Piece> pieces = strips.lay(document);
    int total = 0; // to know how many there are, print them once
    if (look.numbers_of_all) total = Pages(width, height, document.running, 0, look).print(pieces);
    Pages pages(width, height, document.running, total, look);
    pages.canvas().describe(document.title + (look.named_by_running ? ": " + document.running : ""),
                            document.shop.empty() ? "Sparecoat" : document.shop);
    pages.print(pieces);
    return pages.canvas().bytes();
}

} // namespace sparecoat::picture::document
