#include "picture/map_drawing.hpp"
#include "picture/sheet/writers.hpp"
#include <algorithm>
#include <fmt/format.h>
#include <memory>

namespace sparecoat::picture::sheet {
namespace {

// All in points.
constexpr double margin = 51, top = 48, foot = 56, line_gap = 1.36;
constexpr double cell_pad = 3.5, box_height = 20;
const TextStyle body{9, false, ink}, bold_body{9, true, ink}, cell{8, false, ink},
    head_cell{7.5, true, quiet_ink}, small{7.5, false, quiet_ink};
const TextStyle title_style{19, true, ink}, shop_style{11, true, ink};
TextStyle heading_style(int level) { return {level == 1 ? 13.0 : 10.0, true, ink}; }

double pitch(const TextStyle& style) { return line_gap * style.size; }
/// A line's baseline below its upper end.
double rise(const TextStyle& style) { return 1.02 * style.size; }

/// A strip of the page that is never cut.
struct Piece {
    double height = 0;
    std::function<void(const Canvas&, double y)> draw;
    double gap = 0; ///< above it, but not at the head of a page
    bool stays_with_next = false;
    bool on_new_page = false;
    std::shared_ptr<const Piece> head; ///< drawn again above it where it begins a page
};

/// The document as strips of a given width.
class Strips {
public:
    explicit Strips(double width) : width_(width) {}

    std::vector<Piece> lay(const Sheet& sheet) {
        add_letterhead(sheet);
        for (const Section& section : sheet.sections) add(section);
        return std::move(pieces_);
    }

private:
    void put(Piece piece) { pieces_.push_back(std::move(piece)); }

    void add_letterhead(const Sheet& sheet) {
        constexpr double logo_width = 130, logo_height = 54;
        std::vector<std::string> lines;
        for (const std::string& line : sheet.shop_lines)
            for (std::string& part : wrap_text(printable(line), small, 0.45 * width_))
                lines.push_back(std::move(part));
        const std::vector<std::string> name = wrap_text(printable(sheet.shop), shop_style, 0.45 * width_);
        const auto logo = sheet.logo;
        const double scale =
            logo ? std::min({logo_width / logo->width_px, logo_height / logo->height_px, 1.0}) : 0;
        const double words = static_cast<double>(name.size()) * pitch(shop_style) +
                             static_cast<double>(lines.size()) * pitch(small);
        const double height = std::max(words, logo ? scale * logo->height_px : 0.0);
        if (height > 0)
            put({height + 8,
                 [=, this](const Canvas& canvas, double y) {
                     if (logo) draw_logo(canvas, *logo, margin, y, scale);
                     double at = y;
                     for (const std::string& part : name)
                         canvas.text(margin + width_, at + rise(shop_style), part, shop_style, Align::right),
                             at += pitch(shop_style);
                     for (const std::string& part : lines)
                         canvas.text(margin + width_, at + rise(small), part, small, Align::right),
                             at += pitch(small);
                 },
                 0, true, false, nullptr});
        put({pitch(title_style) + 6,
             [=, this](const Canvas& canvas, double y) {
                 canvas.text(margin, y + rise(title_style), sheet.title, title_style);
                 rule(canvas, y + pitch(title_style) + 2, 1.4, ink);
             },
             0, true, false, nullptr});
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
        cairo_move_to(canvas.cairo(), margin, y);
        cairo_line_to(canvas.cairo(), margin + width_, y);
        cairo_stroke(canvas.cairo());
    }

    void add(const Section& section) {
        if (!section.heading.empty()) add_heading(section);
        for (const Block& block : section.blocks) std::visit([this](const auto& one) { add(one); }, block);
    }

    void add_heading(const Section& section) {
        const TextStyle style = heading_style(section.level);
        const std::vector<std::string> lines = wrap_text(printable(section.heading), style, width_);
        for (std::size_t k = 0; k < lines.size(); ++k) {
            const bool ruled = section.level == 1 && k + 1 == lines.size();
            put({pitch(style) + (ruled ? 5.0 : 1.0),
                 [=, this, line = lines[k]](const Canvas& canvas, double y) {
                     canvas.text(margin, y + rise(style), line, style);
                     if (ruled) rule(canvas, y + pitch(style) + 0.5, 0.6, hairline);
                 },
                 k == 0 ? (section.level == 1 ? 16.0 : 9.0) : 0, true, section.own_page && k == 0, nullptr});
        }
    }

