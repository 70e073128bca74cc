#include "view/window/page.hpp"
#include "view/render/scene.hpp"

namespace sparecoat::view {

FrameCount Page::draw_panels(float, float) { return {}; }

} // namespace sparecoat::view
