#pragma once
#include "view/pages/board/board_page.hpp"
#include "view/window/cards.hpp"

namespace sparecoat::view::board {

using BoardUi = PageUi<BoardPage>;
using BoardColumn = ColumnOf<BoardUi>;

// The pages of the board that have a source of their own.

void draw_readings(const BoardUi& ui, const Box& box);
void draw_board_form(const BoardUi& ui, float width, float height);
void draw_plan_page(const BoardUi& ui, const Box& box);

} // namespace sparecoat::view::board
