#include "units/error.hpp"
#include "units/quantity.hpp"
#include "view/window/cards.hpp"
#include "view/window/value_card.hpp"
#include <algorithm>
#include <cmath>
#include <fmt/format.h>
#include <imgui.h>
#include <limits>
#include <optional>

namespace sparecoat::view {
namespace {

constexpr float row_height = ValueCard::row_height;

const char* name_of(Pattern pattern) {
    switch (pattern) {
    case Pattern::raster: return "raster";
    case Pattern::spiral: return "spiral";
    case Pattern::line: return "line";
    case Pattern::recorded: return "recorded";
    case Pattern::strips: return "strips";
    }
    return "";
}

void draw_undo(const Ui& ui, ValueCard& card) {
    RunSession& session = ui.session;
    const ImVec2 at = ImGui::GetCursorScreenPos();
    const float gap = ui.px(8), w = (card.width() - gap) / 2, h = ui.px(25);
    const auto words = [](const char* verb, const std::string& label) {
        return label.empty() ? std::string(verb) : fmt::format("{} {}", verb, label);
    };
    if (press(ui, "undo", words("Undo", session.edits.undo_label()), {card.x(), at.y, w, h}, false,
              words("Undo", session.edits.undo_label()) + "  " + keys_of(Action::undo),
              session.edits.can_undo()))
        session.act(Action::undo);
    if (press(ui, "redo", words("Redo", session.edits.redo_label()), {card.x() + w + gap, at.y, w, h}, false,
              words("Redo", session.edits.redo_label()) + "  " + keys_of(Action::redo),
              session.edits.can_redo()))
        session.act(Action::redo);
    card.advance(at, 31);
}

void draw_choices(const Ui& ui, ValueCard& card) {
    RunSession& session = ui.session;
    const Choices& now = session.choices();
    const RunJob& job = *session.edits.job();
    if (const auto id =
            card.choice("Panel", now.request.panel, job.panel.name, session.list(PresetKind::panel));
        !id.empty())
        return session.choose_panel(id);
    if (const auto id = card.choice("Work", now.request.technique, now.technique.name,
                                    session.list(PresetKind::technique));
        !id.empty())
        return session.load_technique(id);
    if (const auto id = card.choice("Machine", now.technique.machine, job.step.machine.name,
                                    session.list(PresetKind::machine));
        !id.empty())
        return session.choose_machine(id);
    std::vector<Listing> pads;
    for (const Listing& pad :
         session.list(PresetKind::pad)) { // those the machine takes; the id ends in the diameter
        const double diameter_m = std::strtod(pad.id.c_str() + pad.id.rfind('-') + 1, nullptr) * mm;
        if (diameter_m > job.step.machine.pad_min_m - 1e-6 && diameter_m < job.step.machine.pad_max_m + 1e-6)
            pads.push_back(pad);
    }
    Choices next = now;
    if (const auto id = card.choice("Pad", now.technique.pad, job.step.pad.name, pads); !id.empty()) {
        next.technique.pad = id;
        return session.edit(next, "pad");
    }
    if (const auto id = card.choice("Liquid", now.technique.liquid, job.step.liquid.name,
                                    session.list(PresetKind::liquid));
        !id.empty()) {
        next.technique.liquid = id;
        return session.edit(next, "liquid");
    }
    if (const auto id =
            card.choice("Paint", now.request.paint, job.paint.name, session.list(PresetKind::paint));
        !id.empty()) {
        next.request.paint = id;
        return session.edit(next, "paint");
    }
    if (now.request.path_csv) {
        const ImVec2 at = ImGui::GetCursorScreenPos();
        write(card.list(), ui.f.small, card.x(), at.y + ui.px(5), ui.c.quiet,
              fitted(ui.f.small, "Recorded path " + now.request.path_csv->filename().string(),
                     card.width() - ui.px(76)));
        if (press(ui, "lay", "Lay anew", {card.x() + card.width() - ui.px(72), at.y, ui.px(72), ui.px(24)},
                  false, "Lets go of the recorded path and lays the technique's own")) {
            next.request.path_csv.reset();
            return session.edit(next, "recorded path");
        }
        card.advance(at, row_height);
    }
}

/// How stiffly the hands hold the head's tilt. @return whether it changed.
bool draw_head(ValueCard& card, double& stiffness_nm_rad) {
    static const std::vector<Listing> ways{
        {"level", "levels itself", "", "The head finds its own tilt: hands that only guide it."},
        {"held", "held by hand", "", "Hands resist a tilt, the more the stiffer they are."},
        {"locked", "tilt locked", "", "The tilt is what it was set to, whatever the panel does."}};
    constexpr double usual_nm_rad = 30;
    const bool locked = std::isinf(stiffness_nm_rad), level = stiffness_nm_rad == 0;
    const std::size_t now = level ? 0 : locked ? 2 : 1;
    if (const std::string id = card.choice("Head", ways[now].id, ways[now].name, ways); !id.empty()) {
        stiffness_nm_rad = id == "level"    ? 0
                           : id == "locked" ? std::numeric_limits<double>::infinity()
                                            : usual_nm_rad;
        return true;
    }
    if (level || locked) return false;
    return card.value({"Hand stiffness", "/hand_stiffness", Dim::rotary_stiffness, "N m/rad", 1, 5, 200, 1, 0,
                       "Moment that the hands put against a tilt.", Limits{1, 10000}},
                      stiffness_nm_rad);
}

/// @return what changed, for the undo list; empty where nothing did.
std::string draw_pattern(ValueCard& card, Technique& t, const Panel& panel) {
    static const std::vector<Listing> patterns{
        {"raster", "raster", "", "Lines side by side, there and back."},
        {"spiral", "spiral", "", "From the middle outward and back in."}};
    static const std::vector<Listing> parts{
        {"whole", "whole panel", "", "All that the hold-back leaves."},
        {"one", "one section", "", "A rectangle of the panel, taped off."}};
    if (const std::string id = card.choice("Pattern", name_of(t.pattern), name_of(t.pattern), patterns);
        !id.empty()) {
        t.pattern = id == "raster" ? Pattern::raster : Pattern::spiral;
        return "pattern";
    }
    // A line has its two ends and strips the edges that they follow; neither has a section.
    if (t.pattern == Pattern::line || t.pattern == Pattern::strips) return "";
    const std::size_t part = t.section_centre ? 1 : 0;
    if (const std::string id = card.choice("Section", parts[part].id, parts[part].name, parts); !id.empty()) {
        const Grid& grid = panel.grid;
        const Point2 middle{grid.x0_m + 0.5 * (grid.nu - 1) * grid.h_m,
                            grid.y0_m + 0.5 * (grid.nv - 1) * grid.h_m};
        // In whole millimetres, as it is shown.
        if (id == "one")
            t.section_centre = Point2{std::round(middle.x / mm) * mm, std::round(middle.y / mm) * mm};
        else t.section_centre.reset();
        return "section";
    }
    if (!t.section_centre && t.pattern == Pattern::spiral) return ""; // one spiral, from the panel's middle
    const auto length = [&](const char* name, const char* pointer, double& value, double low, double high,
                            const char* hint) {
        return card.value({name, pointer, Dim::length, "mm", mm, low, high, 10, 0, hint, Limits{-4000, 4000}},
                          value);
    };
    const auto side = [&](const char* name, double& value, const char* hint) {
        return card.value(
            {name, "/section/size", Dim::length, "mm", mm, 200, 1500, 10, 0, hint, Limits{20, 4000}}, value);
    };
    const bool one = t.section_centre.has_value();
    std::string changed;
    const Grid& grid = panel.grid;
    if (one) {
        if (length("Centre, right", "/section/centre", t.section_centre->x, grid.x0_m / mm,
                   (grid.x0_m + grid.nu * grid.h_m) / mm,
                   "Of the section, from the panel's own zero to the right."))
            changed = "section centre";
        if (length("Centre, up", "/section/centre", t.section_centre->y, grid.y0_m / mm,
                   (grid.y0_m + grid.nv * grid.h_m) / mm,
                   "Of the section, from the panel's own zero upwards."))
            changed = "section centre";
    }
    const char* hint =
        one ? "Of the section."
            : "The whole panel is worked in sections of about this size, each with fresh liquid.";
    if (side("Section width", t.section_size.x, hint)) changed = "section size";
    if (side("Section height", t.section_size.y, hint)) changed = "section size";
    return changed;
}

/// Width of the masking tape, for all edges and by the name of each edge and line. @return what changed, if
/// anything.
std::string draw_tape(ValueCard& card, Technique& t, const Panel& panel) {
    std::string changed;
    const auto width = [&](const char* name, double& value, const char* hint) {
        return card.value({name, "/tape", Dim::length, "mm", mm, 0, 60, 1, 0, hint}, value);
    };
    if (width("All edges", t.tape_m,
              "Width of the masking tape: the pad may run over it, the paint under it is kept."))
        changed = "tape";
    const auto by_name = [&](const std::vector<std::string>& names, double usual_m, const char* hint) {
        for (const std::string& name : names) {
            const auto own = t.tape_edge_m.find(name);
            double value = own == t.tape_edge_m.end() ? usual_m : own->second;
            if (!width(name.c_str(), value, hint)) continue;
            if (value == usual_m) t.tape_edge_m.erase(name);
            else t.tape_edge_m[name] = value;
            changed = "tape, " + name;
        }
    };
    by_name(panel.edge_names, t.tape_m, "Width of the tape along this edge.");
    by_name(panel.crest_names, 0, "Width of the tape to either side of this line.");
    return changed;
}

std::string tape_summary(const Technique& t) {
    const bool own =
        std::any_of(t.tape_edge_m.begin(), t.tape_edge_m.end(), [](const auto& e) { return e.second > 0; });
    if (!own) return t.tape_m > 0 ? fmt::format("{:.0f} mm", t.tape_m / mm) : "none";
    return t.tape_m > 0 ? fmt::format("{:.0f} mm, {} set", t.tape_m / mm, t.tape_edge_m.size())
                        : fmt::format("{} set", t.tape_edge_m.size());
}

/// "lines 4, 7 and 9: " before what a person should know of the readings.
std::string remark_of(const FilmFlag& flag) {
    std::string where;
    constexpr std::size_t most = 4;
    for (std::size_t k = 0; k < std::min(most, flag.lines.size()); ++k)
        where +=
            fmt::format("{}{}", k == 0 ? flag.lines.size() == 1 ? "line " : "lines " : ", ", flag.lines[k]);
    if (flag.lines.size() > most) where += fmt::format(" and {} more", flag.lines.size() - most);
    return fmt::format("{}{}{}", name_of(flag.kind), where.empty() ? ": " : " (" + where + "): ", flag.text);
}

/// The gauge readings in use, what of them a person should know, and the way to let go of them.
void draw_readings(const Ui& ui, ValueCard& card) {
    RunSession& session = ui.session;
    const SharedReadings& readings = session.choices().request.readings;
    if (!readings) return;
    const ImVec2 at = ImGui::GetCursorScreenPos();
    write(card.list(), ui.f.small, card.x(), at.y + ui.px(5), ui.c.quiet,
          fitted(ui.f.small, "Readings " + std::filesystem::path(readings->source).filename().string(),
                 card.width() - ui.px(76)));
    if (press(ui, "nominal", "Let go", {card.x() + card.width() - ui.px(72), at.y, ui.px(72), ui.px(24)},
              false, "Lets go of the gauge readings: the film is the paint's nominal one again")) {
        Choices next = session.choices();
        next.request.readings.reset();
        return session.edit(next, "gauge readings");
    }
    card.advance(at, row_height + 1);
    const std::optional<FilmReport>& film = session.edits.job()->film;
    if (!film) return; // still being made ready
    const auto wrapped = [&](ImU32 colour, const std::string& words) {
        const ImVec2 from = ImGui::GetCursorScreenPos();
        const float high =
            write_wrapped(card.list(), ui.f.small, card.x(), from.y, colour, words, card.width());
        card.advance(from, high / ui.s + 3);
    };
    wrapped(ui.c.ink,
            fmt::format("{} {}: {:.2f} times nominal (\u00b1 {:.0f} %)", film->readings,
                        film->readings == 1 ? "spot" : "spots", film->offset, 100 * film->offset_sd));
    for (const FilmFlag& flag : film->flags) wrapped(ui.c.warn, remark_of(flag));
}

/// @return what changed, for the undo list; empty where nothing did.
std::string draw_hold_back_by_edge(ValueCard& card, Technique& t, const RunJob& job) {
    const double pad_mm = job.step.pad.radius_m / mm;
    std::string label;
    for (const std::string& edge : job.panel.edge_names) {
        const auto held = t.hold_back_edge_m.find(edge);
        double own = held == t.hold_back_edge_m.end() ? t.hold_back_m : held->second;
        if (card.value({edge.c_str(), "/hold_back", Dim::length, "mm", mm, -pad_mm, 100, 1, 0,
                        "How far the pad's rim stays inside this edge."},
                       own)) {
            t.hold_back_edge_m[edge] = own;
            label = "hold-back, " + edge;
        }
    }
    // Body lines, rolls and rims are kept clear of only where asked: the least value stands for "not at
    // all".
    for (const std::string& crest : job.panel.crest_names) {
        const auto held = t.hold_back_edge_m.find(crest);
        double own = held == t.hold_back_edge_m.end() ? -job.step.pad.radius_m : held->second;
        if (!card.value({crest.c_str(), "/hold_back", Dim::length, "mm", mm, -pad_mm, 100, 1, 0,
                         "How far the pad's rim keeps from this line, as if it were taped; fully left is "
                         "not at all."},
                        own))
            continue;
        label = "hold-back, " + crest;
        if (own > -job.step.pad.radius_m) t.hold_back_edge_m[crest] = own;
        else t.hold_back_edge_m.erase(crest);
    }
    return label;
}

/// How far a hand strays. @return what changed, for the undo list; empty where nothing did.
std::string draw_hand(ValueCard& card, HandVariation& hand) {
    std::string label;
    const auto row = [&](const ValueSpec& v, double& si) {
        if (card.value(v, si)) label = v.label;
    };
    card.set_indent(14);
    row({"Hand: force", "/hand/force", Dim::none, "%", 0.01, 0, 30, 1, 0, "Standard deviation."}, hand.force);
    row({"Hand: arm speed", "/hand/arm_speed", Dim::none, "%", 0.01, 0, 30, 1, 0, "Standard deviation."},
        hand.arm_speed);
    row({"Hand: tilt", "/hand/tilt", Dim::angle, "°", deg, 0, 3, 0.1, 1, "Standard deviation, each way."},
        hand.tilt_rad);
    row({"Hand: spacing", "/hand/spacing", Dim::length, "mm", mm, 0, 20, 1, 0,
         "Standard deviation of a line's place."},
        hand.spacing_m);
    card.set_indent(0);
    return label;
}

void draw_values(const Ui& ui, ValueCard& card) {
    RunSession& session = ui.session;
    const RunJob& job = *session.edits.job();
    const Machine& machine = job.step.machine;
    Choices next = session.choices();
    Technique& t = next.technique;
    std::string label;
    const auto row = [&](const ValueSpec& v, double& si) {
        if (card.value(v, si)) label = v.label;
    };
    const double slowest = machine.speed_min_rad_s / per_min, fastest = machine.speed_max_rad_s / per_min;
    const double pad_mm = job.step.pad.radius_m / mm;
    row({"Force", "/force", Dim::force, "N", 1, 10, 100, 1, 0,
         "On the pad, with the machine's weight as it bears."},
        t.force_n);
    row({"Speed", "/speed", Dim::rotation, "/min", per_min, slowest, fastest, 50, 0,
         machine.kind == MachineKind::rotary ? "Of the spindle." : "Of the orbit.", Limits{slowest, fastest}},
        t.speed_rad_s);
    row({"Arm speed", "/arm_speed", Dim::speed, "mm/s", mm, 10, 150, 1, 0, "Of the pad along its lines."},
        t.arm_speed_m_s);
    row({"Overlap", "/overlap", Dim::none, "%", 0.01, 0, 90, 1, 0,
         "Of the pad's width that the next line covers again."},
        t.overlap);
    double passes = t.passes;
    row({"Passes", "/passes", Dim::none, "", 1, 1, 10, 1, 0, "Each covers the section once."}, passes);
    t.passes = static_cast<int>(std::lround(passes));
    if (card.toggle("Crossing", t.crossed, "crossed", "one way")) label = "Crossing";
    row({"Tilt", "/tilt", Dim::angle, "°", deg, 0, 10, 0.5, 1, "Of the head."}, t.tilt_rad);
    row({"Tilt toward", "/tilt_toward", Dim::angle, "°", deg, 0, 360, 5, 0,
         "Where it presses harder: 0° is to the right, 90° up the panel."},
        t.tilt_toward_rad);
    row({"Hold-back", "/hold_back", Dim::length, "mm", mm, -pad_mm, 100, 1, 0,
         "How far the pad's rim stays inside every edge; negative hangs over."},
        t.hold_back_m);

    if (draw_head(card, t.hand_stiffness_nm_rad)) label = "Head";

    static bool pattern_open = false, edges_open = false, tape_open = false, hand_open = false;
    card.gap(2);
    const bool in_sections = t.pattern != Pattern::line && t.pattern != Pattern::strips;
    const std::string where = !in_sections ? "" : t.section_centre ? ", one section" : ", whole panel";
    if (card.fold("Pattern and section", pattern_open, name_of(t.pattern) + where)) {
        card.set_indent(14);
        if (const std::string changed = draw_pattern(card, t, job.panel); !changed.empty()) label = changed;
        card.set_indent(0);
    }
    if (card.fold("Hold-back by edge", edges_open,
                  t.hold_back_edge_m.empty() ? "as above"
                                             : fmt::format("{} set", t.hold_back_edge_m.size()))) {
        card.set_indent(14);
        if (const std::string changed = draw_hold_back_by_edge(card, t, job); !changed.empty())
            label = changed;
        card.set_indent(0);
    }
    if (card.fold("Masking tape", tape_open, tape_summary(t))) {
        card.set_indent(14);
        ImGui::PushID("tape");
        if (const std::string changed = draw_tape(card, t, job.panel); !changed.empty()) label = changed;
        ImGui::PopID();
        card.set_indent(0);
    }
    if (card.fold("Unsteady hand", hand_open, fmt::format("force ±{:.0f} %", t.hand.force * 100)))
        if (const std::string changed = draw_hand(card, t.hand); !changed.empty()) label = changed;
    if (label.empty()) return;
    label[0] = static_cast<char>(std::tolower(static_cast<unsigned char>(label[0])));
    session.edit(next, label, card.drag_id());
}

} // namespace

void draw_controls(const Ui& ui, const Box& box) {
    ImGui::PushStyleVar(ImGuiStyleVar_ItemSpacing, {0, 0});
    begin_card("technique", box, ui.c.card, true, {0, ui.px(8)});
    ValueCard card(ui, box);
    draw_undo(ui, card);
    draw_choices(ui, card);
    draw_readings(ui, card);
    card.gap(6);
    draw_values(ui, card);
    for (Page* page : ui.session.pages()) page->draw_rows(ui, card);
    ui.session.value_rows = card.rows();
    ui.session.nudge = 0, ui.session.begin_typing = false; // nobody was there to take them
    ImGui::End();
    ImGui::PopStyleVar();
}

} // namespace sparecoat::view
