#pragma once
#include "finish/described.hpp"
#include "view/run/live_run.hpp"
#include "view/window/keys.hpp"
#include <filesystem>
#include <functional>
#include <optional>
#include <string>
#include <vector>

struct ImDrawList;
struct ImVec2;

namespace sparecoat::view {

struct Box;
struct FrameCount;
struct Ui;
class ValueCard;

/// What the list of files is asked for.
enum class Chooser { none, open, save, save_record, save_sheet, save_report, save_chart };

/// Where a point of the panel is seen; none where it is hidden.
using PlaceOnPanel = std::function<std::optional<ImVec2>(Point2)>;

/// The places round the panel where a page may show a card of its own instead of the usual one.
enum class CardPlace {
    technique,  ///< at the left
    spot,       ///< at the right, under the maps
    strips,     ///< under the panel
    lesson,     ///< over that
    below_maps, ///< a row at the foot of the card of maps
    legend      ///< beside the legend of the map, or in its place
};

/// One feature of the window: its model, what its keys do, and its drawing, in a folder of its own. Some fill
/// the window while they are in front; the others show cards round the panel. All of them are asked in turn,
/// so that nothing outside its folder has to know what a page does.
class Page {
public:
    Page() = default;
    Page(const Page&) = delete;
    Page& operator=(const Page&) = delete;
    virtual ~Page() = default;

    // ---- keys ----
    /// The keys that count while it is in front.
    virtual KeyContext keys() const { return KeyContext::always; }
    /// Does what the action says. @return whether it was this page's, or means something else while it is in
    /// front.
    virtual bool act(Action) { return false; }
    /// Whether the action's button is drawn as on.
    virtual bool is_on(Action) const { return false; }
    /// Something of it has the keyboard: keys of the window do nothing else than to close it.
    virtual bool dialog() const { return false; }
    /// A key while dialog(). @return whether it meant something.
    virtual bool key_in_dialog(int) { return false; }
    /// What is typed goes to type(), and not to a field.
    virtual bool takes_text() const { return false; }
    virtual void type(unsigned /*code_point*/) {}

    /// It holds what has no file yet.
    virtual bool unsaved() const { return false; }

    // Escape asks in this order. @return whether there was something to close.
    virtual bool close_dialog() { return false; }
    virtual bool let_go() { return false; } ///< of what is in the hand
    virtual bool close() { return false; }

    // ---- every frame ----
    /// Takes up what has come of its work.
    virtual void tick(double /*now_s*/) {}
    /// The run has gone on, and its map is to be drawn next.
    virtual void follow_run(const std::vector<Tile>& /*changed*/) {}
    /// The frame's map and verdict are there.
    virtual void end_tick() {}
    virtual bool works_in_background() const { return false; }
    virtual bool moves() const { return false; } ///< so that every frame is another
    /// In front it has runs of its own, and the one behind it stands still.
    virtual bool stills_run() const { return false; }
    /// What it shows in front is there; what is not open cannot be in front.
    virtual bool is_open() const { return false; }

    // ---- what becomes of the run ----
    virtual void map_chosen(MapKind) {}
    virtual void spot_held(Point2) {}
    virtual void job_shown(bool /*panel_changed*/) {}
    virtual void hand_begins() {}
    virtual void defects_chosen(const Defects&) {} ///< what the panel was found with
    virtual void strips_taken() {}                 ///< another page shows its card under the panel
    /// A vehicle's panel takes the place of what is shown: it goes, and what it changed is put back.
    virtual void leave() {}
    /// The mouse does something of its own over the panel.
    virtual bool takes_mouse() const { return false; }
    /// It shows the panel without its map.
    virtual bool hides_map() const { return false; }
    /// The places to be numbered on the panel, where they are other than the worst spots.
    virtual std::optional<std::vector<Point2>> pins() const { return {}; }
    /// Writes what the list of files was opened for. @return whether that was this page's.
    virtual bool take_file(Chooser, const std::filesystem::path&) { return false; }
    /// A name to begin with for that file; empty for the usual one.
    virtual std::string file_name(Chooser) const { return {}; }

    // ---- drawing ----
    /// Finds the place of everything while it is in front. @param scale pixels per unit of a window 720 high.
    virtual void lay_out(float /*width*/, float /*height*/, float /*scale*/) {}
    /// The mouse over panels of its own.
    virtual void work_mouse() {}
    /// Panels of its own in OpenGL. @return what they took.
    virtual FrameCount draw_panels(float window_height, float scale);
    /// The window's context goes: lets go of everything in OpenGL.
    virtual void drop_drawing() {}
    /// The whole window, while it is in front.
    virtual void draw(const Ui&, float /*width*/, float /*height*/) {}
    /// @return whether it has a card there now, which was drawn.
    virtual bool draw_card(const Ui&, CardPlace, const Box&) { return false; }
    /// Rows at the foot of the technique card.
    virtual void draw_rows(const Ui&, ValueCard&) {}
    /// Marks over the panel.
    virtual void draw_over_panel(const Ui&, ImDrawList&, const Box& /*stage*/, const PlaceOnPanel&) {}
    /// A card in front of everything else.
    virtual void draw_dialog(const Ui&, float /*width*/, float /*height*/) {}
};

} // namespace sparecoat::view
