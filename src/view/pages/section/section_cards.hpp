#pragma once
#include "view/pages/section/section_page.hpp"
#include "view/window/cards.hpp"

namespace sparecoat::view::section {

using SectionUi = PageUi<SectionPage>;
using SectionColumn = ColumnOf<SectionUi>;

// The cards of a test section that have a source of their own: what to do next and why; what clears against
// what it costs.

void draw_advice_card(const SectionUi& ui, const Box& box);
void draw_section_chart(const SectionUi& ui, const Box& box);

} // namespace sparecoat::view::section
