#include "view/pages/lamp/lamp_page.hpp"
#include "view/window/cards.hpp"
#include "view/window/value_card.hpp"
#include <algorithm>
#include <fmt/format.h>

namespace sparecoat::view::lamp {

using LampUi = PageUi<LampPage>;

namespace {

/// The lamp's switch, and what it shows.
void draw_lamp_row(const LampUi& ui, const Box& box) {
    RunSession& session = ui.session;
    LampPage& page = ui.page;
    const float gap = ui.px(6), w = (box.w - 3 * gap) / 4;
    const auto place = [&](int n) { return Box{box.x + static_cast<float>(n) * (w + gap), box.y, w, box.h}; };
    const std::string hint =
        page.model.working() ? "Placing the marks" : "Marks in the paint under an inspection lamp";
    if (press(ui, "lamp", "Lamp", place(0), page.model.lit,
              fmt::format("{}  {}", hint, keys_of(Action::lamp))))
        session.act(Action::lamp);
    draw_key_mark(ui, place(0), keys_of(Action::lamp), page.model.lit);
    constexpr const char* hints[] = {"The paint as it was found", "The paint as it is now",
                                     "Found at the left of the tape, now at its right"};
    for (int k = 0; k < 3; ++k) {
        const auto way = static_cast<LampShow>(k);
        const std::string word(name_of(way));
        const bool on = page.model.lit && page.model.lamp.show == way;
        if (!press(ui, word.c_str(), word, place(k + 1), on,
                   fmt::format("{}  {}", hints[k], keys_of(Action::lamp_show))))
            continue;
        page.model.lit = true;
        page.model.show(way, session.shown->panel, session.camera.eye());
    }
}

/// What the lamp shows, in the legend's place.
void draw_lamp_words(const LampUi& ui, ImDrawList& list, const Box& box) {
    const LampPage& page = ui.page;
    constexpr const char* words[] = {"as found", "as it is", "found | now"};
    const float right = box.x + box.w - ui.px(14);
    write(list, ui.f.bold, right, box.y + ui.px(12), ui.c.ink, "Under the lamp", Align::right);
    write(list, ui.f.body, right, box.y + ui.px(33), ui.c.quiet,
          page.model.shown() ? words[static_cast<std::size_t>(page.model.lamp.show)] : "placing the marks",
          Align::right);
    write(list, ui.f.small, right, box.y + ui.px(54), ui.c.quiet,
          page.model.defects().name.substr(0, page.model.defects().name.find(':')), Align::right);
}

/// What the panel was found with, and the lamp that shows it. None of it changes the run.
void draw_lamp_rows(const LampUi& ui, ValueCard& card) {
    RunSession& session = ui.session;
    LampPage& page = ui.page;
    static bool open = false;
    if (!card.fold("Inspection lamp", open,
                   page.model.lit ? std::string(name_of(page.model.lamp.show)) : "off"))
        return;
    static const std::vector<Listing> ways{
        {"off", "off", "", "The map, or plain paint."},
        {"before", "before", "", "The paint as it was found."},
        {"after", "after", "", "The paint as it is now."},
        {"half", "half and half", "", "As found at the left of a strip of tape, as it is now at its right."}};
    const std::size_t way = page.model.lit ? 1 + static_cast<std::size_t>(page.model.lamp.show) : 0;
    if (const std::string id = card.choice("Show", ways[way].id, ways[way].name, ways); !id.empty()) {
        page.model.lit = id != "off";
        if (page.model.lit) page.model.show(lamp_show(id), session.shown->panel, session.camera.eye());
    }
    if (const std::string id = card.choice("Marks", session.settings.defects, page.model.defects().name,
                                           session.list(PresetKind::defects));
        !id.empty())
        page.model.lit = session.choose_defects(id) || page.model.lit;
    if (!page.model.lit) return;
    const auto place = [&](const char* name, float& metres, double low, double high, const char* hint) {
        double value = static_cast<double>(metres);
        if (card.value({name, "/lamp", Dim::length, "mm", mm, low, high, 10, 0, hint, Limits{low, high}},
                       value))
            metres = static_cast<float>(value);
    };
    place("Lamp, right", page.model.lamp.place.x, -1000, 2500,
          "Of the lamp, from the panel's own zero to the right.");
    place("Lamp, up", page.model.lamp.place.y, -1000, 2500,
          "Of the lamp, from the panel's own zero upwards.");
    place("Lamp, height", page.model.lamp.place.z, 50, 2000, "Of the lamp over the panel.");
}

} // namespace

bool LampPage::draw_card(const Ui& ui, CardPlace place, const Box& box) {
    if (place == CardPlace::below_maps) draw_lamp_row({ui, *this}, box);
    else if (place == CardPlace::legend && model.lit)
        draw_lamp_words({ui, *this}, *ImGui::GetBackgroundDrawList(), box);
    else return false;
    return true;
}

void LampPage::draw_rows(const Ui& ui, ValueCard& card) { draw_lamp_rows({ui, *this}, card); }

} // namespace sparecoat::view::lamp
