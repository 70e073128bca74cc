#include "view/render/map_labels.hpp"
#include "picture/contours.hpp"
#include "units/quantity.hpp"
#include "view/render/scene.hpp"
#include <algorithm>
#include <array>
#include <cmath>

namespace sparecoat::view {
namespace {

/// A stretch of contour line on the page that faces the eye.
struct PageLine {
    double level = 0;
    std::vector<Point2> points, on_panel;
    std::vector<double> walked; ///< length on the page up to each point

    double length() const { return walked.empty() ? 0 : walked.back(); }
    Point2 at(double arc) const { return between(points, arc); }
    Point2 panel_at(double arc) const { return between(on_panel, arc); }

private:
    Point2 between(const std::vector<Point2>& of, double arc) const {
        const auto next = std::upper_bound(walked.begin() + 1, walked.end() - 1, arc);
        const auto n = static_cast<std::size_t>(next - walked.begin());
        const double piece = walked[n] - walked[n - 1];
        const double t = piece > 0 ? std::clamp((arc - walked[n - 1]) / piece, 0.0, 1.0) : 0;
        return (1 - t) * of[n - 1] + t * of[n];
    }
};

class PageLines {
public:
    /// @param size of the digits.
    PageLines(const Panel& panel, const Camera& camera, const SceneFrame& frame, double size)
        : panel_(panel), camera_(camera), frame_(frame), size_(size) {}

    /// Cuts a contour where digits on it would turn away from the eye, hang over the edge or leave the frame.
    void add(const Contour& contour) {
        PageLine line;
        line.level = contour.level;
        const std::size_t count = contour.points.size() + (contour.closed ? 1 : 0);
        for (std::size_t n = 0; n < count; ++n) {
            Point2 page;
            if (has_place(contour.points[n % contour.points.size()], page)) {
                line.walked.push_back(
                    line.points.empty() ? 0 : line.walked.back() + norm(page - line.points.back()));
                line.points.push_back(page);
                line.on_panel.push_back(contour.points[n % contour.points.size()]);
            } else {
                keep(line);
                line = {};
                line.level = contour.level;
            }
        }
        keep(line);
    }

    std::vector<PageLine> take() && {
        std::stable_sort(lines_.begin(), lines_.end(),
                         [](const PageLine& a, const PageLine& b) { return a.length() > b.length(); });
        return std::move(lines_);
    }

private:
    void keep(PageLine& line) {
        constexpr double shortest = 30; // too short to write on
        if (line.points.size() >= 2 && line.length() >= shortest) lines_.push_back(std::move(line));
    }
    bool has_place(Point2 at, Point2& page) const {
        const glm::vec3 point(at.x, at.y, height_at(panel_, at));
        // At a slant the digits would run into the next line.
        if (glm::dot(normal_at(panel_, at), glm::normalize(camera_.eye() - point)) < 0.2f) return false;
        const glm::vec3 seen = camera_.project(point, frame_.aspect());
        page = on_page(seen);
        // Nor may they hang over the edge: the way to it as the eye sees it, at its shortest.
        constexpr float probe_m = 1e-3f;
        const double along_u =
            norm(on_page(camera_.project(point + glm::vec3(probe_m, 0, 0), frame_.aspect())) - page);
        const double along_v =
            norm(on_page(camera_.project(point + glm::vec3(0, probe_m, 0), frame_.aspect())) - page);
        const double to_edge = edge_distance(at) / static_cast<double>(probe_m) * std::min(along_u, along_v);
        return to_edge > 0.6 * size_ && seen.z > 0 && seen.x > 0.01f && seen.x < 0.99f && seen.y > 0.01f &&
               seen.y < 0.99f;
    }

    Point2 on_page(glm::vec3 seen) const {
        return {frame_.x + static_cast<double>(seen.x) * frame_.width,
                frame_.y + static_cast<double>(seen.y) * frame_.height};
    }
    double edge_distance(Point2 at) const {
        const Grid& g = panel_.grid;
        const auto i = static_cast<int>(std::clamp(std::lround((at.x - g.x0_m) / g.h_m), 0L, g.nu - 1L));
        const auto j = static_cast<int>(std::clamp(std::lround((at.y - g.y0_m) / g.h_m), 0L, g.nv - 1L));
        return static_cast<double>(panel_.edge_distance_m[g.index(i, j)]);
    }

