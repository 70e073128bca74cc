#pragma once
#include "view/window/widgets.hpp"
#include <filesystem>
#include <functional>
#include <optional>
#include <string>
#include <vector>

namespace sparecoat::view {

/// Where everything is in a window of this size.
struct Layout {
    Box headline, technique, stage, legend, maps, spot, lesson, time;
    Box strips; ///< the strip charts, or a page's card in their place
    Box track;  ///< the scrubber, within `time`
};
/// @param ribbon shows the graph along an edge, which takes the strip charts' place; so do the curves of a
/// test section.
Layout lay_out(float width, float height, float s, bool cards, bool strip_charts, bool lesson = false,
               bool profile = false, bool section = false);

/// Asks the pages for a card in this place. @return whether one of them has it, which was drawn.
bool draw_card(const Ui& ui, CardPlace place, const Box& box);
void draw_headline(const Ui& ui, const Box& box);
void draw_controls(const Ui& ui, const Box& box); ///< the technique card
void draw_map_chooser(const Ui& ui, const Box& box);
/// "Clear left": a map's name where there is little room.
const char* short_name(MapKind kind);
void draw_legend(const Ui& ui, const Box& box); ///< colour bar with its numbers
/// Its width, in units of a window 720 high.
inline constexpr float legend_width = 92;
void draw_spot_card(const Ui& ui, const Box& box);
void draw_strip_charts(const Ui& ui, const Box& box);
/// Play, perhaps one step, slower and faster.
void draw_transport(const Ui& ui, float x, float y, bool playing, bool steps);
void draw_time_strip(const Ui& ui, const Box& box, const Box& track);
/// Where a pin's head is over its foot, and its radius, in units of a window 720 high.
inline constexpr float pin_head = 24, pin_size = 12;
/// Numbers of the worst spots and of contour lines, and the hand's force, over the panel.
void draw_stage_marks(const Ui& ui, const Box& stage);
/// What the mouse does over the panel just now, where that is not the usual.
void draw_mode(const Ui& ui, ImDrawList& list, const Box& stage, const std::string& words);
/// The key of a small button, in its corner.
void draw_key_mark(const Ui& ui, const Box& button, const std::string& key, bool on);
/// Words on a plate near the lower end of a box.
void draw_words_below(const Ui& ui, ImDrawList& list, const Box& box, const std::string& words);
/// What there is to tell, over a page of the whole window.
void draw_notice(const Ui& ui, const Box& box);
void draw_help(const Ui& ui, float width, float height);
/// Whether a stroke by hand is to be saved before it is lost.
void draw_question(const Ui& ui, float width, float height);
void draw_message(const Ui& ui, float width, float height);

/// Milliseconds of a frame by part, running means.
struct FrameTimes {
    double update_ms = 0, map_ms = 0, scene_ms = 0, cards_ms = 0, gui_ms = 0, swap_ms = 0, whole_ms = 0;
    int draws = 0, tiles = 0;
    double uploaded_kb = 0;
};
void draw_timing(const Ui& ui, const Box& stage, const FrameTimes& times);

/// Opens a file to read or names one to write, by mouse or by typing.
class FileChooser {
public:
    /// Draws while the session asks for it and hands what was chosen to it.
    void draw(const Ui& ui, float width, float height);

private:
    struct Entry {
        std::string name;
        bool folder = false;
    };
    void enter(const std::filesystem::path& folder);
    void choose(RunSession& session, const std::filesystem::path& file);

    std::filesystem::path folder_;
    std::vector<Entry> entries_;
    std::string name_, fault_;
    Chooser shown_ = Chooser::none;
    bool asked_to_replace_ = false;
};

} // namespace sparecoat::view
