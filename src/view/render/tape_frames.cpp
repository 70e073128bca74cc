#include "view/render/tape_frames.hpp"
#include "view/render/gl.hpp"
#include <algorithm>
#include <array>

namespace sparecoat::view {

void set_tape_frames(gl::Program& program, std::span<const TapeFrame> frames) {
    std::array<glm::vec4, most_tape_frames> places{};
    std::array<float, most_tape_frames> strengths{};
    const std::span<const TapeFrame> last = frames.last(std::min(frames.size(), most_tape_frames));
    for (std::size_t k = 0; k < last.size(); ++k) {
        const TapeFrame& frame = last[k];
        places[k] = glm::vec4(frame.at.x, frame.at.y, 0.5 * frame.size.x, 0.5 * frame.size.y);
        strengths[k] = frame.strength;
    }
    program.set("tape_frames", std::span<const glm::vec4>(places));
    program.set("tape_strength", std::span<const float>(strengths));
    program.set("tape_count", static_cast<int>(last.size()));
    program.set("tape_strip", static_cast<float>(tape_strip_m));
}

} // namespace sparecoat::view
