#pragma once
#include "view/window/cards.hpp"

namespace sparecoat::view::board {

// The pages of the board that have a source of their own.

void draw_readings(const Ui& ui, const Box& box);
void draw_plan_page(const Ui& ui, const Box& box);

} // namespace sparecoat::view::board