    /// Lines at an indent; the first two and the last two stay together.
    void add_lines(const std::string& text, const TextStyle& style, double indent, double gap,
                   const std::function<void(const Canvas&, double y)>& beside) {
        const std::vector<std::string> lines = wrap_text(printable(text), style, width_ - indent);
        for (std::size_t k = 0; k < lines.size(); ++k)
            put({pitch(style),
                 [=, line = lines[k], first = k == 0](const Canvas& canvas, double y) {
                     if (first && beside) beside(canvas, y);
                     canvas.text(margin + indent, y + rise(style), line, style);
                 },
                 k == 0 ? gap : 0, lines.size() > 1 && (k == 0 || k + 2 == lines.size()), false, nullptr});
    }

    void add(const Paragraph& paragraph) {
        add_lines(paragraph.text, paragraph.quiet ? small : body, 0, 4, {});
    }

    void add(const Facts& facts) {
        double indent = 0; // names are the program's own and short
        for (const auto& [name, text] : facts.rows)
            indent = std::max(indent, text_width(printable(name), bold_body) + 10);
        for (const auto& [name, text] : facts.rows) {
            add_lines(text, body, indent, 2.5, [label = printable(name)](const Canvas& canvas, double y) {
                canvas.text(margin, y + rise(bold_body), label, bold_body);
            });
        }
    }

    void add(const Items& items) {
        for (const std::string& item : items.items)
            add_lines(item, body, 11, 2.5, [](const Canvas& canvas, double y) {
                canvas.text(margin + 2, y + rise(body), "•", body);
            });
    }

    void add(const Picture& picture) {
        put({picture.height, [=](const Canvas& canvas, double y) { picture.draw(canvas, margin, y); }, 8,
             false, false, nullptr});
    }

    void add(const Blanks& blanks) {
        const double each = width_ / static_cast<double>(blanks.labels.size());
        if (!pieces_.empty()) pieces_.back().stays_with_next = true; // boxes alone on a page say nothing
        put({pitch(small) + box_height,
             [=](const Canvas& canvas, double y) {
                 for (std::size_t k = 0; k < blanks.labels.size(); ++k) {
                     const double x = margin + static_cast<double>(k) * each;
                     canvas.text(x, y + rise(small), printable(blanks.labels[k]), small);
                     frame(canvas, x, y + pitch(small), each - 8, box_height - 2);
                 }
             },
             6, false, false, nullptr});
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
        double x = margin;
        for (const Column& column : table.columns) {
            const double width = width_ * column.width / all;
            cells.x.push_back(x), cells.width.push_back(width);
            cells.align.push_back(column.align), cells.to_fill.push_back(column.to_fill);
            x += width;
        }
        return cells;
    }

    using Lines = std::vector<std::vector<std::string>>; ///< per column

    static Lines wrapped(const Cells& cells, const std::vector<std::string>& texts, const TextStyle& style) {
        Lines lines;
        for (std::size_t c = 0; c < texts.size(); ++c)
            lines.push_back(wrap_text(printable(texts[c]), style, cells.width[c] - 2 * cell_pad));
        return lines;
    }

    Piece row_piece(const Cells& cells, Lines lines, const TextStyle& style, bool is_head) const {
        std::size_t most = 1;
        bool blank = false;
        for (std::size_t c = 0; c < lines.size(); ++c) {
            most = std::max(most, lines[c].size());
            blank = blank || (cells.to_fill[c] && lines[c].empty() && !is_head);
        }
        const double height =
            std::max(static_cast<double>(most) * pitch(style) + 2 * cell_pad - 2, blank ? 15.5 : 0.0);
        Piece piece;
        piece.height = height;
        piece.draw = [=, this](const Canvas& canvas, double y) {
            for (std::size_t c = 0; c < lines.size(); ++c) {
                if (cells.to_fill[c] && lines[c].empty() && !is_head)
                    frame(canvas, cells.x[c] + 2, y + 2, cells.width[c] - 4, height - 4);
                double at = y + cell_pad - 1;
                for (const std::string& line : lines[c]) {
                    const double x = cells.align[c] == Align::right ? cells.x[c] + cells.width[c] - cell_pad
                                                                    : cells.x[c] + cell_pad;
                    canvas.text(x, at + rise(style), line, style, cells.align[c]);
                    at += pitch(style);
                }
            }
            rule(canvas, y + height, is_head ? 0.9 : 0.4, is_head ? quiet_ink : hairline);
        };
        return piece;
    }

