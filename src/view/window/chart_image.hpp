#pragma once
#include "picture/chart/chart.hpp"
#include "view/render/gl.hpp"
#include "view/window/widgets.hpp"
#include <optional>
#include <string>
#include <vector>

namespace sparecoat::view {

/// A chart in the window, drawn by what draws it into files: what is seen is what is saved, but in the
/// window's colours and sharp at its size. Numbers under the pointer are told. Needs a current context for
/// all its life.
class ChartImage {
public:
    /// Draws into the card that is open. @param key says what the chart was made of: with another one,
    /// another size or other colours it is drawn anew. @param text_size in units of a window 720 high.
    void draw(const Ui& ui, const Box& box, const Chart& chart, const std::string& key, float text_size);

private:
    void redraw(int width, int height, const Chart& chart, double text_size, bool light);
    void tell(const Ui& ui, const Box& box, const Chart& chart) const;

    std::optional<gl::Texture> texture_;
    std::vector<ChartDot> dots_;
    std::string drawn_;
    bool fits_ = false;
};

} // namespace sparecoat::view
