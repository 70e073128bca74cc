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
    Box headline, technique, stage, legend, maps, spot, strips, profile, section, lesson, time;
    Box track; ///< the scrubber, within `time`
};
/// @param ribbon shows the graph along an edge, which takes the strip charts' place; so do the curves of a
/// test section.
Layout lay_out(float width, float height, float s, bool cards, bool strip_charts, bool lesson = false,
               bool profile = false, bool section = false);

void draw_headline(const Ui& ui, const Box& box);
void draw_controls(const Ui& ui, const Box& box); ///< the technique card
void draw_map_chooser(const Ui& ui, const Box& box);
/// "Clear left": a map's name where there is little room.
const char* short_name(MapKind kind);
void draw_legend(const Ui& ui, const Box& box); ///< colour bar with its numbers
void draw_spot_card(const Ui& ui, const Box& box);
/// The list of spots at risk, in the spot card's place while the chances are shown.
namespace risk {
void draw_risk_card(const Ui& ui, const Box& box);
}
/// The record of test sections: its panel, what is entered, its squares; in the technique card's place.
namespace section {
void draw_section_card(const Ui& ui, const Box& box);
}
/// What to do next and why, in the spot card's place.
namespace section {
void draw_advice_card(const Ui& ui, const Box& box);
}
/// What clears against what it costs, as curves or as a table.
namespace section {
void draw_section_chart(const Ui& ui, const Box& box);
}
/// Clear coat along an edge or body line, and what holding back from it would do.
namespace edge {
void draw_edge_profile_card(const Ui& ui, const Box& box);
}
void draw_strip_charts(const Ui& ui, const Box& box);
/// Play, perhaps one step, slower and faster.
void draw_transport(const Ui& ui, float x, float y, bool playing, bool steps);
void draw_time_strip(const Ui& ui, const Box& box, const Box& track);
/// The vehicle's board in the whole window: its panels, the readings of one, or its plan.
namespace board {
void draw_board(const Ui& ui, float width, float height);
}
/// What is to be filled in over it, if anything.
namespace board {
void draw_board_form(const Ui& ui, float width, float height);
}
/// Readings of a job's panel as dots, and which panel and step it is.
namespace board {
void draw_job_marks(const Ui& ui, ImDrawList& list, const Box& stage,
                    const std::function<std::optional<ImVec2>(Point2)>& place);
}
/// Where a pin's head is over its foot, and its radius, in units of a window 720 high.
inline constexpr float pin_head = 24, pin_size = 12;
/// Numbers of the worst spots and of contour lines, and the hand's force, over the panel.
void draw_stage_marks(const Ui& ui, const Box& stage);
/// Words on a plate near the lower end of a box.
void draw_words_below(const Ui& ui, ImDrawList& list, const Box& box, const std::string& words);
/// What the desk has to tell, over a page of the whole window.
void draw_notice(const Ui& ui, const Box& box);
/// The step of a lesson: its caption, where in the lesson it is, and the way on.
namespace lesson {
void draw_lesson_card(const Ui& ui, const Box& box);
}
/// The lessons to choose from, with the cautions.
namespace lesson {
void draw_lesson_list(const Ui& ui, float width, float height);
}
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
    /// Draws while desk.chooser asks for it and hands what was chosen to the desk.
    void draw(const Ui& ui, float width, float height);

private:
    struct Entry {
        std::string name;
        bool folder = false;
    };
    void enter(const std::filesystem::path& folder);
    void choose(Session& session, const std::filesystem::path& file);

    std::filesystem::path folder_;
    std::vector<Entry> entries_;
    std::string name_, fault_;
    Session::Chooser shown_ = Session::Chooser::none;
    bool asked_to_replace_ = false;
};

} // namespace sparecoat::view