    void add(const Table& table) {
        constexpr std::size_t most_lines = 30; // a row that would not fit on a page goes on in the next
        const Cells cells = cells_of(table);
        std::vector<std::string> headings;
        for (const Column& column : table.columns) headings.push_back(column.heading);
        auto head =
            std::make_shared<Piece>(row_piece(cells, wrapped(cells, headings, head_cell), head_cell, true));
        Piece first = *head;
        first.gap = 6, first.stays_with_next = true;
        put(std::move(first));
        for (const std::vector<std::string>& row : table.rows) {
            Lines rest = wrapped(cells, row, cell);
            do {
                Lines part(rest.size());
                for (std::size_t c = 0; c < rest.size(); ++c) {
                    const auto cut =
                        rest[c].begin() + static_cast<std::ptrdiff_t>(std::min(most_lines, rest[c].size()));
                    part[c].assign(rest[c].begin(), cut);
                    rest[c].erase(rest[c].begin(), cut);
                }
                Piece piece = row_piece(cells, std::move(part), cell, false);
                piece.head = head;
                put(std::move(piece));
            } while (std::ranges::any_of(rest, [](const auto& lines) { return !lines.empty(); }));
        }
    }

    double width_;
    std::vector<Piece> pieces_;
};

/// Strips down the pages of a PDF.
class Pages {
public:
    Pages(double width, double height, const std::string& running, int total)
        : canvas_(PageFormat::pdf, width, height, paper), running_(printable(running)), total_(total) {}

    /// @return how many pages there are
    int print(const std::vector<Piece>& pieces) {
        write_foot();
        for (std::size_t k = 0; k < pieces.size(); ++k) {
            const Piece& piece = pieces[k];
            const bool begun = y_ > top;
            if (begun && (piece.on_new_page || y_ + height_with_next(pieces, k) > canvas_.height() - foot))
                turn(piece.head.get());
            if (y_ > top) y_ += piece.gap;
            piece.draw(canvas_, y_);
            y_ += piece.height;
        }
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
        return std::min(height, canvas_.height() - foot - top);
    }

    void turn(const Piece* head) {
        canvas_.next_page();
        ++page_;
        y_ = top;
        write_foot();
        if (!head) return;
        head->draw(canvas_, y_);
        y_ += head->height;
    }

    void write_foot() const {
        const std::string number = fmt::format("page {} of {}", page_, total_);
        const double y = canvas_.height() - foot + 26;
        canvas_.text(canvas_.width() - margin, y, number, small, Align::right);
        const double room = canvas_.width() - 2 * margin - text_width(number, small) - 20;
        if (const auto lines = wrap_text(running_, small, room); !lines.empty())
            canvas_.text(margin, y, lines.front(), small);
    }

    Canvas canvas_;
    std::string running_;
    int total_, page_ = 1;
    double y_ = top;
};

} // namespace

std::string pdf_of(const Sheet& sheet, SheetPage page) {
    const bool a4 = page == SheetPage::a4;
    const double width = a4 ? a4_width_pt : letter_width_pt, height = a4 ? a4_height_pt : letter_height_pt;
    Strips strips(width - 2 * margin);
    const std::vector<Piece> pieces = strips.lay(sheet);
    const int total = Pages(width, height, sheet.running, 0).print(pieces); // to know how many there are
    Pages pages(width, height, sheet.running, total);
    pages.canvas().describe(sheet.title + ": " + sheet.running,
                            sheet.shop.empty() ? "Sparecoat" : sheet.shop);
    pages.print(pieces);
    return pages.canvas().bytes();
}

} // namespace sparecoat::picture::sheet
