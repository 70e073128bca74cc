#include "view/window/chart_image.hpp"
#include <cmath>
#include <cstdint>
#include <fmt/format.h>
#include <limits>
#include <stdexcept>

namespace sparecoat::view {

void ChartImage::draw(const Ui& ui, const Box& box, const Chart& chart, const std::string& key,
                      float text_size) {
    const int width = static_cast<int>(box.w), height = static_cast<int>(box.h);
    if (width < 1 || height < 1) return;
    const bool light = ui.session.settings.light_theme;
    const std::string wanted = fmt::format("{} {}x{} {} {}", key, width, height, light, ui.px(text_size));
    if (drawn_ != wanted) redraw(width, height, chart, static_cast<double>(ui.px(text_size)), light);
    drawn_ = wanted;
    ImDrawList& list = *ImGui::GetWindowDrawList();
    if (!fits_) {
        write_wrapped(list, ui.f.small, box.x + ui.px(6), box.y + ui.px(6), ui.c.quiet,
                      "No room for a chart.", box.w - ui.px(12));
        return;
    }
    const ImVec2 low{std::round(box.x), std::round(box.y)};
    list.AddImage(reinterpret_cast<ImTextureID>(static_cast<std::intptr_t>(texture_->name())), low,
                  {low.x + static_cast<float>(width), low.y + static_cast<float>(height)});
    tell(ui, {low.x, low.y, static_cast<float>(width), static_cast<float>(height)}, chart);
}

void ChartImage::redraw(int width, int height, const Chart& chart, double text_size, bool light) {
    fits_ = false;
    dots_.clear();
    const ChartInks& inks = light ? chart_inks_on_white : chart_inks_on_black;
    const Canvas canvas(width, height, 1, inks.paper);
    try {
        dots_ = draw_chart(canvas, {0, 0, canvas.width(), canvas.height(), text_size, inks}, chart);
    } catch (const std::invalid_argument&) {
        return; // smaller than its text, or with nothing in it
    }
    cairo_surface_t* surface = cairo_get_target(canvas.cairo());
    cairo_surface_flush(surface);
    if (!texture_) texture_.emplace();
    texture_->allocate(GL_RGBA8, width, height, GL_BGRA, GL_UNSIGNED_BYTE,
                       cairo_image_surface_get_data(surface)); // rows of 4 bytes a pixel
    texture_->bind(0);
    glTexParameteri(GL_TEXTURE_2D, GL_TEXTURE_SWIZZLE_A, GL_ONE); // Cairo leaves that byte alone
    glBindTexture(GL_TEXTURE_2D, 0);
    fits_ = true;
}

void ChartImage::tell(const Ui& ui, const Box& box, const Chart& chart) const {
    const ImVec2 mouse = ImGui::GetIO().MousePos;
    if (!box.holds(mouse) || !ImGui::IsWindowHovered()) return;
    const double x = static_cast<double>(mouse.x - box.x), y = static_cast<double>(mouse.y - box.y);
    const ChartDot* nearest = nullptr;
    double least = static_cast<double>(ui.px(14));
    for (const ChartDot& dot : dots_)
        if (const double apart = std::hypot(dot.x - x, dot.y - y); apart < least)
            nearest = &dot, least = apart;
    if (!nearest) return;
    const ImVec2 at{box.x + static_cast<float>(nearest->x), box.y + static_cast<float>(nearest->y)};
    ImGui::GetWindowDrawList()->AddCircle(at, ui.px(7), ui.c.accent, 0, ui.px(2));
    ImGui::SetTooltip("%s", words_at(chart, *nearest).c_str());
}

} // namespace sparecoat::view