    const Panel& panel_;
    const Camera& camera_;
    const SceneFrame& frame_;
    double size_;
    std::vector<PageLine> lines_;
};

class Placer {
public:
    Placer(const Scale& scale, const TextStyle& style, std::vector<Taken> taken)
        : scale_(scale), style_(style), taken_(std::move(taken)) {}

    std::vector<ContourNumber> place(const std::vector<PageLine>& lines) {
        for (const PageLine& line : lines)
            if (std::none_of(numbers_.begin(), numbers_.end(),
                             [&](const ContourNumber& number) { return is_level(number, line); }))
                try_number(line);
        for (const PageLine& line : lines)
            while (line.length() > 200 && try_number(line)) {}
        return std::move(numbers_);
    }

private:
    static constexpr double apart_same_level = 300;

    bool is_level(const ContourNumber& number, const PageLine& line) const {
        return std::abs(number.level - line.level) < 0.1 * scale_.step;
    }

    /// Writes on the straightest stretch that has room. @return whether there is one.
    bool try_number(const PageLine& line) {
        ContourNumber best;
        best.level = line.level;
        best.text = tick_text(line.level, scale_.step);
        const double width = text_width(best.text, style_) + 6;
        double best_straight = 0.9; // chord over arc: less bends too much to write on
        for (double from = 0; from + width <= line.length(); from += 5) {
            const Point2 a = line.at(from), b = line.at(from + width), middle = line.at(from + width / 2);
            const double straight = norm(b - a) / width;
            if (straight <= best_straight) continue;
            const Point2 at = 0.25 * (a + b) + 0.5 * middle;
            const double angle = upright(std::atan2(b.y - a.y, b.x - a.x));
            if (!has_room(line, at, angle, width)) continue;
            best_straight = straight;
            best.x = at.x, best.y = at.y, best.angle = angle;
            best.at = line.panel_at(from + width / 2);
        }
        if (best_straight <= 0.9) return false;
        for (const Point2& p : along({best.x, best.y}, best.angle, width))
            taken_.push_back({p.x, p.y, 0.5 * style_.size + 3});
        numbers_.push_back(best);
        return true;
    }

    bool has_room(const PageLine& line, Point2 at, double angle, double width) const {
        for (const ContourNumber& number : numbers_)
            if (is_level(number, line) && norm(at - Point2{number.x, number.y}) < apart_same_level)
                return false;
        for (const Point2& p : along(at, angle, width))
            for (const Taken& t : taken_)
                if (norm(p - Point2{t.x, t.y}) < t.radius + 0.5 * style_.size + 3) return false;
        return true;
    }

    static double upright(double angle) {
        return angle > pi / 2 ? angle - pi : angle <= -pi / 2 ? angle + pi : angle;
    }
    static std::array<Point2, 3> along(Point2 at, double angle, double width) {
        const Point2 reach = 0.35 * width * Point2{std::cos(angle), std::sin(angle)};
        return {at - reach, at, at + reach};
    }

    const Scale& scale_;
    const TextStyle& style_;
    std::vector<Taken> taken_;
    std::vector<ContourNumber> numbers_;
};

} // namespace

std::vector<ContourNumber> place_contour_numbers(const Panel& panel, std::span<const float> values,
                                                 const LabelView& view) {
    const Scale& scale = view.scale;
    std::vector<double> levels;
    for (const double tick : scale.ticks)
        if (std::abs(tick) > 0.5 * scale.step && tick > scale.low && tick < scale.high)
            levels.push_back(tick);
    std::vector<float> shown(values.begin(), values.end());
    for (float& value : shown) value *= static_cast<float>(view.factor);
    PageLines lines(panel, view.camera, view.frame, view.style.size);
    for (const Contour& contour : trace_contours(panel.grid, shown, panel.inside, levels)) lines.add(contour);
    return Placer(scale, view.style, view.taken).place(std::move(lines).take());
}

} // namespace sparecoat::view
