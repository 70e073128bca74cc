// Draws the picture of the section on edges in docs/model.md and prints its figures:
//     write_edge_picture PICTURE.svg
// (docs/make_edge_picture builds and runs it.)
#include "support/held_pad.hpp"
#include <cstdio>
#include <exception>
#include <fstream>
#include <iostream>
#include <stdexcept>
#include <string>

using namespace sparecoat::cli;
using namespace sparecoat::test::held_pad;

namespace {

void print_figures() {
    std::puts("S, mm | at the edge: linear, no shear, shear | kappa: edge, 33 mm in, far side | "
              "spinning, linear | orbiting, linear");
    for (const double S : overhangs) {
        const double d = edge_at(S), edge = d - 0.5 * spacing;
        const Held off = hold(Tool::spinning, S, Shear::off), on = hold(Tool::spinning, S, Shear::on);
        const auto kappa = [&](double x) { return on.pressure(x) / off.pressure(x); };
        std::printf("%.2f, %.1f | %.2f, %.2f, %.2f | %.2f, %.2f, %.2f | %.2f, %.2f | %.2f, %.2f\n", S,
                    2e3 * R * S, linear_pressure(d).at(edge) / mean_pressure,
                    off.pressure(edge) / mean_pressure, on.pressure(edge) / mean_pressure, kappa(edge),
                    kappa(d - 3.5 * decay), kappa(-R + 4.5 * spacing), on.removed_at_edge(),
                    off.removed_at_edge(), hold(Tool::orbiting, S, Shear::on).removed_at_edge(),
                    hold(Tool::orbiting, S, Shear::off).removed_at_edge());
    }
}

const char* const ink = "#222";
constexpr double top = 40, bottom = 300, width = 290;

struct Frame {
    double left, most;
}; // 0 to 150 mm from the edge across, 0 to `most` up

struct Picture {
    std::ofstream& svg;

    void text(double x, double y, const std::string& words, const char* anchor, const char* colour) {
        svg << "<text x=\"" << x << "\" y=\"" << y << "\" text-anchor=\"" << anchor << "\" fill=\"" << colour
            << "\">" << words << "</text>\n";
    }

    void axes(Frame f, const std::string& title) {
        text(f.left + width / 2, 24, title, "middle", ink);
        for (double v = 0; v <= f.most; v += f.most > 2 ? 1 : 0.5) {
            const double y = bottom - (bottom - top) * v / f.most;
            svg << "<path d=\"M" << f.left << ' ' << y << 'h' << width << "\" stroke=\"#ddd\"/>\n";
            text(f.left - 6, y + 4, std::to_string(v).substr(0, 3), "end", ink);
        }
        for (int mm = 0; mm <= 150; mm += 50)
            text(f.left + width * mm / 150, bottom + 18, std::to_string(mm), "middle", ink);
        text(f.left + width / 2, bottom + 36, "mm from the edge", "middle", ink);
    }

    void curve(Frame f, double d, const char* colour, bool dashed, auto&& value) {
        svg << "<path fill=\"none\" stroke=\"" << colour << "\" stroke-width=\"" << (dashed ? 1.2 : 2) << "\""
            << (dashed ? " stroke-dasharray=\"5 4\"" : "") << " d=\"";
        char command = 'M';
        for (const double x : across(d)) {
            svg << command << f.left + width * (d - x) / 0.15 << ' '
                << bottom - (bottom - top) * std::max(0.0, value(x)) / f.most << ' ';
            command = 'L';
        }
        svg << "\"/>\n";
    }
};

void draw(std::ofstream& svg) {
    svg << "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 1080 350\" font-family=\"sans-serif\" "
           "font-size=\"13\">\n<rect width=\"1080\" height=\"350\" fill=\"white\"/>\n";
    Picture picture{svg};
    const Frame pressure{50, 4}, spinning{410, 2}, orbiting{770, 4};
    picture.axes(pressure, "pressure / mean of the whole face");
    picture.axes(spinning, "removal, spinning / at its rim in the open");
    picture.axes(orbiting, "removal, orbiting / in the open");
    const struct {
        double S;
        const char* colour;
        const char* words;
    } shown[] = {{0.1, "#1b7837", "S = 0.1"}, {0.2, "#2166ac", "S = 0.2"}, {0.3, "#b2182b", "S = 0.3"}};
    double words_at = top + 20;
    for (const auto& one : shown) {
        const double d = edge_at(one.S);
        for (const bool dashed : {true, false}) {
            const Held spin = hold(Tool::spinning, one.S, dashed ? Shear::off : Shear::on);
            const Held round = hold(Tool::orbiting, one.S, dashed ? Shear::off : Shear::on);
            picture.curve(pressure, d, one.colour, dashed,
                          [&](double x) { return spin.pressure(x) / mean_pressure; });
            picture.curve(spinning, d, one.colour, dashed, [&](double x) { return spin.removed(x); });
            picture.curve(orbiting, d, one.colour, dashed, [&](double x) { return round.removed(x); });
        }
        picture.text(pressure.left + width - 8, words_at, one.words, "end", one.colour);
        words_at += 18;
    }
    picture.text(pressure.left + width - 8, words_at, "dashed: without shear", "end", ink);
    svg << "</svg>\n";
}

} // namespace

int main(int argc, char** argv) try {
    if (argc != 2) throw std::runtime_error("usage: write_edge_picture PICTURE.svg");
    print_figures();
    std::ofstream svg(argv[1]);
    draw(svg);
    svg.close();
    if (!svg) throw std::runtime_error(std::string("cannot write ") + argv[1]);
} catch (const std::exception& error) {
    std::cerr << error.what() << '\n';
    return 1;
}
