#pragma once
#include "finish/scatter.hpp"
#include "finish/step_marks.hpp"
#include "panel/panel.hpp"
#include "view/render/camera.hpp"
#include "view/run/live_run.hpp"
#include <glm/glm.hpp>
#include <memory>
#include <optional>
#include <span>
#include <string_view>
#include <vector>

namespace sparecoat::view {

// The paint under an inspection lamp, apart from its drawing: which marks there are, what of the clear coat
// is gone over each of them, and where the lamp is. What light does with them is in shaders/lamp_light.glsl.

/// The paint as it was found, as it is, or both with tape between: found at the left, worked at the right.
enum class LampShow { before, after, half };
std::string_view name_of(LampShow show); ///< "before", "after", "half"
/// @throws std::invalid_argument for any other word.
LampShow lamp_show(std::string_view word);

/// Width of the strip of masking tape between the halves.
inline constexpr double half_tape_m = 0.022;

/// A lamp and what it shows.
struct LampState {
    glm::vec3 place{0, 0, 0.5f}; ///< in the panel's drawing: u, v and height over its plane, m
    LampShow show = LampShow::after;
    double half_at_m = 0; ///< u of the dividing line
};

/// Where a lamp `height_m` over a point of the panel has to be for its mirror image to be seen there.
glm::vec3 lamp_mirrored_at(const Panel& panel, Point2 at, glm::vec3 eye, double height_m);

/// A place well inside of the panel and near its middle: for a lamp to begin with.
Point2 open_place(const Panel& panel);

/// How far over the panel a lamp is held (common practice, no source: at arm's length).
inline constexpr double usual_lamp_height_m = 0.5;

/// Where on the panel the lamp's mirror image is seen, or nearest to that: the point whose normal halves the
/// angle between lamp and eye best.
Point2 lamp_image(const Panel& panel, glm::vec3 lamp, glm::vec3 eye);

/// Marks of a panel and of the step that works it, made ready to be drawn. Takes a while for a panel full of
/// swirls: not in a frame. The panel may go.
class LampMarks {
public:
    /// @param own what the step leaves with its abrasive still fresh, see step_marks: the most and deepest it
    /// can.
    LampMarks(const Panel& panel, std::span<const MarkPopulation> defects, const MarkPopulation& own,
              std::uint64_t seed, std::size_t most = most_marks);

    const std::vector<MarkPopulation>& defects() const { return defects_; }
    const MarkPopulation& own() const { return own_; }
    const Scatter& scattered() const { return scattered_; } ///< of the defects
    const Scatter& own_scattered() const { return own_scattered_; }

    /// -ln of the mirror's share that marks leave, see mirror_share(); and the part of it that is thrown
    /// about the lamp's image as a veil, because no single mark is drawn for it: by marks too shallow or too
    /// many to be drawn.
    struct Lost {
        float all = 0, unseen = 0;
    };
    /// Of the defects at a cell once `worn_um` is off.
    Lost lost_to_defects(std::size_t cell, float worn_um) const;
    /// The same of the step's own marks, where they lie all over, as deep as `own` is at that moment.
    Lost lost_to_own(const MarkPopulation& own) const;
    /// Standard deviation of the slopes, over all the haze there is, that scatters what the mirror loses.
    double veil_slope() const { return veil_slope_; }

private:
    static constexpr int table_size = 128;
    static constexpr float table_end_um = 12; ///< what lasts longer than that is no defect that scatters
    struct Layer {
        std::vector<std::uint8_t> there; ///< empty: all over the panel
        std::vector<float> lost;         ///< by what is worn, evenly up to table_end_um, as the square root
        float unseen = 0;                ///< share that makes a veil
    };

    std::vector<MarkPopulation> defects_;
    MarkPopulation own_;
    Scatter scattered_, own_scattered_;
    std::vector<Layer> layers_;
    double veil_slope_ = 0.1;
};

/// Standard deviation of the slopes at which a groove throws light, from its flanks and from its being
/// narrow.
double groove_slope(double depth_um, double width_m);

/// What the drawing needs to know of each cell: film worn since the marks were made (µm), share of the step's
/// own marks that is there, mirror's share, and what is thrown about it by haze.
using LampCell = glm::vec4;

/// The cells of a panel as a lamp shows them, brought up to date block by block.
class LampCells {
public:
    /// @param own the step's marks as they are now. @return the tiles that have to be sent anew: `tiles`, or
    /// all of them where what is shown changed, or the step's own marks have by more than is seen.
    std::vector<Tile> update(const Panel& panel, const std::shared_ptr<const LampMarks>& marks,
                             std::span<const float> removed_um, const MarkPopulation& own,
                             const LampState& lamp, const std::vector<Tile>& tiles);
    const std::vector<LampCell>& cells() const { return cells_; }
    /// The step's own marks over LampMarks::own(): their depth, which is what their number goes with as well.
    float own_scale() const { return own_scale_; }

private:
    std::shared_ptr<const LampMarks> marks_;
    std::vector<LampCell> cells_;
    MarkPopulation own_;
    float own_scale_ = 1;
    std::optional<LampShow> show_;
    double half_at_m_ = 0;
};

} // namespace sparecoat::view
