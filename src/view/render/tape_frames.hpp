#pragma once
#include "panel/panel.hpp"
#include <span>

namespace sparecoat::view {

namespace gl {
class Program;
}

/// Masking tape along the sides of a square, outside of it.
struct TapeFrame {
    Point2 at, size;
    float strength = 1; ///< less is faint
};

/// More are not drawn: the last ones count.
inline constexpr std::size_t most_tape_frames = 12;
/// The usual narrow roll (common practice, no source).
inline constexpr double tape_strip_m = 0.018;

/// Sets the uniforms of shaders/tape_frames.glsl for the program in use.
void set_tape_frames(gl::Program& program, std::span<const TapeFrame> frames);

} // namespace sparecoat::view
