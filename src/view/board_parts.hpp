#pragma once
#include "view/cards.hpp"

namespace sparecoat {

// The pages of the board that have a source of their own.

void draw_readings(const Ui& ui, const Box& box);
void draw_plan_page(const Ui& ui, const Box& box);

} // namespace sparecoat
