#pragma once
#include "library/record.hpp"
#include "panel/panel.hpp"
#include <optional>
#include <span>
#include <string>

namespace sparecoat::view {

/// A taped square that is laid, moved or resized by hand, in panel coordinates; its sides run along u and v.
class SquareDrag {
public:
    enum class Grip { fresh, middle, corner };

    /// Takes hold at a point of the panel: of a square's corner within reach, of the middle of one that holds
    /// the point, of later squares before earlier ones; elsewhere a new one begins.
    void begin(Point2 at, std::span<const TapedSquare> squares, double reach_m);
    void drag_to(Point2 at);
    void cancel() { grip_.reset(); }

    bool active() const { return grip_.has_value(); }
    std::optional<Grip> grip() const { return grip_; }
    /// As it is now; an edge lies on whole steps of `step_m`.
    const TapedSquare& square() const { return square_; }
    /// The one that is changed; none for a new one.
    std::optional<std::size_t> changes() const { return changes_; }
    /// Whether the hand has moved at all.
    bool moved() const { return moved_; }

    /// Tape is laid by the ruler.
    static constexpr double step_m = 0.005;

private:
    std::optional<Grip> grip_;
    std::optional<std::size_t> changes_;
    TapedSquare square_;
    Point2 held_; ///< the corner that stays, or where in the square it is held
    bool moved_ = false;
};

/// What a hand would take hold of there.
struct TapeHold {
    SquareDrag::Grip grip = SquareDrag::Grip::fresh;
    std::size_t square = 0;
    Point2 other; ///< for a corner: the one across
};
TapeHold tape_hold(Point2 at, std::span<const TapedSquare> squares, double reach_m);

/// A square that tells something: so many pads wide at the least.
inline constexpr double least_pads = 1.5;

/// Why a square will not do, in a few words; empty where it will. It has to lie on the panel as a whole, to
/// be least_pads wide and high, and must not lie over one that was worked: what shows there is another's
/// work.
/// @param others its panel's squares; @param changes that one of them that it takes the place of.
std::string square_fault(const Panel& panel, const TapedSquare& square, double pad_diameter_m,
                         std::span<const TapedSquare> others, std::optional<std::size_t> changes);

/// "400 x 300 mm".
std::string size_text(const TapedSquare& square);

} // namespace sparecoat::view
